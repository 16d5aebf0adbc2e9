import { z } from "zod";

/**
 * A sentence by its name, with what is filled in: whoever shows it says it in the language of the person who reads. The
 * words lie with the page's, as `told.CODE`.
 */

const Measure = z.strictObject({ value: z.number(), error: z.number().nullable(), unit: z.string() });
/** A figure of a run: `dry mass`, `water`, or the assay of this name. */
const Item = z.strictObject({ stream: z.string(), item: z.string() });

export const Told = z.strictObject({
  code: z.string(),
  values: z.record(z.string(), z.union([z.string(), z.number(), Measure, Item, z.array(z.string()), z.array(Item)])),
});
export type Told = z.infer<typeof Told>;
