import { checked } from "./fault.ts";
import { EigenvalueDecomposition, Matrix, solve } from "./linear-algebra.ts";
import { normalBelow, normalLimit } from "./odds.ts";

/**
 * Average run lengths: how many values a chart shows, on average, until it alarms, for values of sd 1 that are normal,
 * independent and shifted by so many sd. With shift 0 that is the time between false alarms.
 */

/** Places where the integrals are taken; more change no digit that is printed. */
const NODES = 48;

/**
 * Run length of an exponentially weighted mean, z ← (1 − λ) z + λ x, alarm beyond ± L √(λ / (2 − λ)).
 *
 * @param weight  λ, 0.01 to 1.
 * @param width   L, 0.5 to 6.
 * @throws {AccountsError} `out-of-range`.
 * Source: Crowder (1987), Technometrics 29, 401, the integral equation; limits of long runs.
 */
export function ewmaRunLength(weight: number, width: number, shift = 0): number {
  checked("Weight λ", weight, 0.01, 1);
  checked("Width L", width, 0.5, 6);
  const limit = width * Math.sqrt(weight / (2 - weight));
  const { nodes, weights } = gaussLegendre(-limit, limit);
  const chance = (from: number, to: number) => density((to - (1 - weight) * from) / weight - shift) / weight;
  const lengths = solveLengths(nodes.map((u) => nodes.map((y, j) => weights[j]! * chance(u, y))));
  return 1 + nodes.reduce((sum, y, j) => sum + weights[j]! * lengths[j]! * chance(0, y), 0);
}

/**
 * Run length of a two-sided cumulated sum, S ← max(0, S ± x − k), alarm above h on either side.
 *
 * @param slack  k, 0.05 to 3.
 * @param limit  h, 0.2 to 12.
 * @throws {AccountsError} `out-of-range`.
 * Source: Page (1954), Biometrika 41, 100, the integral equation; both sides as Van Dobben de Bruyn (1968) (from memory).
 */
export function cusumRunLength(slack: number, limit: number, shift = 0): number {
  checked("Slack k", slack, 0.05, 3);
  checked("Limit h", limit, 0.2, 12);
  const [up, down] = [oneSided(slack, limit, shift), oneSided(slack, limit, -shift)];
  return 1 / (1 / up + 1 / down);
}

function oneSided(slack: number, limit: number, shift: number): number {
  const { nodes, weights } = gaussLegendre(0, limit);
  const places = [0, ...nodes]; // the sum rests at 0 with a chance of its own
  const chances = places.map((u) => [
    normalBelow(slack - shift - u),
    ...nodes.map((y, j) => weights[j]! * density(y + slack - shift - u)),
  ]);
  return solveLengths(chances)[0]!;
}

/** Run length of single values, alarm beyond ± `width` sd. */
export function singleRunLength(width: number, shift = 0): number {
  return 1 / (1 - normalBelow(width - shift) + normalBelow(-width - shift));
}

/** Limits that each bring so many values between false alarms. */
export interface ChartLimits {
  readonly ewma: { readonly weight: number; readonly width: number };
  readonly cusum: { readonly slack: number; readonly limit: number };
  /** Beyond so many sd one value alone alarms. */
  readonly single: number;
}

/** λ and k of charts that find shifts of about one sd soonest. Source: Montgomery, Statistical Quality Control, ch. 9 (from memory). */
const WEIGHT = 0.1;
const SLACK = 0.5;

/** @param between  Values between two false alarms of each chart, 20 to 1e6. @throws {AccountsError} `out-of-range`. */
export function limitsFor(between: number): ChartLimits {
  checked("Values between false alarms", between, 20, 1e6);
  const limits = found.get(between) ?? {
    ewma: { weight: WEIGHT, width: whereLong((width) => ewmaRunLength(WEIGHT, width), between, 1, 6) },
    cusum: { slack: SLACK, limit: whereLong((limit) => cusumRunLength(SLACK, limit), between, 1, 12) },
    single: -normalLimit(1 / between / 2),
  };
  found.set(between, limits);
  return limits;
}
/** Each takes some 20 ms to find, and every series of photos asks for the same. */
const found = new Map<number, ChartLimits>();

/** Where a run length that grows with its limit reaches the one wanted. */
function whereLong(lengthAt: (limit: number) => number, wanted: number, low: number, high: number): number {
  let [below, above] = [low, high];
  while (above - below > 1e-5) {
    const middle = (below + above) / 2;
    if (lengthAt(middle) < wanted) below = middle;
    else above = middle;
  }
  return (below + above) / 2;
}

/** L = 1 + chances · L. */
function solveLengths(chances: readonly (readonly number[])[]): number[] {
  const system = Matrix.sub(Matrix.eye(chances.length), new Matrix(chances.map((row) => [...row])));
  return solve(system, Matrix.ones(chances.length, 1)).to1DArray();
}

function gaussLegendre(from: number, to: number) {
  const { nodes, weights } = unitNodes();
  const half = (to - from) / 2;
  return { nodes: nodes.map((x) => from + half * (x + 1)), weights: weights.map((w) => half * w) };
}

/** From −1 to 1. Source: Golub & Welsch (1969), Math. Comp. 23, 221: nodes are eigenvalues of a banded matrix. */
function unitNodes() {
  if (unit) return unit;
  const band = Matrix.zeros(NODES, NODES);
  for (let i = 1; i < NODES; i++) {
    const beside = i / Math.sqrt(4 * i * i - 1);
    band.set(i, i - 1, beside).set(i - 1, i, beside);
  }
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(band, { assumeSymmetric: true });
  unit = { nodes: realEigenvalues, weights: realEigenvalues.map((_, i) => 2 * eigenvectorMatrix.get(0, i) ** 2) };
  return unit;
}
let unit: { readonly nodes: readonly number[]; readonly weights: readonly number[] } | null = null;

const density = (z: number) => Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
