import { z } from "zod";

/** A quantity in a sentence: each language writes it its own way. */
const Quantity = z.strictObject({
  value: z.union([z.number(), z.array(z.number())]),
  /** One standard error, in the same unit. */
  error: z.number().optional(),
  /** `share`: 0 to 1, shown in per cent. `ofOutlet`: the same, of the outlet's length. */
  unit: z.enum(["mm", "mm/m", "L/min", "kg/h", "%", "1/min", "share", "ofOutlet", "degrees"]),
});
/** Words as they were typed, or a word that a message chooses by (such as `dense`); a count; a quantity. */
export const SaidValue = z.union([z.string(), z.number(), Quantity]);
export type SaidValue = z.infer<typeof SaidValue>;

/** A sentence by its name in `vision/sentences/`, with what fills it in: its words can be had in any language there. */
export const Said = z.strictObject({ key: z.string(), values: z.record(z.string(), SaidValue).optional() });
export type Said = z.infer<typeof Said>;
/** Sentences that are read one after the other. */
export const SaidText = z.array(Said).min(1);
export type SaidText = z.infer<typeof SaidText>;
