import type { Measured } from "../process/range.ts";
import { said } from "../said.ts";
import { AccountsError } from "./fault.ts";
import { studentLimit } from "./odds.ts";

export interface LinePoint {
  readonly x: Measured;
  readonly y: Measured;
}

/** y = at0 + slope x, through points that are off both ways. */
export interface Line {
  readonly slope: Measured;
  readonly at0: Measured;
  readonly covariance: number;
  /** Sum of squared misses, each over its error; about `freedom` where the errors tell all. */
  readonly chiSquare: number;
  readonly freedom: number;
  /** Scatter about the line that the points' own errors leave unexplained: one sd of y. */
  readonly scatter: number;
  readonly range: readonly [least: number, most: number];
}

export interface Predicted extends Measured {
  /** Holds the true y 19 times of 20. */
  readonly from: number;
  readonly to: number;
  /** Whether x lies beyond all that the line was drawn through. */
  readonly outside: boolean;
}

/** A line is not drawn through fewer: two always fit. */
export const LEAST_POINTS = 3;

/**
 * Best straight line through points with errors in both x and y, independent of each other.
 *
 * @param points  At least three; y with errors above 0. Not modified.
 * @param scatter Further sd of y that all points share; `lineThrough` finds it.
 * @throws {AccountsError} `too-few` below three points, or where their x do not differ by more than their errors.
 * Source: York, Evensen, Martínez & De Basabe Delgado (2004), Am. J. Phys. 72, 367, eq. 13.
 */
export function yorkLine(points: readonly LinePoint[], scatter = 0): Line {
  const n = points.length;
  if (n < LEAST_POINTS) {
    throw new AccountsError("too-few", said("said.runs.fewRuns", { count: n, least: LEAST_POINTS }));
  }
  const data = points.map(({ x, y }) => ({
    x: x.value,
    y: y.value,
    vx: x.error ** 2,
    vy: y.error ** 2 + scatter ** 2,
  }));
  if (data.some(({ vy }) => !(vy > 0))) throw new AccountsError("too-few", said("said.runs.noAssayError"));
  let slope = leastSquares(data);
  let fitted = step(data, slope);
  for (let i = 0; i < 200 && Math.abs(fitted.slope - slope) > 1e-13 * (1 + Math.abs(slope)); i++) {
    slope = fitted.slope;
    fitted = step(data, slope);
  }
  const { weights, meanX, meanY, xs } = fitted;
  const all = sum(weights);
  const middle = sum(xs.map((x, i) => weights[i]! * x)) / all;
  const spread = sum(xs.map((x, i) => weights[i]! * (x - middle) ** 2));
  const b = fitted.slope;
  const a = meanY - b * meanX;
  if (!Number.isFinite(b) || !(spread > 0)) throw alike();
  return {
    slope: { value: b, error: Math.sqrt(1 / spread) },
    at0: { value: a, error: Math.sqrt(1 / all + middle ** 2 / spread) },
    covariance: -middle / spread,
    chiSquare: sum(data.map(({ x, y }, i) => weights[i]! * (y - a - b * x) ** 2)),
    freedom: n - 2,
    scatter,
    range: [Math.min(...data.map(({ x }) => x)), Math.max(...data.map(({ x }) => x))],
  };
}

/**
 * As `yorkLine`, with as much scatter as the misses ask for beyond the points' errors: so much that chi-square is what is
 * usual.
 *
 * Source: Mandel & Paule (1970), Anal. Chem. 42, 1194, for means; here about a line (from memory).
 */
export function lineThrough(points: readonly LinePoint[]): Line {
  const bare = yorkLine(points);
  if (spreadOf(points.map(({ x }) => x.value)) <= Math.max(...points.map(({ x }) => x.error))) throw alike();
  if (bare.chiSquare <= bare.freedom) return bare;
  let [low, high] = [0, 10 * spreadOf(points.map(({ y }) => y.value)) + Math.max(...points.map(({ y }) => y.error))];
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    const { chiSquare, freedom } = yorkLine(points, middle);
    if (chiSquare > freedom) low = middle;
    else high = middle;
  }
  return yorkLine(points, high);
}

/**
 * What a line foretells at x, for the true y of a run to come. With few points Student's t makes the interval wide: with
 * three, 12.7 errors either way.
 */
export function predict(line: Line, x: Measured): Predicted {
  const { slope, at0, covariance, scatter, freedom, range } = line;
  const value = at0.value + slope.value * x.value;
  const ofLine = at0.error ** 2 + x.value ** 2 * slope.error ** 2 + 2 * x.value * covariance;
  const error = Math.sqrt(Math.max(0, ofLine) + (slope.value * x.error) ** 2 + scatter ** 2);
  const wide = studentLimit(0.975, freedom) * error;
  return {
    value,
    error,
    from: value - wide,
    to: value + wide,
    outside: x.value < range[0] - x.error || x.value > range[1] + x.error,
  };
}

interface Datum {
  readonly x: number;
  readonly y: number;
  readonly vx: number;
  readonly vy: number;
}

function step(data: readonly Datum[], slope: number) {
  const weights = data.map(({ vx, vy }) => 1 / (vy + slope ** 2 * vx));
  const all = sum(weights);
  const meanX = sum(data.map(({ x }, i) => weights[i]! * x)) / all;
  const meanY = sum(data.map(({ y }, i) => weights[i]! * y)) / all;
  const beta = data.map(({ x, y, vx, vy }, i) => weights[i]! * ((x - meanX) * vy + slope * (y - meanY) * vx));
  const up = sum(data.map(({ y }, i) => weights[i]! * beta[i]! * (y - meanY)));
  const across = sum(data.map(({ x }, i) => weights[i]! * beta[i]! * (x - meanX)));
  return { slope: up / across, weights, meanX, meanY, xs: beta.map((b) => meanX + b) };
}

function leastSquares(data: readonly Datum[]): number {
  const meanX = sum(data.map(({ x }) => x)) / data.length;
  const meanY = sum(data.map(({ y }) => y)) / data.length;
  return sum(data.map(({ x, y }) => (x - meanX) * (y - meanY))) / sum(data.map(({ x }) => (x - meanX) ** 2));
}

const alike = () => new AccountsError("too-few", said("said.runs.photosAlike"));
const spreadOf = (values: readonly number[]) => (Math.max(...values) - Math.min(...values)) / 2;
const sum = (values: readonly number[]) => values.reduce((total, v) => total + v, 0);
