import sharp from "sharp";
import type { DeckFault, DeckFileInput, Reference } from "../vision/contract/index.ts";
import {
  bandEdges,
  describeDeck,
  faultBasis,
  lookOfMarks,
  type Marked,
  makeScene,
  outletInPhoto,
  type Photo,
  pathLength,
  photoPlace,
  type Scene,
  sketchScene,
  stretchesOf,
} from "../vision/index.ts";
import { markedPng } from "./marked-png.ts";

/** Decks whose truth is known, as references with small pictures: made scenes, and photos with their masks. */

type Pair = readonly [number, number];

/** A reference with its pictures: the photo, JPEG, and its classes, PNG. */
export interface MadeReference {
  readonly reference: Reference;
  readonly photo: Uint8Array;
  readonly classes: Uint8Array;
}

/** A deck of which all is known. */
export interface KnownDeck extends Pick<Reference, "id" | "title" | "fault" | "material" | "note" | "seed"> {
  readonly deckFile: DeckFileInput;
  readonly marked: Marked;
  readonly photo: Photo;
  /** Deck mm → photo pixel. */
  readonly placeInPhoto: (at: Pair) => Pair;
}

/** The scene maker's faults by the names that people know them by. */
const FAULTS: Readonly<Record<Scene["work"]["fault"], DeckFault>> = {
  none: "none",
  dry: "dry",
  overloaded: "overloaded",
  starved: "starved",
  rills: "streaks",
  surging: "surging",
  heaps: "heaps",
  "no-middling": "noMiddling",
  "no-dense": "noDense",
  empty: "empty",
};
const PHOTO_PX = 760;
const MOST_BYTES = 40_000;
const MOST_COLUMNS = 320;
/** How far apart, in CIELAB, what a pupil must tell apart lies: dense from light, and middling from both. */
const BANDS_APART = 14;
const MIDDLING_APART = 7;
/** Most of a photo that may be burnt out: above this code in each channel. */
const MOST_BURNT = 0.03;
const BURNT = 250;

/** The first scene from this seed on that can be taught from. Some 2 s a scene; few that are begun are thrown away. */
export function freshDeck(seed: number): Promise<MadeReference> {
  for (let next = seed; ; next++) {
    if (!isPlain(sketchScene(next))) continue;
    const scene = makeScene(next);
    if (isWhole(scene)) return referenceOf(knownScene(next, scene));
  }
}

/** Runs, of materials with names, in colours that can be told apart. */
function isPlain({ work, looks: { dense, middling, light, names } }: Pick<Scene, "work" | "looks">): boolean {
  const apart = (a: readonly number[], b: readonly number[]) => Math.hypot(...a.map((v, k) => v - b[k]!));
  return (
    work.state === "running" &&
    names.dense !== "any" &&
    names.light !== "any" &&
    apart(dense, light) >= BANDS_APART &&
    Math.min(apart(dense, middling), apart(middling, light)) >= MIDDLING_APART
  );
}

/** All of the deck is in the picture, which is not burnt out. */
function isWhole({ corners, photo: { width, height, rgba } }: Scene): boolean {
  if (corners.some(([x, y]) => x < 0 || y < 0 || x > width || y > height)) return false;
  let burnt = 0;
  for (let i = 0; i < rgba.length; i += 4) if (Math.min(rgba[i]!, rgba[i + 1]!, rgba[i + 2]!) > BURNT) burnt++;
  return burnt <= MOST_BURNT * width * height;
}

/** A scene by what is known of it. @param seed  That the scene was made from. */
export function knownScene(seed: number, scene: Scene): KnownDeck {
  const { fault } = scene.work;
  const { dense, light } = scene.looks.names;
  const { columns, rows, cellMm, classes } = scene.truth;
  return {
    id: `scene-${seed}`,
    seed,
    title: `${dense[0]!.toUpperCase()}${dense.slice(1)} over ${light}`,
    fault: FAULTS[fault],
    material: { dense, middling: fault === "no-middling" ? null : `locked ${dense}`, light },
    note: "",
    deckFile: { ...scene.deckFile, name: `Deck of scene ${seed}` },
    marked: { grid: { columns, rows, mmPerCell: cellMm }, labels: classes },
    photo: scene.photo,
    placeInPhoto: (at) => photoPlace(scene.camera, at),
  };
}

export async function referenceOf(known: KnownDeck): Promise<MadeReference> {
  const { id, title, fault, material, note, seed, deckFile, marked, photo, placeInPhoto } = known;
  const { file, outline, outletPath } = describeDeck(deckFile);
  const path = outletPath.map(({ x, y }): Pair => [x, y]);
  const outletMm = Math.round(10 * pathLength(path)) / 10;
  const stretches = stretchesOf(marked.labels, marked.grid, path);
  const reference: Reference = {
    schemaVersion: 1,
    id,
    title,
    material,
    deck: {
      name: deckFile.name ?? "Deck",
      lengthMm: file.lengthMm,
      widthMm: file.widthMm,
      outline: outline.map(({ x, y }): [number, number] => [x, y]),
      outletMm,
    },
    outletInPhoto: outletInPhoto(path, placeInPhoto, photo),
    settings: null,
    running: true,
    fault,
    note,
    basis: faultBasis(fault),
    edges: bandEdges(stretches).map(({ kind, edge, atMm }) => ({ kind, edge, atMm: Math.round(10 * atMm) / 10 })),
    look: lookOfMarks(marked, stretches, outletMm, { dryPatches: 0, rills: 0 }),
    authors: "The deckbands project",
    licence: "CC0-1.0",
    ...(seed !== undefined && { seed }),
  };
  return { reference, photo: await smallJpeg(photo), classes: markedPng(coarser(marked)) };
}

async function smallJpeg({ width, height, rgba }: Photo): Promise<Uint8Array> {
  const small = sharp(rgba, { raw: { width, height, channels: 4 } })
    .removeAlpha()
    .resize(PHOTO_PX, PHOTO_PX, { fit: "inside", withoutEnlargement: true });
  for (let quality = 82; ; quality -= 6) {
    const jpeg = await small.clone().jpeg({ quality, mozjpeg: true }).toBuffer();
    if (jpeg.length <= MOST_BYTES || quality <= 20) return new Uint8Array(jpeg);
  }
}

/** Every n-th cell, so that a mask has few columns. */
function coarser({ grid, labels }: Marked): Marked {
  const step = Math.ceil(grid.columns / MOST_COLUMNS);
  const [columns, rows] = [Math.ceil(grid.columns / step), Math.ceil(grid.rows / step)];
  const at = (i: number) => {
    const column = Math.min(grid.columns - 1, (i % columns) * step + (step >> 1));
    const row = Math.min(grid.rows - 1, Math.floor(i / columns) * step + (step >> 1));
    return labels[row * grid.columns + column]!;
  };
  return {
    grid: { columns, rows, mmPerCell: grid.mmPerCell * step },
    labels: Uint8Array.from({ length: columns * rows }, (_, i) => at(i)),
  };
}
