import type { Product, Reading } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import { caught, strokeSpreadMm } from "../products.ts";
import type { Deck } from "../stages.ts";
import { EigenvalueDecomposition, Matrix, takeApart } from "./linear-algebra.ts";

/**
 * What leaves a deck where, in masses: the photos say where each class leaves, the balance how much of it there is and
 * what it holds.
 */

export const CLASSES = ["dense", "middling", "light"] as const satisfies readonly Product[];
/** One number a class, in the order of `CLASSES`. */
export type ByClass = readonly [number, number, number];

/** A photo with where the splitters stood when it was taken, outlet mm in order. */
export interface PhotoAt {
  readonly reading: Reading;
  readonly cutsMm: readonly number[];
}

/** One state of what the photos leave open; all 0 and 1 for the likeliest. */
export interface Doubt {
  /** By how many of their standard errors edges lie off: those above dense, below it, above light, below it. */
  readonly edges: readonly [number, number, number, number];
  /** How many times the usual tails the bands' ends have. */
  readonly tails: number;
  /** Which photos count, one may count twice. */
  readonly photos: readonly number[];
}

/** 10-90 % width of a Gaussian edge for a standard deviation of 1. */
const BLUR_PER_SD = 2.563;
/** Grains stray beyond the edge that a photo shows by about this, one standard deviation, mm (judgement: no photo shows it). */
const TAILS_MM = 20;
/** A way of parting below this tells classes from each other too poorly (judgement): least singular value of the shares. */
const LEAST_PARTING = 0.15;

/** Share of each class that leaves before a place, 0 to 1, mean of the photos that show it. */
export type LeavesBefore = (mm: number) => ByClass;

/** Where classes leave, in each photo and on the whole. */
export function fallOf(photos: readonly PhotoAt[], deck: Deck, outletMm: number, doubt: Doubt) {
  const stroke = strokeSpreadMm(deck);
  const curves = photos.map(({ reading }) => curvesOf(reading, stroke, doubt));
  const one = (photo: number, kind: number, mm: number): number | null => {
    const stretches = curves[photo]![kind]!;
    if (stretches.length === 0) return null;
    if (mm <= 0) return 0;
    if (mm >= outletMm) return 1;
    let [before, length] = [0, 0];
    for (const { from, to, sd } of stretches) {
      before += caught([from, to], [Number.NEGATIVE_INFINITY, mm], sd);
      length += to - from;
    }
    return Math.min(1, Math.max(0, before / length));
  };
  const mean = (_kind: number, of: (photo: number) => number | null): number => {
    const told = doubt.photos.map(of).filter((share) => share !== null);
    return told.length === 0 ? 0 : told.reduce((sum, share) => sum + share, 0) / told.length;
  };
  const shown = [0, 1, 2].map((kind) => doubt.photos.some((photo) => curves[photo]![kind]!.length > 0));
  const before: LeavesBefore = (mm) =>
    [0, 1, 2].map((kind) => mean(kind, (photo) => one(photo, kind, mm))) as unknown as ByClass;
  /** Share of each class that each launder took while the photos were taken: a row a launder. */
  const taken = (launders: number): ByClass[] =>
    Array.from({ length: launders }, (_, launder) => {
      const share = (kind: number) =>
        mean(kind, (photo) => {
          const ends = [0, ...photos[photo]!.cutsMm, outletMm];
          const [from, to] = [one(photo, kind, ends[launder]!), one(photo, kind, ends[launder + 1]!)];
          return from === null || to === null ? null : Math.max(0, to - from);
        });
      return [share(0), share(1), share(2)];
    });
  return { before, taken, shown };
}

interface Stretch {
  readonly from: number;
  readonly to: number;
  readonly sd: number;
}

function curvesOf({ bands }: Reading, stroke: (mm: number) => number, { edges, tails }: Doubt): Stretch[][] {
  const seen = (kind: Product) => bands.some((band) => band.kind === kind && band.outlet.length > 0);
  // bands that meet share their edge: it is off alike for both
  const light = seen("middling") ? 2 : 1;
  const place = { dense: [0, 1], middling: [1, 2], light: [light, 3] } as const;
  return CLASSES.map((kind) =>
    bands
      .filter((band) => band.kind === kind)
      .flatMap(({ outlet, edgeBlurMm }) =>
        outlet.map(({ fromMm, toMm, fromErrorMm, toErrorMm }) => {
          const from = fromMm + (fromErrorMm ?? 0) * edges[place[kind][0]];
          const to = Math.max(from + 1, toMm + (toErrorMm ?? 0) * edges[place[kind][1]]);
          const sd = Math.hypot((edgeBlurMm ?? 0) / BLUR_PER_SD, TAILS_MM * tails, stroke((from + to) / 2));
          return { from, to, sd };
        }),
      ),
  );
}

/** What one product of the run holds, for a tonne of feed or in any one unit: its mass, and mass of each assay in it. */
export interface Held {
  readonly mass: Measured;
  readonly assays: Readonly<Record<string, Measured>>;
}
/** Masses of the classes, and of each assay in them. */
export interface Mix {
  readonly mass: ByClass;
  readonly assays: Readonly<Record<string, ByClass>>;
  /** How far the worst product is from what this makes of it, in standard errors. */
  readonly off: number;
}

/**
 * How much of each class there is and what it holds, so that the products come out as they were weighed and assayed.
 *
 * @param taken  Share of each class in each product: a row a product, in the order of `held`.
 * @returns null where the products do not tell the classes apart.
 *
 * Method: least squares weighted by the errors, no class below 0; of three unknowns the best of all sets is tried.
 */
export function unmix(taken: readonly ByClass[], held: readonly Held[], shown: readonly boolean[]): Mix | null {
  const there = [0, 1, 2].filter((kind) => shown[kind]);
  if (there.length === 0 || held.length < there.length || !parts(taken, there)) return null;
  const solved = (of: (one: Held) => Measured) => leastSquares(taken, held.map(of), there);
  const mass = solved((one) => one.mass);
  const names = Object.keys(held[0]!.assays);
  const assays = names.map((name) => [name, solved((one) => one.assays[name]!)] as const);
  return {
    mass: mass.found,
    assays: Object.fromEntries(assays.map(([name, { found }]) => [name, found])),
    off: Math.max(mass.off, ...assays.map(([, { off }]) => off)),
  };
}

function parts(taken: readonly ByClass[], there: readonly number[]): boolean {
  const shares = new Matrix(taken.map((row) => there.map((kind) => row[kind]!)));
  const squares = new EigenvalueDecomposition(shares.transpose().mmul(shares), { assumeSymmetric: true });
  return Math.sqrt(Math.max(0, Math.min(...squares.realEigenvalues))) >= LEAST_PARTING;
}

function leastSquares(taken: readonly ByClass[], given: readonly Measured[], there: readonly number[]) {
  const size = Math.max(...given.map(({ value }) => Math.abs(value)), Number.MIN_VALUE);
  const weights = given.map(({ error }) => 1 / Math.max(error, 1e-6 * size));
  let best: { found: [number, number, number]; misses: number[]; cost: number } | null = null;
  for (let set = 1; set < 2 ** there.length; set++) {
    const kinds = there.filter((_, i) => (set >> i) & 1);
    const rows = new Matrix(taken.map((row, i) => kinds.map((kind) => row[kind]! * weights[i]!)));
    const known = Matrix.columnVector(given.map(({ value }, i) => value * weights[i]!));
    const solved = takeApart(rows).inverse.mmul(known).to1DArray();
    if (solved.some((amount) => amount < 0)) continue;
    const found: [number, number, number] = [0, 0, 0];
    kinds.forEach((kind, i) => {
      found[kind] = solved[i]!;
    });
    const misses = taken.map(
      (row, i) => (row.reduce((sum, share, kind) => sum + share * found[kind]!, 0) - given[i]!.value) * weights[i]!,
    );
    const cost = misses.reduce((sum, miss) => sum + miss * miss, 0);
    if (!best || cost < best.cost - 1e-9) best = { found, misses, cost };
  }
  return { found: best?.found ?? ([0, 0, 0] as ByClass), off: Math.max(0, ...(best?.misses ?? []).map(Math.abs)) };
}
