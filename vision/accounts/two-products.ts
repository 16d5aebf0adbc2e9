import type { Measured } from "../process/range.ts";
import { AccountsError, checked } from "./fault.ts";
import { propagate } from "./propagate.ts";

/** Grades of one metal or mineral in any one unit, with one standard error each. */
export interface Grades {
  readonly feed: Measured;
  /** The product that is wanted. */
  readonly product: Measured;
  readonly tailing: Measured;
}

/** What two products tell without any weighing. Shares are 0 to 1. */
export interface TwoProducts {
  /** Dry mass of product over that of feed. */
  readonly yield: Measured;
  /** Share of the metal that is in the product. */
  readonly recovery: Measured;
  /** Tonnes of feed for a tonne of product. */
  readonly ratio: Measured;
  /** Grade of product over that of feed. */
  readonly enrichment: Measured;
  /** Whether the recovery is known to better than half of what separation added to it: where not, weigh the products. */
  readonly tells: boolean;
}

type Three = readonly [f: number, c: number, t: number];

/** Y = (f − t) / (c − t). Source: Taggart (1945), sec. 19; Wills, ch. 3 (from memory). */
export const yieldOf = ([f, c, t]: Three): number => (f - t) / (c - t);
/** R = c (f − t) / (f (c − t)). Source: the same. */
export const recoveryOf = ([f, c, t]: Three): number => (c * (f - t)) / (f * (c - t));

/**
 * Balance of a feed that is parted in two, from three grades alone.
 *
 * @throws {AccountsError} `no-separation` when product and tailing are of one grade, or the feed does not lie between
 *         them: then no share of theirs makes the feed. `out-of-range` for grades below 0.
 * Source of K and E: the same; of the error's way: Wills, ch. 3 (from memory).
 */
export function twoProducts({ feed, product, tailing }: Grades): TwoProducts {
  for (const [name, { value, error }] of Object.entries({ feed, product, tailing })) {
    checked(`Grade of the ${name}`, value, 0);
    checked(`Standard error of the grade of the ${name}`, error, 0);
  }
  const [f, c, t] = [feed.value, product.value, tailing.value];
  if (c === t || f === 0 || f < Math.min(c, t) || f > Math.max(c, t)) {
    throw new AccountsError(
      "no-separation",
      `The feed's grade of ${f} must lie between the product's ${c} and the tailing's ${t}. Assay them again.`,
    );
  }
  const grades = [feed, product, tailing];
  const of = (formula: (three: Three) => number) => propagate(grades, ([F, C, T]) => formula([F!, C!, T!]));
  const recovery = of(recoveryOf);
  return {
    yield: of(yieldOf),
    recovery,
    ratio: of((g) => 1 / yieldOf(g)),
    enrichment: of(([F, C]) => C / F),
    tells: Math.abs(recovery.value - yieldOf([f, c, t])) > 2 * recovery.error,
  };
}
