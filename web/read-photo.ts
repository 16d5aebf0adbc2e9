import { sha256 } from "@noble/hashes/sha2.js";
import { bytesToHex, utf8ToBytes } from "@noble/hashes/utils.js";
import { encode } from "fast-png";
import * as z from "zod";
import type { DeckFileInput, NewReadingInput, Reading } from "../vision/contract/index.ts";
import {
  type Change,
  describeDeck,
  didItHelp,
  findView,
  type Helped,
  lookAtDeck,
  type OverlayWords,
  overlaySvg,
  type Photo,
  readSight,
  rectify,
  type Sight,
  type Source,
  type StageName,
  snapCorners,
} from "../vision/index.ts";
import type { Corner } from "./deck.ts";
import { engines } from "./engines.ts";

export { lookAtFrame, mergeFrames } from "./camera-frames.ts";
export { engines } from "./engines.ts";
export { drawFlat, drawFlatSheet, tryPlaces } from "./flat-deck.ts";
export { quickLook } from "./quick-look.ts";

/** Photo pixels → reading, by the same code as on the server. Runs in the reader's worker. */

// as in api.ts, for this worker
z.config({ jitless: true });

/** A photo to be read: where it comes from, its full size, and what was asked of it, in full-size pixels. */
export interface Task {
  readonly source: Source;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly request: NewReadingInput;
  /** Longest side of the picture that the drawing is laid on, pixels. */
  readonly previewPx: number;
  /** What is written on that drawing. */
  readonly words: OverlayWords;
}
export interface ReadHere {
  /** Digest of the photo, of what was asked, and of what read it: the same again gets the same. */
  readonly id: string;
  readonly reading: Reading;
  /** What is laid on the photo: SVG; null for an unusable photo. */
  readonly drawing: string | null;
  /** Class of each cell as an 8-bit grey PNG, row 0 at y = 0; null for an unusable photo. */
  readonly classesPng: Uint8Array<ArrayBuffer> | null;
}

/** @throws {VisionError} as `analyse` and `describeDeck`. */
export async function readPhoto(photo: Photo, task: Task, onStage: (stage: StageName) => void): Promise<ReadHere> {
  const { source, widthPx, heightPx, request, previewPx, words } = task;
  const across = photo.width / widthPx;
  const down = photo.height / heightPx;
  const taps = request.taps?.taps.map((tap) => ({ ...tap, at: inPixels(photo, task, tap.at) }));
  const { settings, aim, earlier, deckState } = request;
  const { sight, profile } = await seen(photo, task, onStage);
  const notes = { taps, settings, aim, profile, earlier, deckState };
  const analysis = readSight(await engines(), photo, sight, { notes, source }, onStage);
  const { deck, classes } = analysis;
  const reading = atFullSize(analysis.reading, widthPx, heightPx, across, down);
  const id = bytesToHex(sha256(utf8ToBytes(JSON.stringify([source, request, reading.madeBy]))));
  if (!classes) return { id, reading, drawing: null, classesPng: null };
  const scale = Math.min(1, previewPx / Math.max(widthPx, heightPx));
  const size = { widthPx: Math.round(widthPx * scale), heightPx: Math.round(heightPx * scale) };
  const { columns: width, rows: height } = classes.grid;
  const png = encode({ width, height, data: classes.labels, channels: 1, depth: 8 });
  return {
    id,
    reading,
    drawing: overlaySvg({ reading, deck, classes }, size, words),
    classesPng: png as Uint8Array<ArrayBuffer>,
  };
}

let last: { readonly key: string; readonly sight: Sight; readonly profile: NewReadingInput["profile"] } | null = null;
/**
 * What the photo shows whatever is tapped on it: looked at once, for as long as photo, deck, corners and material are the same.
 * Asked for before a reading is, it is there when that comes.
 *
 * @throws {VisionError} as `lookAtDeck` and `describeDeck`.
 */
export async function seen(photo: Photo, task: Task, onStage: (stage: StageName) => void = () => {}) {
  const { source, request } = task;
  const { deck, corners, taps, profile } = request;
  const key = JSON.stringify([source.sha256, deck, corners, taps?.firstCorner, profile]);
  if (last?.key === key) return last;
  const place = (at: readonly [number, number]) => inPixels(photo, task, at);
  const asked = {
    deck: describeDeck(deck ?? null),
    corners: corners ? { ...corners, corners: corners.corners.map(place) } : null,
    firstCorner: taps?.firstCorner && place(taps.firstCorner),
  };
  const sight = lookAtDeck(await engines(), photo, asked, onStage);
  last = { key, sight, profile };
  return last;
}

/** A place of the full-size photo, in pixels of the one that is read. */
const inPixels = (
  { width, height }: Photo,
  { widthPx, heightPx }: Pick<Task, "widthPx" | "heightPx">,
  [x, y]: readonly [number, number],
): [number, number] => [(x * width) / widthPx, (y * height) / heightPx];

/** A corner to be drawn to the photo's edges, with all corners as they stand; in full-size pixels. */
export interface EdgeTask {
  readonly deck: DeckFileInput | null;
  readonly corners: readonly Corner[];
  readonly index: number;
  /** How far off the hand may have put it. */
  readonly handPx: number;
  readonly widthPx: number;
  readonly heightPx: number;
}

/** Where the edges along this corner's two sides cross, full-size pixels; null where it has no such edges near. */
export function drawToEdge(photo: Photo, { deck, corners, index, handPx, widthPx, heightPx }: EdgeTask): Corner | null {
  const [across, down] = [photo.width / widthPx, photo.height / heightPx];
  const put = corners.map(([x, y]): [number, number] => [x * across, y * down]);
  const snapped = snapCorners(photo, describeDeck(deck), { corners: put, errorPx: handPx * across });
  const [x, y] = snapped.corners[index]!;
  const tenth = (px: number) => Math.round(px * 10) / 10;
  return snapped.moved[index] ? [tenth(x / across), tenth(y / down)] : null;
}

/** One look at a deck: what was read in its photo, and what was asked. */
export interface Look {
  readonly reading: Reading;
  readonly request: NewReadingInput;
}

/** The deck of an earlier reading laid flat again: PNG, drive end at the left, wash-water side up. @throws {VisionError} */
export async function flatten(photo: Photo, { reading, request }: Look): Promise<Blob> {
  const { cv } = await engines();
  const { widthPx, heightPx } = reading.photo;
  const [across, down] = [photo.width / (widthPx ?? photo.width), photo.height / (heightPx ?? photo.height)];
  const corners = reading.view!.cornersPx.map(([x, y]): [number, number] => [x * across, y * down]);
  const { deck, view } = findView(cv, photo, describeDeck(request.deck ?? null), { corners });
  const { grid, rgba } = rectify(cv, photo, deck, view);
  const canvas = new OffscreenCanvas(grid.columns, grid.rows);
  canvas.getContext("2d")!.putImageData(new ImageData(Uint8ClampedArray.from(rgba), grid.columns, grid.rows), 0, 0);
  return canvas.convertToBlob({ type: "image/png" });
}

/** How far the bands moved from one look to the other, and whether a change did what it should. */
export function judgeLooks(before: Look, after: Look, change: Change): Helped {
  const looked = ({ reading, request }: Look) => {
    const { settings, aim, profile } = request;
    return { reading, deck: describeDeck(request.deck ?? null), notes: { settings, aim, profile } };
  };
  return didItHelp(looked(before), looked(after), change);
}

/** A reading of a photo that was made smaller to be looked at, in pixels of the full-size one. */
function atFullSize(reading: Reading, widthPx: number, heightPx: number, across: number, down: number): Reading {
  const { view } = reading;
  const photo = { ...reading.photo, widthPx, heightPx };
  if (!view || (across === 1 && down === 1)) return { ...reading, photo };
  const scales = [across, down, 1];
  const round = (px: number) => Math.round(px * 10) / 10;
  return {
    ...reading,
    photo,
    view: {
      ...view,
      photoToDeck: view.photoToDeck.map((h, i) => h * scales[i % 3]!),
      cornersPx: view.cornersPx.map(([x, y]): [number, number] => [round(x / across), round(y / down)]),
    },
  };
}
