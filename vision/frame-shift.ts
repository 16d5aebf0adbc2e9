import { luma, shrink } from "./finding/pixels.ts";
import { fillPolygon, type Pair } from "./geometry.ts";
import { project } from "./homography.ts";
import { type OpenCv, withMats } from "./opencv.ts";
import type { Photo } from "./stages.ts";

/**
 * How what is followed has moved from one frame of a burst to another.
 *
 * Method: corners (Shi & Tomasi 1994, CVPR, 593-600) followed by the pyramidal method of Lucas & Kanade (Bouguet 2001, Intel),
 * homography by RANSAC.
 */

/** Longest side of the pictures that frames are laid on each other by, px. */
const ALIGNED_PX = 1200;
/** Points followed from frame to frame, and how few of them still tell how the camera moved. */
const MOST_POINTS = 400;
const FEWEST_POINTS = 24;
const FEWEST_SHARE = 0.35;
/** Corners this weak beside the strongest still count: the strongest are glints. */
const LEAST_QUALITY = 0.0005;
/** A point further off than this, px of the small picture, moves otherwise than the deck does. */
const OFF_PX = 1.5;
/** Corners of the picture may move apart by this share of its longer side: a turn of a degree. */
const BENT_SHARE = 0.012;

export interface Grey {
  readonly width: number;
  readonly height: number;
  readonly grey: Uint8Array;
  /** Pixels of the frame for one of these. */
  readonly scale: number;
}

export function greyOf(cv: OpenCv, frame: Photo): Grey {
  const { width, height, rgba, scale } = shrink(cv, frame, ALIGNED_PX);
  const grey = new Uint8Array(width * height);
  for (let i = 0; i < grey.length; i++) {
    grey[i] = Math.round(luma(rgba[4 * i]!, rgba[4 * i + 1]!, rgba[4 * i + 2]!));
  }
  return { width, height, grey, scale };
}

/** 1 for each pixel of the small picture inside an outline (frame pixels) that is grown this many times about its middle. */
export function insideOf(outline: readonly Pair[], times: number, { width, height, scale }: Grey): Uint8Array {
  const [cx, cy] = middleOf(outline);
  const grown = outline.map(([x, y]): Pair => [(cx + times * (x - cx)) / scale, (cy + times * (y - cy)) / scale]);
  return fillPolygon(grown, width, height);
}

/** Corners to follow, `x, y, x, y, …` in pixels of the small picture as OpenCV counts them; null where there are too few. */
export function pointsOf(cv: OpenCv, { width, height, grey }: Grey, mask: Uint8Array | null): Float32Array | null {
  return withMats(cv, (own) => {
    const picture = own(new cv.Mat(height, width, cv.CV_8U));
    picture.data.set(grey);
    const where = own(new cv.Mat());
    if (mask) {
      where.create(height, width, cv.CV_8U);
      where.data.set(mask);
    }
    const corners = own(new cv.Mat());
    cv.goodFeaturesToTrack(picture, corners, MOST_POINTS, LEAST_QUALITY, Math.max(4, width / 100), where, 5);
    return corners.rows < FEWEST_POINTS ? null : new Float32Array(corners.data32F);
  });
}

/** Row-major 3 × 3: full-size pixel of `from`, as OpenCV counts, → the same spot in `to`; null where that cannot be told. */
export function shiftBetween(cv: OpenCv, from: Grey, to: Grey, points: Float32Array): number[] | null {
  return withMats(cv, (own) => {
    const mat = ({ width, height, grey }: Grey) => {
      const made = own(new cv.Mat(height, width, cv.CV_8U));
      made.data.set(grey);
      return made;
    };
    const count = points.length / 2;
    const starts = own(cv.matFromArray(count, 1, cv.CV_32FC2, [...points]));
    const [ends, found, error] = [own(new cv.Mat()), own(new cv.Mat()), own(new cv.Mat())];
    cv.calcOpticalFlowPyrLK(mat(to), mat(from), starts, ends, found, error, new cv.Size(21, 21), 4);
    const pairs = Array.from({ length: count }, (_, i) => i).filter((i) => found.data[i]);
    if (pairs.length < FEWEST_POINTS) return null;
    const at = (all: Float32Array) => pairs.flatMap((i) => [all[2 * i]!, all[2 * i + 1]!]);
    const seenThere = own(cv.matFromArray(pairs.length, 1, cv.CV_32FC2, at(ends.data32F)));
    const seenHere = own(cv.matFromArray(pairs.length, 1, cv.CV_32FC2, at(points)));
    const kept = own(new cv.Mat());
    cv.setRNGSeed(20);
    const homography = own(cv.findHomography(seenThere, seenHere, cv.RANSAC, OFF_PX, kept));
    const inliers = pairs.filter((_, k) => kept.data[k]).length;
    if (homography.rows !== 3 || inliers < Math.max(FEWEST_POINTS, FEWEST_SHARE * count)) return null;
    if (!isByHand([...homography.data64F], to)) return null;
    return atFullSize([...homography.data64F] as number[], to.scale);
  });
}

/** Whether a hand can have moved the picture so: as a whole, hardly turned or drawn out. Ripples that are followed bend it. */
function isByHand(h: readonly number[], { width, height }: Grey): boolean {
  const corners: Pair[] = [
    [0, 0],
    [width, 0],
    [width, height],
    [0, height],
  ];
  const moves = corners.map((corner): Pair => {
    const [x, y] = project(h, corner);
    return [x - corner[0], y - corner[1]];
  });
  const [dx, dy] = middleOf(moves);
  return moves.every(([x, y]) => Math.hypot(x - dx, y - dy) < BENT_SHARE * Math.max(width, height));
}

/** The same homography for pixels `scale` times smaller; middles of pixels are the whole numbers of both. */
function atFullSize(h: readonly number[], scale: number): number[] {
  const half = (1 - scale) / 2;
  // small = (full + half) / scale; full = small · scale − half
  const [a, b, c, d, e, f, g, i, j] = h as [number, number, number, number, number, number, number, number, number];
  const [gs, is] = [g / scale, i / scale];
  const js = j + half * (gs + is);
  const first = [a, b, c * scale + half * (a + b)];
  const second = [d, e, f * scale + half * (d + e)];
  return [
    ...first.map((v, k) => v - half * [gs, is, js][k]!),
    ...second.map((v, k) => v - half * [gs, is, js][k]!),
    gs,
    is,
    js,
  ];
}

export const middleOf = (points: readonly Pair[]): Pair => [
  points.reduce((sum, p) => sum + p[0], 0) / points.length,
  points.reduce((sum, p) => sum + p[1], 0) / points.length,
];
