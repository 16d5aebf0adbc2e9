import { z } from "zod";
import { SettingsFile } from "./notes.ts";
import { Hint, Reading } from "./reading.ts";

/** Most looks that a reading is given beside its own photo. */
export const MOST_EARLIER = 5;

/**
 * What advice wants of an earlier look at the same deck: where bands and splitters were, what was advised first, and what the
 * controls stood at. It stands in what a reading is asked with, whole, so that the same question has the same answer wherever
 * and whenever it is asked.
 */
export const EarlierLook = z.strictObject({
  reading: z.strictObject({
    bands: Reading.shape.bands.max(3),
    splitters: Reading.shape.splitters.max(12),
    advice: z.array(Hint).max(1),
  }),
  settings: SettingsFile.omit({ twin: true }).optional(),
});
export type EarlierLook = z.infer<typeof EarlierLook>;
