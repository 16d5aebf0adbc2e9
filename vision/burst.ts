import type { DeckState } from "./contract/index.ts";
import { luma, shrink } from "./finding/pixels.ts";
import { fillPolygon, type Pair } from "./geometry.ts";
import { invert, project } from "./homography.ts";
import { type OpenCv, withMats } from "./opencv.ts";
import type { Photo } from "./stages.ts";

/** Frames of one moment, laid on each other: what moves on the water goes, what stays on the deck stays. */
export interface Merged {
  readonly photo: Photo;
  /** How many frames went into it; those that could not be laid on the others are left out. */
  readonly frames: number;
  /** Which of them, counted from 0, the others were laid on: its places are the photo's. */
  readonly onto: number;
  /** Whether the deck shakes against what stands round it; unknown where the frames don't tell. */
  readonly deckState: DeckState;
}

/** Longest side of the pictures that frames are laid on each other by, px. */
const ALIGNED_PX = 1200;
/** Points followed from frame to frame, and how few of them still tell how the camera moved. */
const MOST_POINTS = 400;
const FEWEST_POINTS = 24;
const FEWEST_SHARE = 0.35;
/** The strip along the deck's sides, as shares of its size about its middle: rims and riffles' ends stand still on it, ripples don't. */
const RIM = [0.9, 1.02] as const;
/** Corners this weak beside the strongest still count: the strongest are glints. */
const LEAST_QUALITY = 0.0005;
/** A point further off than this, px of the small picture, moves otherwise than the deck does. */
const OFF_PX = 1.5;
/** The deck's surroundings begin this far out, as a share of its size: beyond launders that hang on it. */
const AROUND = 1.2;
/** Fewer frames than this, with the first, tell nothing of a shake. */
const FEWEST_SHAKEN = 4;
/**
 * How far the deck moves along its length against its surroundings, from one end of the stroke to the other as far as the frames
 * caught it, as a share of its length: above the first it runs, below the second it stands. Strokes are 8 to 30 mm on decks of 1.2 to
 * 4.6 m (common practice), some 0.3 to 1.5 %.
 */
const [RUNS, STANDS] = [0.0025, 0.0008];
/** A shake is along the length: so many times what moves across. */
const LENGTHWAYS = 2;
/** The frame that the others are laid on: this far up among them in detail, for the most detailed may be the odd one out. */
const FIRST_RANK = 0.75;
/** Corners of the picture may move apart by this share of its longer side: a turn of a degree. */
const BENT_SHARE = 0.012;
/** A frame with less than this share of that one's detail was shaken. */
const SHARP_SHARE = 0.6;

/**
 * Lay frames of a short burst on a sharp one of them and take the middle value of each pixel and colour.
 *
 * @param frames  RGBA of one size, alpha 255. Not modified.
 * @param deck  Where the deck lies in the frames, photo pixels: frames are laid on each other by its rim, since it shakes
 *              against its surroundings, and most of what lies on it moves. Null: by the whole picture.
 * @throws {RangeError} when there is no frame, or frames differ in size.
 *
 * Method: corners (Shi & Tomasi 1994, CVPR, 593-600) followed by the pyramidal method of Lucas & Kanade (Bouguet 2001, Intel),
 * homography by RANSAC, median a channel. A pixel that some frames do not show is the median of those that do.
 */
export function mergeBurst(cv: OpenCv, frames: readonly Photo[], deck: readonly Pair[] | null): Merged {
  const [{ width, height } = missing()] = frames;
  if (frames.some((frame) => frame.width !== width || frame.height !== height))
    throw new RangeError("frames of a burst have one size");
  if (frames.length === 1) return { photo: frames[0]!, frames: 1, onto: 0, deckState: "unknown" };
  const small = frames.map((frame) => greyOf(cv, frame));
  const detail = small.map(detailOf);
  const sharp = [...detail].sort((a, b) => a - b)[Math.floor(FIRST_RANK * (frames.length - 1))]!;
  const first = detail.indexOf(sharp);
  const mask = deck && rimOf(deck, small[first]!);
  const points = pointsOf(cv, small[first]!, mask);
  const shifts = frames.map((_, i) =>
    points && i !== first && detail[i]! >= SHARP_SHARE * sharp
      ? shiftBetween(cv, small[i]!, small[first]!, points)
      : null,
  );
  const laid = frames.flatMap((frame, i) => {
    if (i === first) return [frame.rgba];
    const shift = shifts[i];
    return shift ? [laidBy(cv, frame, shift)] : [];
  });
  const deckState = deck ? stateOf(cv, small, first, shifts, deck) : "unknown";
  return { photo: { width, height, rgba: medianOf(laid) }, frames: laid.length, onto: first, deckState };
}

function missing(): never {
  throw new RangeError("a burst without frames");
}

interface Grey {
  readonly width: number;
  readonly height: number;
  readonly grey: Uint8Array;
  /** Pixels of the frame for one of these. */
  readonly scale: number;
}

function greyOf(cv: OpenCv, frame: Photo): Grey {
  const { width, height, rgba, scale } = shrink(cv, frame, ALIGNED_PX);
  const grey = new Uint8Array(width * height);
  for (let i = 0; i < grey.length; i++) {
    grey[i] = Math.round(luma(rgba[4 * i]!, rgba[4 * i + 1]!, rgba[4 * i + 2]!));
  }
  return { width, height, grey, scale };
}

/** 1 for each pixel of the small picture on the strip along the deck's sides. */
function rimOf(deck: readonly Pair[], { width, height, scale }: Grey): Uint8Array {
  const [cx, cy] = middleOf(deck);
  const [inner, outer] = RIM.map((by) =>
    fillPolygon(
      deck.map(([x, y]): Pair => [(cx + by * (x - cx)) / scale, (cy + by * (y - cy)) / scale]),
      width,
      height,
    ),
  );
  return outer!.map((isOn, i) => (isOn && !inner![i] ? 1 : 0));
}

/** 1 for each pixel of the small picture well away from the deck. */
function aroundOf(deck: readonly Pair[], { width, height, scale }: Grey): Uint8Array {
  const [cx, cy] = middleOf(deck);
  const wide = deck.map(([x, y]): Pair => [(cx + AROUND * (x - cx)) / scale, (cy + AROUND * (y - cy)) / scale]);
  return fillPolygon(wide, width, height).map((isDeck) => 1 - isDeck);
}

/**
 * The hand moves deck and surroundings alike; what is left between the two is the deck's own stroke.
 *
 * @param shifts  Pixel of each frame → pixel of the first, by the deck; null where that is not known.
 */
function stateOf(
  cv: OpenCv,
  small: readonly Grey[],
  first: number,
  shifts: readonly (readonly number[] | null)[],
  deck: readonly Pair[],
): DeckState {
  const points = pointsOf(cv, small[first]!, aroundOf(deck, small[first]!));
  if (!points) return "unknown";
  const [a, b, c, d] = deck as [Pair, Pair, Pair, Pair];
  // a deck is longer than wide; its length runs between the middles of its two short sides
  const between = (p: Pair, q: Pair, r: Pair, s: Pair): Pair => [
    (q[0] + r[0] - p[0] - s[0]) / 2,
    (q[1] + r[1] - p[1] - s[1]) / 2,
  ];
  const long = [between(a, b, c, d), between(b, c, d, a)].sort((p, q) => Math.hypot(...q) - Math.hypot(...p))[0]!;
  const lengthPx = Math.hypot(...long);
  const middle = middleOf(deck);
  const moves = [[0, 0] as Pair];
  for (const [i, shift] of shifts.entries()) {
    const around = shift && shiftBetween(cv, small[i]!, small[first]!, points);
    if (!around) continue;
    const [x, y] = project(around, project(invert(shift), middle));
    moves.push([x - middle[0], y - middle[1]]);
  }
  if (moves.length < FEWEST_SHAKEN) return "unknown";
  const span = (along: Pair) => {
    const all = moves.map(([x, y]) => (x * along[0] + y * along[1]) / lengthPx ** 2);
    return Math.max(...all) - Math.min(...all);
  };
  const [lengthways, across] = [span(long), span([-long[1], long[0]])];
  if (lengthways > RUNS && lengthways > LENGTHWAYS * across) return "running";
  return Math.max(lengthways, across) < STANDS ? "stopped" : "unknown";
}

const middleOf = (points: readonly Pair[]): Pair => [
  points.reduce((sum, p) => sum + p[0], 0) / points.length,
  points.reduce((sum, p) => sum + p[1], 0) / points.length,
];

/** Mean square of the steps between neighbours: shake and blur lower it. */
function detailOf({ width, height, grey }: Grey): number {
  let sum = 0;
  for (let i = width; i < width * height - width; i += 3) {
    sum += (grey[i + 1]! - grey[i - 1]!) ** 2 + (grey[i + width]! - grey[i - width]!) ** 2;
  }
  return sum;
}

/** Corners to follow, `x, y, x, y, …` in pixels of the small picture as OpenCV counts them; null where there are too few. */
function pointsOf(cv: OpenCv, { width, height, grey }: Grey, mask: Uint8Array | null): Float32Array | null {
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
function shiftBetween(cv: OpenCv, from: Grey, to: Grey, points: Float32Array): number[] | null {
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

/** The frame as the first one sees it; alpha 0 where it shows nothing. */
function laidBy(cv: OpenCv, { width, height, rgba }: Photo, shift: readonly number[]): Uint8ClampedArray {
  return withMats(cv, (own) => {
    const seen = own(new cv.Mat(height, width, cv.CV_8UC4));
    seen.data.set(rgba);
    const laid = own(new cv.Mat());
    const matrix = own(cv.matFromArray(3, 3, cv.CV_64F, [...shift]));
    cv.warpPerspective(
      seen,
      laid,
      matrix,
      new cv.Size(width, height),
      cv.INTER_LINEAR,
      cv.BORDER_CONSTANT,
      new cv.Scalar(),
    );
    return new Uint8ClampedArray(laid.data);
  });
}

function medianOf(frames: readonly (Uint8ClampedArray | Uint8Array)[]): Uint8ClampedArray {
  const out = new Uint8ClampedArray(frames[0]!.length);
  const sorted = new Uint8Array(frames.length);
  for (let i = 0; i < out.length; i += 4) {
    for (let k = 0; k < 3; k++) {
      let count = 0;
      for (const frame of frames) {
        if (frame[i + 3]! < 255) continue; // at its rim a frame is mixed with nothing
        const value = frame[i + k]!;
        let at = count++;
        while (at > 0 && sorted[at - 1]! > value) {
          sorted[at] = sorted[at - 1]!;
          at--;
        }
        sorted[at] = value;
      }
      const half = count >> 1;
      out[i + k] = count % 2 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2;
    }
    out[i + 3] = 255;
  }
  return out;
}
