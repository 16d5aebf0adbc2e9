import { asMm, said } from "../said.ts";
import { above0, type Measured, ProcessError, within } from "./range.ts";

/** A height read at a place on the deck, mm; the zero of heights does not matter. */
export interface LevelPoint {
  readonly xMm: number;
  readonly yMm: number;
  readonly heightMm: number;
}

export interface DeckLevel {
  /** Fall toward the tailings side, mm/m; below 0 when that side is the higher one. */
  readonly crossSlopeMmPerM: Measured;
  /** Rise toward the dense-product end, mm/m. */
  readonly endSlopeMmPerM: Measured;
  /** Height of the plane at the deck's origin, mm. */
  readonly originMm: number;
  /** Height read less height of the plane, mm, in the order of the points. */
  readonly residualsMm: readonly number[];
  /** Spread of the heights about the plane, mm; NaN from three points, which always fit. */
  readonly spreadMm: number;
  readonly steepestMmPerM: number;
  /** Where the steepest slope runs down to: degrees from the riffles' direction toward the tailings side. */
  readonly downhillDegrees: number;
}

/**
 * Slope from a bar held level by a shim under its low end, mm/m: shim / bar. Take the deck's plain part, never a ramp.
 *
 * With `turnedShimMm`, the shim needed after turning level and bar end for end, the level's own fault cancels.
 *
 * @param bar  shim heights and length of the bar from its resting edge to the shim, mm; `shimErrorMm` one standard error.
 * @throws {ProcessError} `out-of-range`.
 */
export function slopeFromShim(bar: {
  shimMm: number;
  barMm: number;
  turnedShimMm?: number;
  shimErrorMm?: number;
}): Measured {
  above0("Bar length, mm", bar.barMm);
  const longest = Math.max(Math.abs(bar.shimMm), Math.abs(bar.turnedShimMm ?? 0));
  if (!(longest <= bar.barMm)) {
    const values = { shim: asMm(longest), bar: asMm(bar.barMm) };
    throw new ProcessError("out-of-range", said("said.table.shimBeyondBar", values));
  }
  const readings = bar.turnedShimMm === undefined ? [bar.shimMm] : [bar.shimMm, bar.turnedShimMm];
  const mean = readings.reduce((sum, shim) => sum + shim, 0) / readings.length;
  const error = (bar.shimErrorMm ?? 0.25) / Math.sqrt(readings.length);
  return { value: (1000 * mean) / bar.barMm, error: (1000 * error) / bar.barMm };
}

/**
 * Plane through heights read on the deck, by least squares: z = a + b x + c y.
 *
 * Three points fit exactly and tell nothing of their error: pass what one reading is worth in `readingErrorMm`. With more
 * points the error comes from the spread unless `readingErrorMm` is given.
 *
 * @throws {ProcessError} `too-few-readings` below three points; `points-in-line` when they fix no plane.
 */
export function levelOf(points: readonly LevelPoint[], readingErrorMm?: number): DeckLevel {
  if (points.length < 3) throw new ProcessError("too-few-readings", "Read the height at three places or more.");
  const mean = (of: (point: LevelPoint) => number) => points.reduce((sum, point) => sum + of(point), 0) / points.length;
  const [x0, y0, z0] = [mean((p) => p.xMm), mean((p) => p.yMm), mean((p) => p.heightMm)];
  const sum = (of: (dx: number, dy: number, dz: number) => number) =>
    points.reduce((total, p) => total + of(p.xMm - x0, p.yMm - y0, p.heightMm - z0), 0);
  const [xx, xy, yy] = [sum((x) => x * x), sum((x, y) => x * y), sum((_, y) => y * y)];
  const [xz, yz] = [sum((x, _, z) => x * z), sum((_, y, z) => y * z)];
  const determinant = xx * yy - xy ** 2;
  if (!(determinant > 1e-6 * xx * yy)) {
    throw new ProcessError("points-in-line", "The places lie in one line. Read one away from it, across the deck.");
  }
  const b = (yy * xz - xy * yz) / determinant;
  const c = (xx * yz - xy * xz) / determinant;
  const originMm = z0 - b * x0 - c * y0;
  const residualsMm = points.map((p) => p.heightMm - originMm - b * p.xMm - c * p.yMm);
  const squares = residualsMm.reduce((total, residual) => total + residual ** 2, 0);
  const spreadMm = points.length === 3 ? Number.NaN : Math.sqrt(squares / (points.length - 3));
  const each = readingErrorMm ?? spreadMm;
  return {
    crossSlopeMmPerM: { value: -1000 * c, error: 1000 * each * Math.sqrt(xx / determinant) },
    endSlopeMmPerM: { value: 1000 * b, error: 1000 * each * Math.sqrt(yy / determinant) },
    originMm,
    residualsMm,
    spreadMm,
    steepestMmPerM: 1000 * Math.hypot(b, c),
    downhillDegrees: (Math.atan2(-c, -b) * 180) / Math.PI,
  };
}

/** One number for each corner, named by end and side. */
export interface Corners {
  readonly driveHigh: number;
  readonly denseHigh: number;
  readonly driveLow: number;
  readonly denseLow: number;
}

/**
 * Twist of a deck from heights at its four corners, mm: one diagonal less the other. A flat deck gives 0, however it
 * slopes.
 *
 * @param readingErrorMm  One standard error of one height; four readings make twice that.
 */
export function twistOf(heightsMm: Corners, readingErrorMm = 0.25): Measured {
  const { driveHigh, denseHigh, driveLow, denseLow } = heightsMm;
  return { value: driveHigh + denseLow - denseHigh - driveLow, error: 2 * readingErrorMm };
}

/**
 * Shims to put under the four legs, mm, so that the deck comes from its slopes to those wanted. The smallest set: no leg
 * is lowered, and one at least gets none. A deck of its own twist is not bent straight this way unless `twistMm` (at the
 * deck's corners) is given with the deck's size; that loads the frame, so only where its maker allows it.
 *
 * Levering a deck: drive stopped and locked out, two people, hands clear of the legs; blocks carry it, never a jack alone.
 *
 * @throws {ProcessError} `out-of-range` for distances not above 0 or slopes beyond 300 mm/m.
 */
export function shimsFor(wish: {
  supports: { alongMm: number; acrossMm: number };
  now: { crossSlopeMmPerM: number; endSlopeMmPerM: number };
  wanted: { crossSlopeMmPerM: number; endSlopeMmPerM: number };
  twist?: { twistMm: number; deckLengthMm: number; deckWidthMm: number };
}): Corners {
  const along = above0("Supports along, mm", wish.supports.alongMm);
  const across = above0("Supports across, mm", wish.supports.acrossMm);
  for (const slopes of [wish.now, wish.wanted]) {
    within("Cross slope, mm/m", slopes.crossSlopeMmPerM, -300, 300);
    within("End slope, mm/m", slopes.endSlopeMmPerM, -300, 300);
  }
  const dense = ((wish.wanted.endSlopeMmPerM - wish.now.endSlopeMmPerM) * along) / 1000;
  const low = ((wish.now.crossSlopeMmPerM - wish.wanted.crossSlopeMmPerM) * across) / 1000;
  const { twist } = wish;
  const quarter = twist
    ? (twist.twistMm * along * across) /
      (4 * above0("Deck length, mm", twist.deckLengthMm) * above0("Deck width, mm", twist.deckWidthMm))
    : 0;
  const rise = [-quarter, dense + quarter, low + quarter, dense + low - quarter];
  const least = Math.min(...rise);
  const [driveHigh, denseHigh, driveLow, denseLow] = rise.map((height) => height - least) as [
    number,
    number,
    number,
    number,
  ];
  return { driveHigh, denseHigh, driveLow, denseLow };
}
