import type { DeckFileInput, Tap } from "../vision/contract/index.ts";
import {
  describeDeck,
  evenLight,
  type FirstLook,
  type Photo,
  rectify,
  segment,
  type View,
  viewFromCorners,
} from "../vision/index.ts";
import { type Corner, signedArea } from "./deck.ts";
import { engines } from "./engines.ts";

/**
 * What a tap or a moved corner changes, at once: classes on a coarse grid, without numbers. Runs in the reader's worker, and
 * keeps there what does not depend on taps.
 */

export interface QuickTask {
  readonly deck: DeckFileInput | null;
  readonly corners: readonly Corner[];
  readonly taps: readonly Tap[];
  /** Of the full-size photo, in whose pixels corners and taps are. */
  readonly widthPx: number;
  readonly heightPx: number;
}
/** Classes as a transparent picture to lay on the photo: colour and hatch, RGBA. */
export interface QuickLook {
  readonly width: number;
  readonly height: number;
  readonly rgba: Uint8ClampedArray<ArrayBuffer>;
}

/** Longest side of the deck as it is looked at, mm: written so small, it has a seventh of the cells. */
const LOOKED_AT_MM = 700;
const LEAST_WIDTH_MM = 101;
/** Longest side of what is drawn, px. */
const DRAWN_PX = 720;
/** Stands in for a deck that nobody described; as in `vision/deck.ts`, only its shape counts. */
const UNKNOWN: DeckFileInput = { schemaVersion: 1, lengthMm: 2000, widthMm: 1000 };

/** Corners moved by less than this, as a share of the photo's longest side, leave what the network saw where it was: it takes the most time. */
const SAME_LOOK_SHARE = 0.03;
/** Longest side of the photo as it is looked at, px: finer than the coarse grid all the same. */
const LOOKED_AT_PX = 1200;

let small: { readonly id: string; readonly photo: Photo } | null = null;
let last: { readonly key: string; readonly seen: ReturnType<typeof beforeTaps> } | null = null;

/** What the network saw, and where the corners stood then. */
let first: { of: string; corners: readonly Corner[]; look: FirstLook | undefined } | null = null;

/** @param id  The photo's. @throws {VisionError} when the corners cannot be this deck's. */
export async function quickLook(full: Photo, id: string, task: QuickTask): Promise<QuickLook> {
  const { cv, eyes } = await engines();
  if (small?.id !== id) small = { id, photo: shrunk(full) };
  const { photo } = small;
  const across = photo.width / task.widthPx;
  const down = photo.height / task.heightPx;
  const inPixels = ([x, y]: Corner): [number, number] => [x * across, y * down];
  const key = JSON.stringify([id, task.deck, task.corners]);
  if (last?.key !== key) {
    const corners = task.corners.map(inPixels);
    const known =
      first?.of === JSON.stringify([id, task.deck]) && isNear(corners, first.corners, photo) ? first.look : null;
    last = { key, seen: beforeTaps(cv, photo, task, corners, (flat) => known ?? eyes?.lookAt(flat)) };
    if (!known) first = { of: JSON.stringify([id, task.deck]), corners, look: last.seen.first };
  }
  const { deck, view, even } = last.seen;
  const taps = task.taps.map((tap) => ({ ...tap, at: inPixels(tap.at) }));
  const { grid, labels } = segment(cv, even, deck, view, { taps }, last.seen.first);
  return draw(photo, view, grid, labels);
}

const isNear = (a: readonly Corner[], b: readonly Corner[], { width, height }: Photo) =>
  a.length === b.length &&
  a.every(([x, y], i) => Math.hypot(x - b[i]![0], y - b[i]![1]) < SAME_LOOK_SHARE * Math.max(width, height));

function shrunk(photo: Photo): Photo {
  const scale = LOOKED_AT_PX / Math.max(photo.width, photo.height);
  if (scale >= 1) return photo;
  const whole = new OffscreenCanvas(photo.width, photo.height);
  whole
    .getContext("2d")!
    .putImageData(new ImageData(Uint8ClampedArray.from(photo.rgba), photo.width, photo.height), 0, 0);
  const [width, height] = [Math.round(photo.width * scale), Math.round(photo.height * scale)];
  const pen = new OffscreenCanvas(width, height).getContext("2d", { willReadFrequently: true })!;
  pen.imageSmoothingQuality = "high";
  pen.drawImage(whole, 0, 0, width, height);
  return { width, height, rgba: pen.getImageData(0, 0, width, height).data };
}

function beforeTaps(
  cv: Awaited<ReturnType<typeof engines>>["cv"],
  photo: Photo,
  { deck: file }: QuickTask,
  corners: [number, number][],
  lookAt: (flat: ReturnType<typeof rectify>) => FirstLook | undefined,
) {
  const hand = signedArea(corners) < 0 ? ("left" as const) : ("right" as const);
  const deck = describeDeck(smaller(file ?? { ...UNKNOWN, hand }));
  const view = viewFromCorners(cv, photo, deck, { corners });
  const flat = rectify(cv, photo, deck, view);
  return { deck, view, first: lookAt(flat), even: evenLight(cv, flat, photo) };
}

/** The same deck, written smaller. */
function smaller(file: DeckFileInput): DeckFileInput {
  const by = Math.max(1, Math.min(Math.max(file.lengthMm, file.widthMm) / LOOKED_AT_MM, file.widthMm / LEAST_WIDTH_MM));
  const all = (points: [number, number][] | undefined) => points?.map(([x, y]): [number, number] => [x / by, y / by]);
  const { outline, outletPath, feedBox, hand } = file;
  return {
    schemaVersion: 1,
    hand,
    lengthMm: file.lengthMm / by,
    widthMm: file.widthMm / by,
    ...(outline && { outline: all(outline) }),
    ...(outletPath && { outletPath: all(outletPath) }),
    ...(feedBox && { feedBox: all(feedBox) }),
  };
}

/** Colours and the run of hatches as on the overlay: by class number, and for each pixel whether a hatch line is there. */
const LOOKS: Readonly<
  Record<number, { colour: readonly [number, number, number]; line: (x: number, y: number) => boolean }>
> = {
  0: { colour: [74, 79, 85], line: (x, y) => x % 8 < 2 && y % 8 < 2 },
  2: { colour: [58, 31, 214], line: (x, y) => (x + y) % 8 < 2 },
  3: { colour: [255, 149, 0], line: (x, y) => (x - y + 7200) % 12 < 2 },
  4: { colour: [189, 246, 255], line: (x) => x % 14 < 2 },
  5: { colour: [230, 0, 122], line: (x, y) => (x + y) % 6 < 3 },
};
const [FILL, LINE] = [80, 215]; // opacity, 0 to 255

function draw(
  photo: Photo,
  view: View,
  grid: { columns: number; rows: number; mmPerCell: number },
  labels: Uint8Array,
): QuickLook {
  const scale = Math.min(1, DRAWN_PX / Math.max(photo.width, photo.height));
  const [width, height] = [Math.round(photo.width * scale), Math.round(photo.height * scale)];
  const rgba = new Uint8ClampedArray(4 * width * height);
  const h = view.photoToDeck;
  for (let y = 0, i = 0; y < height; y++) {
    const v = (y + 0.5) / scale;
    for (let x = 0; x < width; x++, i += 4) {
      // `project`, without a pair for each of so many pixels
      const u = (x + 0.5) / scale;
      const w = (h[6]! * u + h[7]! * v + h[8]!) * grid.mmPerCell;
      const column = Math.floor((h[0]! * u + h[1]! * v + h[2]!) / w);
      const row = Math.floor((h[3]! * u + h[4]! * v + h[5]!) / w);
      if (column < 0 || row < 0 || column >= grid.columns || row >= grid.rows) continue;
      const look = LOOKS[labels[row * grid.columns + column]!];
      if (!look) continue; // bare deck stays as it is
      rgba.set(look.colour, i);
      rgba[i + 3] = look.line(x, y) ? LINE : FILL;
    }
  }
  return { width, height, rgba };
}
