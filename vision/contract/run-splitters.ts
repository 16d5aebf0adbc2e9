import { z } from "zod";
import { Product } from "./shapes.ts";

/** Where the splitters of a run's deck would bring most money, by its photos, its balance and its prices. */

/** Money, in that of the prices: one standard error, and between what the truth lies 19 times of 20. */
const Money = z.strictObject({ value: z.number(), error: z.number(), from: z.number(), to: z.number() });

/** Why nothing can be said of a run; each names what is wanting. */
export const MoneyRefusal = z.enum([
  "no-price",
  "no-photo",
  "no-splitter",
  "no-balance",
  "misfit",
  "too-few-products",
  "not-parted",
]);
export type MoneyRefusal = z.infer<typeof MoneyRefusal>;

/** What a reader should know of the figures. */
export const MoneyCaution = z.enum([
  "one-photo",
  "few-photos",
  "tails-unseen",
  "nothing-checks",
  "not-explained",
  "errors-taken",
  "middling-unpriced",
  "middling-untested",
  "shares-taken",
  "no-rate",
  "no-hours",
  "penalty-unassayed",
]);
export type MoneyCaution = z.infer<typeof MoneyCaution>;

const Way = z.enum(["rerun", "regrind", "discard"]);
/** What one launder takes: of the dry feed, and of its metal, %; with the grade that makes. */
const Taken = z.strictObject({
  feedPercent: z.number(),
  gradePercent: z.number(),
  recoveryPercent: z.number(),
});

export const RunSplitters = z.strictObject({
  /** What is wanting; null where there is an answer. */
  refusal: MoneyRefusal.nullable(),
  metal: z.string(),
  splitters: z.array(
    z.strictObject({
      name: z.string(),
      movable: z.boolean(),
      /** Outlet mm. */
      nowMm: z.number(),
      bestMm: z.number(),
      /** Between what the best place lies 19 times of 20. */
      fromMm: z.number(),
      toMm: z.number(),
    }),
  ),
  launders: z.array(z.strictObject({ launder: z.string(), product: Product, now: Taken, best: Taken })),
  /** What moving all of them brings; null where it is not told. */
  gain: z
    .strictObject({
      perTonneFeed: Money,
      perDay: Money.nullable(),
      /** That it brings anything at all, 0 to 1. */
      chance: z.number(),
      /** Whether that is worth a try: the interval is above 0. */
      sure: z.boolean(),
    })
    .nullable(),
  /** What is best done with the middling, and what a tonne of the dense product is paid with, now and at the best places. */
  middling: z.strictObject({ now: Way, best: Way }).nullable(),
  denseTonne: z.strictObject({ now: z.number(), best: z.number() }).nullable(),
  restsOn: z.strictObject({
    photos: z.number().int(),
    products: z.number().int(),
    assays: z.number().int(),
    /** Checks that the balance holds: how many figures are more than needed. */
    checks: z.number().int(),
    grains: z.number().int(),
  }),
  cautions: z.array(MoneyCaution),
});
export type RunSplitters = z.infer<typeof RunSplitters>;
