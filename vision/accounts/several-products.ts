import type { Measured } from "../process/range.ts";
import { AccountsError, checked } from "./fault.ts";
import { Matrix, takeApart } from "./linear-algebra.ts";
import { propagate } from "./propagate.ts";

/** Products that were not weighed. */
export interface SeveralProducts {
  /** Dry mass of each product over that of the feed, in the order given. */
  readonly shares: readonly Measured[];
  /** Share of each assay's metal that each product holds: `recoveries[assay][product]`. */
  readonly recoveries: readonly (readonly Measured[])[];
}

/**
 * Shares of three or more products from one assay fewer than there are products.
 *
 * With more assays than that the figures contradict each other a little: `reconcile` weighs them then.
 *
 * @param feed      Assays of the feed, one each of n − 1 metals.
 * @param products  Assays of n products in the same order.
 * @throws {AccountsError} `too-few` when the numbers of assays and products do not go together; `no-separation` when the
 *         products' assays do not tell them apart or a share comes out below 0.
 * Source: Taggart (1945), sec. 19 (from memory).
 */
export function severalProducts(
  feed: readonly Measured[],
  products: readonly (readonly Measured[])[],
): SeveralProducts {
  const [kinds, count] = [feed.length, products.length];
  if (count < 2 || kinds !== count - 1 || products.some((assays) => assays.length !== kinds)) {
    throw new AccountsError(
      "too-few",
      `${count} products need ${Math.max(1, count - 1)} assays each and of the feed; ${kinds} were given for the feed.`,
    );
  }
  const inputs = [...feed, ...products.flat()];
  for (const { value, error } of inputs) {
    checked("Assay", value, 0);
    checked("Standard error of an assay", error, 0);
  }
  const assayOf = (values: readonly number[], product: number, kind: number) => values[kinds + product * kinds + kind]!;
  const sharesOf = (values: readonly number[]) => {
    const rows = feed.map((_, kind) => products.map((_, product) => assayOf(values, product, kind)));
    const system = new Matrix([products.map(() => 1), ...rows]);
    const { inverse, rank } = takeApart(system);
    if (rank < count) {
      throw new AccountsError("no-separation", "Two products assay alike: these assays cannot tell their masses.");
    }
    return inverse.mmul(Matrix.columnVector([1, ...values.slice(0, kinds)])).to1DArray();
  };
  const shares = products.map((_, product) => propagate(inputs, (values) => sharesOf(values)[product]!));
  const below = shares.findIndex(({ value }) => value < 0);
  if (below >= 0) {
    throw new AccountsError(
      "no-separation",
      `Product ${below + 1} comes out below nothing (${shares[below]!.value.toPrecision(3)} of the feed): assay again.`,
    );
  }
  const recoveries = feed.map((_, kind) =>
    products.map((_, product) =>
      propagate(inputs, (values) => (sharesOf(values)[product]! * assayOf(values, product, kind)) / values[kind]!),
    ),
  );
  return { shares, recoveries };
}

/** One weighed product: mass and grade in any units, alike for all. */
export interface Weighed {
  readonly mass: Measured;
  readonly grade: Measured;
}

/** What weighed products tell, without an assay of the feed. */
export interface WeighedProducts {
  /** Grade that the feed must have had: sum of mass × grade over sum of mass. */
  readonly head: Measured;
  /** Share of the metal in each. */
  readonly distribution: readonly Measured[];
  /** The first ones taken together, after each: grade, and share of the metal. */
  readonly together: readonly { readonly grade: Measured; readonly recovery: Measured }[];
}

/**
 * Head and distribution of products that were all weighed and assayed.
 *
 * @throws {AccountsError} `too-few` without a product, or when all are empty; `out-of-range` below 0.
 * Source: common practice.
 */
export function weighedProducts(products: readonly Weighed[]): WeighedProducts {
  for (const { mass, grade } of products) {
    checked("Mass of a product", mass.value, 0);
    checked("Grade of a product", grade.value, 0);
  }
  if (!products.some(({ mass, grade }) => mass.value * grade.value > 0)) {
    throw new AccountsError("too-few", "No product holds any metal: weigh and assay at least one.");
  }
  const inputs = products.flatMap(({ mass, grade }) => [mass, grade]);
  const metal = (values: readonly number[], count: number, from = 0) =>
    products.slice(from, count).reduce((sum, _, i) => sum + values[2 * (from + i)]! * values[2 * (from + i) + 1]!, 0);
  const mass = (values: readonly number[], count: number) =>
    products.slice(0, count).reduce((sum, _, i) => sum + values[2 * i]!, 0);
  const all = products.length;
  return {
    head: propagate(inputs, (v) => metal(v, all) / mass(v, all)),
    distribution: products.map((_, i) => propagate(inputs, (v) => metal(v, i + 1, i) / metal(v, all))),
    together: products.map((_, i) => ({
      grade: propagate(inputs, (v) => metal(v, i + 1) / mass(v, i + 1)),
      recovery: propagate(inputs, (v) => metal(v, i + 1) / metal(v, all)),
    })),
  };
}
