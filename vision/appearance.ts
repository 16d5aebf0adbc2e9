import { kMeans, type OpenCv } from "./opencv.ts";
import type { EvenDeck, Grid } from "./stages.ts";
import { cooccurrenceTexture } from "./texture.ts";

const CLUSTERS = 9;
/** Weights of L, a, b and texture: lightness counts for less, since shadows change it and leave hue. */
const WEIGHTS = [0.55, 1.2, 1.2, 3] as const;
const DIMENSIONS = WEIGHTS.length;
const SAMPLES = 6_000;

/** What the deck's cells look like, and the few looks they fall into. */
export interface Appearance {
  readonly grid: Grid;
  readonly seen: Uint8Array;
  /** Weighted L, a, b, texture of each cell, plane by plane. */
  readonly features: readonly Float32Array[];
  /** For each look: mean and variance of each feature, and its share of the cells. */
  readonly looks: readonly {
    readonly mean: readonly number[];
    readonly variance: readonly number[];
    readonly weight: number;
  }[];
  /** The nearest look of each cell; −1 where unseen. */
  readonly nearest: Int8Array;
}

export function appearancesOf(cv: OpenCv, { halved: { grid, seen, lab } }: EvenDeck): Appearance {
  const { columns, rows } = grid;
  const cells = columns * rows;
  const levels = new Uint8Array(cells);
  for (let i = 0; i < cells; i++) levels[i] = Math.max(0, Math.min(31, Math.round(lab.L[i]! / 3.2)));
  const { contrast } = cooccurrenceTexture(levels, columns, rows, 3);
  const texture = contrast.map((c) => Math.log1p(c));
  const features = [lab.L, lab.a, lab.b, texture].map((plane, f) => plane.map((value) => value * WEIGHTS[f]!));

  const chosen: number[] = [];
  const step = Math.max(1, Math.floor(seen.reduce((sum, is) => sum + is, 0) / SAMPLES));
  for (let i = 0, n = 0; i < cells; i++) if (seen[i] && n++ % step === 0) chosen.push(i);
  if (chosen.length < CLUSTERS * 4) return { grid, seen, features, looks: [], nearest: new Int8Array(cells).fill(-1) };
  const points = new Float32Array(chosen.length * DIMENSIONS);
  chosen.forEach((i, n) => {
    for (let f = 0; f < DIMENSIONS; f++) points[n * DIMENSIONS + f] = features[f]![i]!;
  });
  const { labels, centres } = kMeans(cv, points, DIMENSIONS, CLUSTERS);
  const looks = Array.from({ length: CLUSTERS }, (_, k) => {
    const mean = [...centres.subarray(k * DIMENSIONS, (k + 1) * DIMENSIONS)];
    const variance = mean.map(() => 0);
    let count = 0;
    labels.forEach((label, n) => {
      if (label !== k) return;
      count++;
      for (let f = 0; f < DIMENSIONS; f++) variance[f]! += (points[n * DIMENSIONS + f]! - mean[f]!) ** 2;
    });
    return { mean, variance: variance.map((v) => v / Math.max(1, count) + 1.5), weight: count / chosen.length };
  });
  const nearest = new Int8Array(cells).fill(-1);
  const at = new Float64Array(DIMENSIONS);
  for (let i = 0; i < cells; i++) {
    if (!seen[i]) continue;
    for (let f = 0; f < DIMENSIONS; f++) at[f] = features[f]![i]!;
    let best = Number.POSITIVE_INFINITY;
    let look = -1;
    for (let k = 0, j = 0; k < CLUSTERS; k++) {
      let d = 0;
      for (let f = 0; f < DIMENSIONS; f++, j++) {
        const off = at[f]! - centres[j]!;
        d += off * off;
      }
      if (d < best) {
        best = d;
        look = k;
      }
    }
    nearest[i] = look;
  }
  return { grid, seen, features, looks, nearest };
}

/** Likelihood of each cell under each look, scaled to at most 1 over the looks at a cell; `looks × cells`. */
export function likelihoods({ features, looks, seen }: Appearance): Float32Array[] {
  const fit = looks.map(() => new Float32Array(seen.length));
  const norm = Float64Array.from(looks, ({ variance }) => variance.reduce((s, v) => s - 0.5 * Math.log(v), 0));
  const means = Float64Array.from(looks.flatMap(({ mean }) => mean));
  const sharpness = Float64Array.from(
    looks.flatMap(({ variance }) => variance),
    (v) => 0.5 / v,
  );
  const log = new Float64Array(looks.length);
  const at = new Float64Array(DIMENSIONS);
  for (let i = 0; i < seen.length; i++) {
    if (!seen[i]) continue;
    for (let f = 0; f < DIMENSIONS; f++) at[f] = features[f]![i]!;
    let best = Number.NEGATIVE_INFINITY;
    for (let k = 0, j = 0; k < log.length; k++) {
      let l = norm[k]!;
      for (let f = 0; f < DIMENSIONS; f++, j++) {
        const off = at[f]! - means[j]!;
        l -= sharpness[j]! * off * off;
      }
      log[k] = l;
      if (l > best) best = l;
    }
    for (let k = 0; k < log.length; k++) fit[k]![i] = Math.exp(log[k]! - best);
  }
  return fit;
}

/** The unweighted mean L, a, b of a look. */
export const labOf = (mean: readonly number[]): [number, number, number] => [
  mean[0]! / WEIGHTS[0],
  mean[1]! / WEIGHTS[1],
  mean[2]! / WEIGHTS[2],
];
