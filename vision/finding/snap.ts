import type { CornersFile } from "../contract/index.ts";
import type { Pair } from "../geometry.ts";
import type { Deck, Photo } from "../stages.ts";
import { crossing, type EdgeLine, fitEdge } from "./edge-line.ts";

/** A side is drawn to an edge that at least this share of it follows. */
const LEAST_SUPPORT = 0.5;
/** How far to look beside a side, as a share of the photo's longer side: about what a finger misses by. */
const REACH_SHARE = 0.006;
/** Between an edge of the deck and the fold or rim beside it, px of a 2000 px photo: what a snapped line may be wrong by, beyond its own fit. */
const RIM_SHARE = 0.0004;

export interface Snapped extends CornersFile {
  readonly errorPx: number;
  /** Whether each corner moved; the others stay as given. */
  readonly moved: readonly boolean[];
}

/**
 * Draw corners that a person set to where strong straight edges cross: the nearest edge along each side that most of the
 * side follows. A corner beside a side without such an edge stays as it was.
 *
 * @returns corners in the same order, with one standard error of each coordinate: the fits' own where all moved, else the
 *          hand's.
 */
export function snapCorners(photo: Photo, deck: Deck, { corners, errorPx }: CornersFile): Snapped {
  const longest = Math.max(photo.width, photo.height);
  const hand = errorPx ?? Math.max(1, 0.001 * longest);
  const reachPx = Math.max(4, 3 * hand, REACH_SHARE * longest);
  const n = deck.outline.length;
  const sides = corners.map((from, i) => sideLine(photo, from, corners[(i + 1) % n]!, reachPx));
  const errors: number[] = [];
  const moved: boolean[] = [];
  const snapped = corners.map((corner, i): [number, number] => {
    const [before, after] = [sides[(i + n - 1) % n], sides[i]];
    const met = before && after ? crossing(before, after) : null;
    const near = met !== null && Math.hypot(met.at[0] - corner[0], met.at[1] - corner[1]) <= 1.5 * reachPx;
    moved.push(near);
    if (!near) return [corner[0], corner[1]];
    errors.push(Math.hypot(met.errorPx, RIM_SHARE * longest));
    return [met.at[0], met.at[1]];
  });
  const all = moved.every(Boolean);
  const rms = Math.sqrt(errors.reduce((sum, e) => sum + e * e, 0) / Math.max(1, errors.length));
  return { corners: snapped, errorPx: all ? rms : Math.max(hand, rms), moved };
}

function sideLine(photo: Photo, from: Pair, to: Pair, reachPx: number): EdgeLine | null {
  const line = fitEdge(photo, from, to, {
    reachPx,
    trim: 0.06,
    peaks: 4,
    tolerancePx: 1.2,
    nearFirst: 0.5,
    everyPx: 4,
    leastStep: 6,
  });
  return line && line.support >= LEAST_SUPPORT ? line : null;
}
