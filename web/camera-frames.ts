import type { DeckFileInput, DeckState } from "../vision/contract/index.ts";
import {
  describeDeck,
  type Engines,
  findView,
  judgeFitness,
  mergeBurst,
  type Photo,
  ViewError,
  viewFromCorners,
} from "../vision/index.ts";
import type { Corner } from "./deck.ts";
import { engines } from "./engines.ts";
import { withNote } from "./photo-note.ts";

/** Frames of the camera: what is wrong with one before the shutter, and a burst made into one photo. Runs in the reader's worker. */

/** What one frame shows. */
export interface Sight {
  /** The deck's corners as shares of the frame's width and height; null where no deck is seen. */
  readonly corners: readonly Corner[] | null;
  /** Kinds of what a reading of it would complain of, as in its `quality.issues`; `no-deck` and `turn-unsure` too. */
  readonly issues: readonly string[];
}
/** A photo made of a burst. */
export interface Taken {
  readonly jpeg: Blob;
  /** Of how many frames it is the median. */
  readonly frames: number;
  readonly deckState: DeckState;
}

/** What cannot be told of a frame made smaller, or is no fault of the photographer. */
const NOT_TOLD = ["coarse", "place"];
const QUALITY = 0.92;
/** Deck on this share of the frame's rim is a deck cut off. */
const RIM_SHARE = 0.03;

/** @param frame  Closed when it has been looked at. */
export async function lookAtFrame(frame: ImageBitmap, deck: DeckFileInput | null): Promise<Sight> {
  const photo = pixelsOf(frame);
  const { cv, eyes } = await engines();
  try {
    const { view, issues } = findView(cv, photo, describeDeck(deck), null, eyes);
    const corners = view.cornersPx.map(({ x, y }): Corner => [x / photo.width, y / photo.height]);
    return { corners, issues: issues.map(({ kind }) => kind).filter((kind) => !NOT_TOLD.includes(kind)) };
  } catch (error) {
    if (!(error instanceof ViewError)) throw error;
    if (error.code !== "corners-missing") return { corners: null, issues: [error.code] };
    const isCut = eyes !== undefined && reachesRim(eyes.seeDeck(photo));
    return { corners: null, issues: [...lightOf(cv, photo), isCut ? "cut-off" : "no-deck"] };
  }
}

/** Whether deck shows on so much of the frame's rim that it runs out of it: such a deck is not found. */
function reachesRim({ size, deck }: ReturnType<NonNullable<Engines["eyes"]>["seeDeck"]>): boolean {
  const last = size - 1;
  const places = Array.from({ length: size }, (_, i) => [i, last * size + i, i * size, i * size + last]).flat();
  return places.filter((i) => deck[i]! > 0.5).length > RIM_SHARE * places.length;
}

/** What keeps a deck from being seen at all, by the measures of a reading, over the whole frame. */
function lightOf(cv: Engines["cv"], photo: Photo): string[] {
  const { width, height } = photo;
  const whole = describeDeck(null);
  const view = viewFromCorners(cv, photo, whole, {
    corners: [
      [0, 0],
      [width, 0],
      [width, height],
      [0, height],
    ],
  });
  const { issues } = judgeFitness(cv, photo, whole, view);
  return issues.map(({ kind }) => kind).filter((kind) => kind === "dark" || kind === "burnt");
}

/**
 * Frames of a burst → one JPEG that says what it is.
 *
 * @param frames  All of one size; closed when they have been used.
 * @param corners  Where the deck lies in them, as shares; null where that is not known.
 */
export async function mergeFrames(
  frames: readonly ImageBitmap[],
  corners: readonly Corner[] | null,
  takenAt: Date,
): Promise<Taken> {
  const photos = frames.map(pixelsOf);
  const [{ width, height }] = photos as [Photo];
  const deck = corners?.map(([x, y]): [number, number] => [x * width, y * height]);
  // one frame needs no engine, which may not be here
  const merged =
    photos.length > 1
      ? mergeBurst((await engines()).cv, photos, deck ?? null)
      : { photo: photos[0]!, frames: 1, deckState: "unknown" as const };
  const canvas = new OffscreenCanvas(width, height);
  canvas.getContext("2d")!.putImageData(new ImageData(Uint8ClampedArray.from(merged.photo.rgba), width, height), 0, 0);
  const plain = await canvas.convertToBlob({ type: "image/jpeg", quality: QUALITY });
  const says = merged.frames > 1 ? `Median of ${merged.frames} frames, laid on each other` : "One frame";
  const jpeg = withNote(new Uint8Array(await plain.arrayBuffer()), says, takenAt);
  return { jpeg: new Blob([jpeg], { type: "image/jpeg" }), frames: merged.frames, deckState: merged.deckState };
}

function pixelsOf(frame: ImageBitmap): Photo {
  const { width, height } = frame;
  const pen = new OffscreenCanvas(width, height).getContext("2d", { willReadFrequently: true })!;
  pen.drawImage(frame, 0, 0);
  frame.close();
  return { width, height, rgba: pen.getImageData(0, 0, width, height).data };
}
