import { z } from "zod";
import { ContentId } from "./http.ts";
import { Id } from "./stored.ts";
import { Told } from "./told.ts";

/** How readings of a deck, or of a run, moved from photo to photo. */

/** What is watched: edges of bands in mm along the outlet, and what covers the deck in % of what is seen of it. */
export const WATCHED = [
  "dense from",
  "dense to",
  "middling from",
  "middling to",
  "light from",
  "light to",
  "dense cover",
  "middling cover",
  "light cover",
  "bare cover",
  "dry cover",
] as const;
export type WatchedName = (typeof WATCHED)[number];

export const DriftAlarm = z.strictObject({
  /** Which photos: the one that raised it, and the first of the change. */
  at: z.number().int().min(0),
  since: z.number().int().min(0),
  by: z.enum(["EWMA", "CUSUM", "single value"]),
  /** Null while it is not clear. */
  kind: z.enum(["surge", "step", "drift"]).nullable(),
  /** How far it moved, in the unit of the values; of a drift also by how much a photo. */
  size: z.number(),
  perPhoto: z.number().nullable(),
  /** Whether later photos may still tell its kind. */
  open: z.boolean(),
});
export type DriftAlarm = z.infer<typeof DriftAlarm>;

export const DriftChart = z.strictObject({
  quantity: z.enum(WATCHED),
  unit: z.enum(["mm", "%"]),
  /** One a photo; null where it was not seen. Errors are one standard error of the reading, where it tells one. */
  values: z.array(z.number().nullable()),
  errors: z.array(z.number().nullable()),
  /** On the charts, in standard deviations of the photos before; the first ones of a stretch teach the level. */
  points: z.array(
    z.strictObject({ index: z.number().int(), ewma: z.number(), sumUp: z.number(), sumDown: z.number() }),
  ),
  /** What each chart may reach. */
  limits: z.strictObject({ ewma: z.number(), cusum: z.number(), single: z.number() }),
  /** Level and spread now; null while they are not known. */
  level: z.number().nullable(),
  sd: z.number().nullable(),
  alarms: z.array(DriftAlarm),
});
export type DriftChart = z.infer<typeof DriftChart>;

/** Alarms that belong together, with what they mean at the table. */
export const DriftEvent = z.strictObject({
  at: z.number().int().min(0),
  since: z.number().int().min(0),
  kind: z.enum(["surge", "step", "drift"]).nullable(),
  moved: z.array(z.strictObject({ quantity: z.enum(WATCHED), size: z.number(), unit: z.enum(["mm", "%"]) })),
  cause: z.strictObject({ told: Told, kind: z.enum(["written down", "common practice", "not known"]) }),
});
export type DriftEvent = z.infer<typeof DriftEvent>;

export const Drift = z.strictObject({
  /** At most one false alarm in so many photos, all charts together, if photos are independent. */
  photosBetweenFalseAlarms: z.number(),
  /** In order of time. */
  photos: z.array(z.strictObject({ reading: ContentId, photo: ContentId, at: z.string(), run: Id.nullable() })),
  charts: z.array(DriftChart),
  events: z.array(DriftEvent),
  notes: z.array(Told),
});
export type Drift = z.infer<typeof Drift>;
