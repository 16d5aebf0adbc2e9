import type { DeckState } from "./contract/index.ts";
import { stateByFrames } from "./deck-state.ts";
import { type Grey, greyOf, insideOf, pointsOf, shiftBetween } from "./frame-shift.ts";
import type { Pair } from "./geometry.ts";
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

/** The strip along the deck's sides, as shares of its size about its middle: rims and riffles' ends stand still on it, ripples don't. */
const RIM = [0.9, 1.02] as const;
/** The frame that the others are laid on: this far up among them in detail, for the most detailed may be the odd one out. */
const FIRST_RANK = 0.75;
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
 * Method: frames laid by what is followed from one to the other (frame-shift.ts), median a channel. A pixel that some frames do not show is the median of those that do.
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
  const deckState = deck ? stateByFrames(cv, small, first, shifts, deck) : "unknown";
  return { photo: { width, height, rgba: medianOf(laid) }, frames: laid.length, onto: first, deckState };
}

function missing(): never {
  throw new RangeError("a burst without frames");
}

/** 1 for each pixel of the small picture on the strip along the deck's sides. */
function rimOf(deck: readonly Pair[], small: Grey): Uint8Array {
  const [inner, outer] = RIM.map((by) => insideOf(deck, by, small));
  return outer!.map((isOn, i) => (isOn && !inner![i] ? 1 : 0));
}

/** Mean square of the steps between neighbours: shake and blur lower it. */
function detailOf({ width, height, grey }: Grey): number {
  let sum = 0;
  for (let i = width; i < width * height - width; i += 3) {
    sum += (grey[i + 1]! - grey[i - 1]!) ** 2 + (grey[i + width]! - grey[i - width]!) ** 2;
  }
  return sum;
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
