import { type Measured, meanOf } from "../process/range.ts";
import { said } from "../said.ts";
import { AccountsError, checked } from "./fault.ts";
import { chiSquareLimit, normalLimit } from "./odds.ts";
import { propagate } from "./propagate.ts";

/** A share, 0 to 1, with its standard error and the interval that holds it 19 times of 20. */
export interface CountedShare extends Measured {
  readonly from: number;
  readonly to: number;
}

/**
 * Share of `hits` among `all` grains under the lens.
 *
 * Good from the first grain on: it never leaves 0 to 1, and none found is not none there.
 *
 * @throws {AccountsError} `too-few` without grains; `out-of-range` when more hit than there are, or for no whole numbers.
 * Source: Wilson (1927), J. Am. Stat. Assoc. 22, 209, interval without continuity correction.
 */
export function countedShare(hits: number, all: number): CountedShare {
  if (!(all > 0)) throw new AccountsError("too-few", said("said.runs.countSome"));
  whole("Grains counted", all);
  whole("Grains of this kind", checked("Grains of this kind", hits, 0, all));
  const z = normalLimit(0.975);
  const p = hits / all;
  const middle = (p + z ** 2 / (2 * all)) / (1 + z ** 2 / all);
  const half = (z / (1 + z ** 2 / all)) * Math.sqrt((p * (1 - p)) / all + z ** 2 / (4 * all ** 2));
  return { value: p, error: half / z, from: Math.max(0, middle - half), to: Math.min(1, middle + half) };
}

/** Kinds of grains told apart under the lens, with the density that turns their number into mass. */
export interface GrainKind {
  readonly name: string;
  readonly count: number;
  readonly densityKgPerM3: number;
}

/**
 * Share by weight of each kind of grain, all taken as equally large: count a narrow range of sizes.
 *
 * @throws {AccountsError} as `countedShare`.
 * Source: counts scatter as a multinomial; from that to first order.
 */
export function massShares(kinds: readonly GrainKind[]): Readonly<Record<string, Measured>> {
  for (const { name, count, densityKgPerM3 } of kinds) {
    whole(`Grains of ${name}`, checked(`Grains of ${name}`, count, 0));
    checked(`Density of ${name}, kg/m³`, densityKgPerM3, 100, 23_000);
  }
  if (!kinds.some(({ count }) => count > 0)) throw new AccountsError("too-few", "Count some grains of any kind.");
  // counts as independent Poisson draws give the shares the multinomial's scatter
  const counts = kinds.map(({ count }) => ({ value: count, error: Math.sqrt(count) }));
  const shareOf = (v: readonly number[], i: number) =>
    (v[i]! * kinds[i]!.densityKgPerM3) / v.reduce((sum, n, k) => sum + n * kinds[k]!.densityKgPerM3, 0);
  return Object.fromEntries(kinds.map(({ name }, i) => [name, propagate(counts, (v) => shareOf(v, i))]));
}

/** A count of rare grains and the interval that holds its mean 19 times of 20. */
export interface Count extends Measured {
  readonly from: number;
  readonly to: number;
}

/**
 * What a pan's tail of rare grains, such as colours of gold, tells: the count with its chance error √n.
 *
 * @throws {AccountsError} `out-of-range` for no whole number.
 * Source: Garwood (1936), Biometrika 28, 437: exact limits of a Poisson mean.
 */
export function panCount(grains: number): Count {
  whole("Grains in the pan", checked("Grains in the pan", grains, 0));
  return {
    value: grains,
    error: Math.sqrt(Math.max(grains, 1)),
    from: grains === 0 ? 0 : chiSquareLimit(0.025, 2 * grains) / 2,
    to: chiSquareLimit(0.975, 2 * grains + 2) / 2,
  };
}

/**
 * Grade by the pan, g/t: grains × grams of one, over the mass panned.
 *
 * @param grainGrams  Mean mass of a grain with its error, and how grains differ: one standard deviation over the mean.
 * @param panLoss     Share that the panning lost, with its error: find it by panning a counted charge.
 * @throws {AccountsError} `out-of-range`.
 */
export function panGrade(
  grains: number,
  pannedKg: Measured,
  grainGrams: Measured & { readonly spread: number },
  panLoss: Measured,
): Measured {
  const { value, error } = panCount(grains);
  checked("Panned, kg", pannedKg.value, Number.MIN_VALUE);
  checked("Share lost in panning", panLoss.value, 0, 0.99);
  checked("Spread of the grains' masses", grainGrams.spread, 0);
  const counted = { value, error: error * Math.sqrt(1 + grainGrams.spread ** 2) };
  return propagate(
    [counted, pannedKg, grainGrams, panLoss],
    ([n, kg, grams, lost]) => (n! * grams! * 1000) / kg! / (1 - lost!),
  );
}

/** One try with the hand magnet: grams held and grams of the whole charge. */
export interface MagnetTry {
  readonly heldGrams: Measured;
  readonly chargeGrams: Measured;
}

/**
 * Magnetic share by weight, 0 to 1.
 *
 * @returns error from the scale or, from three tries on, from their spread where that is larger. Tries must be of fresh
 *          charges: the same charge again only tells how steady the hand is.
 * @throws {AccountsError} `too-few` without a try; `out-of-range`.
 */
export function magnetShare(tries: readonly MagnetTry[]): Measured {
  if (tries.length === 0) throw new AccountsError("too-few", "Try the magnet on at least one charge.");
  for (const { heldGrams, chargeGrams } of tries) {
    checked("Charge, g", chargeGrams.value, Number.MIN_VALUE);
    checked("Held by the magnet, g", heldGrams.value, 0, chargeGrams.value);
  }
  const n = tries.length;
  const inputs = tries.flatMap(({ heldGrams, chargeGrams }) => [heldGrams, chargeGrams]);
  const each = (v: readonly number[]) => tries.map((_, i) => v[2 * i]! / v[2 * i + 1]!);
  const byScale = propagate(inputs, (v) => each(v).reduce((sum, share) => sum + share, 0) / n);
  if (n < 3) return byScale;
  const bySpread = meanOf("Magnetic share", each(inputs.map(({ value }) => value))).error;
  return { value: byScale.value, error: Math.max(byScale.error, bySpread) };
}

function whole(what: string, value: number): void {
  if (!Number.isInteger(value)) throw new AccountsError("out-of-range", `${what}: ${value} is no whole number.`);
}
