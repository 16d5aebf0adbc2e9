import type { Pair } from "../../vision/geometry.ts";
import { type Edge, edgesOf, type Stretch, stretchesOf } from "../../vision/mark-up/stretches.ts";
import type { Deck, Grid } from "../../vision/stages.ts";

export { type Edge, edgesOf, type Stretch };

/** How near classes and outlet edges are to the truth. Class numbers as in DEVELOPERS.md: 0 unseen to 5 dry. */

export const CLASSES = ["unseen", "bare", "dense", "middling", "light", "dry"] as const;
export type Class = (typeof CLASSES)[number];
/** Rows are the truth, columns what was read: cells of each pair of classes. */
export type Confusion = readonly Float64Array[];

export const noConfusion = (): Confusion => Array.from({ length: 6 }, () => new Float64Array(6));

/** Count each cell that the truth knows. */
export function countCells(into: Confusion, truth: ArrayLike<number>, read: ArrayLike<number>): void {
  for (let i = 0; i < truth.length; i++) if (truth[i]) into[truth[i]!]![read[i]!]!++;
}

/** Shared cells over all cells of one class; a known cell that the reading calls unseen is a miss. NaN: the class is nowhere. */
export function iou(confusion: Confusion, k: number): number {
  const shared = confusion[k]![k]!;
  let all = -shared;
  for (let j = 0; j < 6; j++) all += confusion[k]![j]! + (j > 0 ? confusion[j]![k]! : 0);
  return all > 0 ? shared / all : Number.NaN;
}

/** Mean over the classes 1 to 5 that are there. */
export function meanIou(confusion: Confusion): number {
  const there = [1, 2, 3, 4, 5].map((k) => iou(confusion, k)).filter((value) => !Number.isNaN(value));
  return there.reduce((a, b) => a + b, 0) / there.length;
}

/** The truth with all cells within 6 mm of another class, or of what is unseen, taken out (0). */
export function innerCells(truth: Uint8Array, { columns, rows, mmPerCell }: Grid): Uint8Array {
  const reach = Math.round(6 / mmPerCell);
  const out = new Uint8Array(truth.length);
  const alike = new Uint8Array(truth.length);
  const same = (from: Uint8Array, i: number, step: number, left: number, right: number) => {
    for (let n = -Math.min(reach, left); n <= Math.min(reach, right); n++) {
      if (from[i + n * step] !== truth[i]) return false;
    }
    return true;
  };
  for (let i = 0; i < truth.length; i++) {
    const column = i % columns;
    alike[i] = same(truth, i, 1, column, columns - 1 - column) ? truth[i]! : 0;
  }
  for (let i = 0; i < truth.length; i++) {
    const row = Math.floor(i / columns);
    out[i] = same(alike, i, columns, row, rows - 1 - row) ? truth[i]! : 0;
  }
  return out;
}

/**
 * How often cells are right against how sure they are said to be.
 * Source: Naeini, Cooper & Hauskrecht (2015), AAAI 29, 2901-2907 (expected calibration error over bins of equal width).
 */
export class Reliability {
  readonly #bins = Array.from({ length: 10 }, () => ({ count: 0, sure: 0, right: 0 }));

  /** @param confidence  0 to 255. */
  count(truth: Uint8Array, read: Uint8Array, confidence: Uint8Array): void {
    for (let i = 0; i < truth.length; i++) {
      if (!truth[i] || !read[i]) continue;
      const sure = confidence[i]! / 255;
      const bin = this.#bins[Math.min(9, Math.floor(10 * sure))]!;
      bin.count++;
      bin.sure += sure;
      if (truth[i] === read[i]) bin.right++;
    }
  }

  get rows() {
    const all = this.#bins.reduce((sum, { count }) => sum + count, 0);
    return this.#bins.flatMap(({ count, sure, right }, k) =>
      count ? [{ from: k / 10, to: (k + 1) / 10, share: count / all, sure: sure / count, right: right / count }] : [],
    );
  }

  get error(): number {
    return this.rows.reduce((sum, { share, sure, right }) => sum + share * Math.abs(sure - right), 0);
  }
}

/** What truly leaves along the outlet path; see `stretchesOf`. */
export const trueStretches = (labels: ArrayLike<number>, grid: Grid, deck: Deck): Stretch[] =>
  stretchesOf(
    labels,
    grid,
    deck.outletPath.map(({ x, y }): Pair => [x, y]),
  );

const isSolid = (kind: Class) => kind === "dense" || kind === "middling" || kind === "light";
/** The same side of the same solid ends or begins there; where neither side is a solid, both must agree. */
function sameSide(a: Edge, b: Edge): boolean {
  if (a.before === b.before && a.after === b.after) return true;
  return (a.before === b.before && isSolid(a.before)) || (a.after === b.after && isSolid(a.after));
}

/** A true edge with none read within this is missed, mm. */
export const REACH_MM = 200;

export interface EdgeMatch {
  readonly edge: Edge;
  /** mm from the truth; null: missed. */
  readonly offMm: number | null;
}
/**
 * Each true edge with the nearest read edge of the same side, each read edge used once, the nearest pairs first.
 *
 * @returns `extra`: read edges that belong to no true one.
 */
export function matchEdges(truth: readonly Edge[], read: readonly Edge[]): { matches: EdgeMatch[]; extra: Edge[] } {
  const pairs = truth
    .flatMap((edge, i) => read.map((other, j) => ({ i, j, far: Math.abs(edge.atMm - other.atMm), edge, other })))
    .filter(({ edge, other, far }) => far <= REACH_MM && sameSide(edge, other))
    .sort((a, b) => a.far - b.far);
  const off = new Map<number, number>();
  const used = new Set<number>();
  for (const { i, j, far } of pairs) {
    if (off.has(i) || used.has(j)) continue;
    off.set(i, far);
    used.add(j);
  }
  return {
    matches: truth.map((edge, i) => ({ edge, offMm: off.get(i) ?? null })),
    extra: read.filter((_, j) => !used.has(j)),
  };
}

/** The value below which this share lies; missed edges count as further off than any. NaN when there is none. */
export function percentile(matches: readonly EdgeMatch[], share: number): number {
  if (matches.length === 0) return Number.NaN;
  const sorted = matches.map(({ offMm }) => offMm ?? Number.POSITIVE_INFINITY).sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.ceil(share * sorted.length) - 1)]!;
}
