import type { Reading } from "../contract/index.ts";
import type { Deck, DeckPoint } from "../stages.ts";

/** A point on the picture that is drawn: its pixels, y down. Not a photo pixel: the picture may be a scaled photo. */
export type PicturePoint = readonly [x: number, y: number];
export interface Size {
  readonly widthPx: number;
  readonly heightPx: number;
}
/** Where deck mm fall on the picture. */
export type ToPicture = (xMm: number, yMm: number) => PicturePoint;

/**
 * The way from deck mm to picture pixels for one reading, or null when its photo showed no deck.
 *
 * Inverse of the reading's `photoToDeck` and of the lens term `centre + (p − centre)·(1 + lens·r²)`, r in
 * half-diagonals; the cubic in r is solved by Newton's rule (lens terms are small: five steps are plenty).
 */
export function toPicture(reading: Reading, size: Size): ToPicture | null {
  const { view, photo } = reading;
  if (!view || !photo.widthPx || !photo.heightPx) return null;
  const back = invert(view.photoToDeck);
  if (!back) return null;
  const [cx, cy] = [photo.widthPx / 2, photo.heightPx / 2];
  const halfDiagonal = Math.hypot(cx, cy);
  const [scaleX, scaleY] = [size.widthPx / photo.widthPx, size.heightPx / photo.heightPx];
  return (xMm, yMm) => {
    const w = back[6]! * xMm + back[7]! * yMm + back[8]!;
    const dx = (back[0]! * xMm + back[1]! * yMm + back[2]!) / w - cx;
    const dy = (back[3]! * xMm + back[4]! * yMm + back[5]!) / w - cy;
    const shrink = view.lens === 0 ? 1 : bentShare(Math.hypot(dx, dy) / halfDiagonal, view.lens);
    return [(cx + dx * shrink) * scaleX, (cy + dy * shrink) * scaleY];
  };
}

/** r / straight, where r·(1 + lens·r²) = straight. */
function bentShare(straight: number, lens: number): number {
  if (straight === 0) return 1;
  let r = straight;
  for (let step = 0; step < 5; step++) {
    r -= (r * (1 + lens * r * r) - straight) / Math.max(0.2, 1 + 3 * lens * r * r);
  }
  return r / straight;
}

/** Inverse of a row-major 3 × 3 matrix up to scale (its adjugate), or null when there is none. */
function invert(m: readonly number[]): readonly number[] | null {
  const [a, b, c, d, e, f, g, h, i] = m as [number, number, number, number, number, number, number, number, number];
  const determinant = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  if (!Number.isFinite(determinant) || determinant === 0) return null;
  return [e * i - f * h, c * h - b * i, b * f - c * e, f * g - d * i, a * i - c * g, c * d - a * f].concat([
    d * h - e * g,
    b * g - a * h,
    a * e - b * d,
  ]);
}

/** A place on the outlet path: where, which way the path runs there, and which way is off the deck (unit vectors). */
export interface OutletPlace {
  readonly at: readonly [number, number];
  readonly along: readonly [number, number];
  readonly off: readonly [number, number];
}

/** Length of the outlet path, mm. */
export function outletLengthMm(deck: Deck): number {
  return segments(deck).reduce((sum, s) => sum + s.lengthMm, 0);
}

/** The place `mm` along the outlet path; clamped to its two ends. */
export function outletPlace(deck: Deck, mm: number): OutletPlace {
  const all = segments(deck);
  let rest = Math.max(0, mm);
  for (const [index, s] of all.entries()) {
    if (rest > s.lengthMm && index < all.length - 1) {
      rest -= s.lengthMm;
      continue;
    }
    const t = Math.min(rest, s.lengthMm);
    const along = [(s.to.x - s.from.x) / s.lengthMm, (s.to.y - s.from.y) / s.lengthMm] as const;
    const middle = [(s.from.x + s.to.x) / 2, (s.from.y + s.to.y) / 2] as const;
    const side = inside(deck.outline, middle[0] + along[1] * 5, middle[1] - along[0] * 5) ? -1 : 1;
    return {
      at: [s.from.x + along[0] * t, s.from.y + along[1] * t],
      along,
      off: [along[1] * side, -along[0] * side],
    };
  }
  throw new RangeError("An outlet path needs two points");
}

function segments(deck: Deck) {
  return deck.outletPath.slice(1).map((to, index) => {
    const from = deck.outletPath[index]!;
    return { from, to, lengthMm: Math.hypot(to.x - from.x, to.y - from.y) };
  });
}

/** Whether a point lies inside a polygon (even-odd rule). */
export function inside(polygon: readonly { x: number; y: number }[] | readonly DeckPoint[], x: number, y: number) {
  let odd = false;
  for (let i = 0, j = polygon.length - 1; i < polygon.length; j = i++) {
    const [a, b] = [polygon[i]!, polygon[j]!];
    if (a.y > y !== b.y > y && x < ((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x) odd = !odd;
  }
  return odd;
}
