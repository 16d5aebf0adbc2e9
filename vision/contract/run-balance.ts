import { z } from "zod";
import { When } from "./run-record.ts";
import { Told } from "./told.ts";

/** What a run adds up to. Every figure with one standard error, where it has one. */

const Value = z.strictObject({ value: z.number(), error: z.number().nullable() });
const Basis = z.strictObject({ source: z.string(), kind: z.string() });

/** One figure, as it was given and as it came out. */
export const BalanceLine = z.strictObject({
  stream: z.string(),
  item: z.string(),
  unit: z.string(),
  given: z.number().nullable(),
  givenError: z.number().nullable(),
  balanced: z.number().nullable(),
  balancedError: z.number().nullable(),
  /** Standard errors that the balance moved it by; null where nothing checks it. */
  off: z.number().nullable(),
  /** Left out of the balance, since the others contradict it. */
  misfit: z.boolean(),
});
export type BalanceLine = z.infer<typeof BalanceLine>;

export const RunBalance = z.strictObject({
  run: z.strictObject({
    name: z.string(),
    site: z.string(),
    material: z.string(),
    startedAt: When.nullable(),
    endedAt: When.nullable(),
  }),
  /** Of dry masses. */
  unit: z.enum(["kg", "kg/h", "of the feed"]),
  /** Plain sentences: what fits, what does not and what to do. */
  verdict: z.array(Told),
  fits: z.boolean(),
  /** Weighted squares of all moves, how many checks there were, and what is passed once in 20 times by chance. */
  chiSquare: z.number(),
  freedom: z.number().int(),
  chiSquareLimit: z.number().nullable(),
  lines: z.array(BalanceLine),
  products: z.array(
    z.strictObject({
      stream: z.string(),
      /** Of the dry feed, 0 to 1. */
      share: Value.nullable(),
      /** Ratio of concentration: kg of dry feed for each kg. An answer kept on a phone may be older and lack it. */
      ratio: Value.nullable().default(null),
      metals: z.array(
        z.strictObject({
          metal: z.string(),
          gradePercent: Value.nullable(),
          recovery: Value.nullable(),
          enrichment: Value.nullable(),
          separation: Value.nullable(),
        }),
      ),
    }),
  ),
  water: z.strictObject({ unit: z.string(), verdict: z.array(Told), fits: z.boolean() }).nullable(),
  middling: z
    .strictObject({
      stream: z.string(),
      choice: z.enum(["rerun", "regrind", "discard", "look closer"]),
      sure: z.boolean(),
      because: z.array(Told),
      /** Money for a tonne; null without prices. */
      worth: z.strictObject({ rerun: Value, regrind: Value, discard: Value }).nullable(),
      caution: Told.nullable(),
      basis: z.array(Basis),
    })
    .nullable(),
  /** Quick checks by hand; the truth lies between `from` and `to` 19 times of 20, where they are told. */
  checks: z.array(
    z.strictObject({
      stream: z.string(),
      what: z.string(),
      found: Value,
      from: z.number().nullable(),
      to: z.number().nullable(),
      unit: z.string(),
    }),
  ),
  /** What a reader should know of these figures. */
  notes: z.array(Told),
});
export type RunBalance = z.infer<typeof RunBalance>;
