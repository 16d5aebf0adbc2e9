import type { Pair } from "./geometry.ts";

/** Product of two row-major 3 × 3 matrices: first `b`, then `a`. */
export const multiply = (a: readonly number[], b: readonly number[]): number[] =>
  [0, 1, 2].flatMap((r) => [0, 1, 2].map((c) => [0, 1, 2].reduce((s, k) => s + a[3 * r + k]! * b[3 * k + c]!, 0)));

/** Apply a row-major 3 × 3 homography to a point. */
export function project(h: readonly number[], [x, y]: Pair): [number, number] {
  const w = h[6]! * x + h[7]! * y + h[8]!;
  return [(h[0]! * x + h[1]! * y + h[2]!) / w, (h[3]! * x + h[4]! * y + h[5]!) / w];
}

/** Inverse of a row-major 3 × 3 homography, scaled to h33 = 1 (adjugate). */
export function invert(h: readonly number[]): number[] {
  const [a, b, c, d, e, f, g, i, j] = h as [number, number, number, number, number, number, number, number, number];
  const adjugate = [
    e * j - f * i,
    c * i - b * j,
    b * f - c * e,
    f * g - d * j,
    a * j - c * g,
    c * d - a * f,
    d * i - e * g,
    b * g - a * i,
    a * e - b * d,
  ];
  return adjugate.map((value) => value / adjugate[8]!);
}

/**
 * Homography of the unit square's corners (0,0), (1,0), (1,1), (0,1) onto four points.
 * Source: P. Heckbert, Fundamentals of Texture Mapping and Image Warping (1989), section 2.2.3.
 */
export function squareTo(corners: readonly Pair[]): number[] {
  const [[x0, y0], [x1, y1], [x2, y2], [x3, y3]] = corners as [Pair, Pair, Pair, Pair];
  const [dx1, dx2, sx] = [x1 - x2, x3 - x2, x0 - x1 + x2 - x3];
  const [dy1, dy2, sy] = [y1 - y2, y3 - y2, y0 - y1 + y2 - y3];
  const under = dx1 * dy2 - dx2 * dy1;
  const [g, h] = [(sx * dy2 - dx2 * sy) / under, (dx1 * sy - sx * dy1) / under];
  return [x1 - x0 + g * x1, x3 - x0 + h * x3, x0, y1 - y0 + g * y1, y3 - y0 + h * y3, y0, g, h, 1];
}
