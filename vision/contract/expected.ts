import { z } from "zod";
import { ContentId } from "./http.ts";
import { SaidText } from "./said.ts";
import { Product } from "./shapes.ts";

const Value = z.strictObject({ value: z.number(), error: z.number() });
const Foretold = Value.extend({
  /** Holds the truth 19 times of 20. */
  from: z.number(),
  to: z.number(),
  /** Whether this photo lies beyond all that the line was drawn through. */
  outside: z.boolean(),
});

/** What a photo lets expect of one figure, %, by the runs that have both photos and assays. */
export const Expectation = z.strictObject({
  /** Null while there are too few runs; `refusal` says what is wanting. */
  expected: Foretold.nullable(),
  refusal: z.string().nullable(),
  /** `refusal` by name, for other languages. */
  said: SaidText.nullable(),
  /** Runs with both. */
  runs: z.number().int().min(0),
  /** Each run foretold from the others beside what its assays said; root mean square of the misses, %. */
  leftOut: z.array(z.strictObject({ run: z.string(), foretold: Foretold, assaySays: Value })),
  leftOutError: z.number().nullable(),
});
export type Expectation = z.infer<typeof Expectation>;

export const Expected = z.strictObject({
  reading: ContentId,
  material: z.string(),
  metal: z.string(),
  launders: z.array(
    z.strictObject({ launder: z.string(), product: Product, grade: Expectation, recovery: Expectation }),
  ),
});
export type Expected = z.infer<typeof Expected>;
