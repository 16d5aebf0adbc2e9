/** The door of the scene maker: seeded pictures of running decks with exact truth, for training, tests and lessons. */
import type { DeckFileInput } from "../contract/index.ts";
import type { Pair } from "../geometry.ts";
import { straighten } from "../lens-bulge.ts";
import type { Photo } from "../stages.ts";
import { type Camera, drawCamera, photoPlace } from "./camera.ts";
import { drawLooks, type Looks } from "./looks.ts";
import { photograph } from "./photograph.ts";
import { type Bed, drawPlan, layBed } from "./plan.ts";
import { chance, pick, type Random, randomFrom } from "./random.ts";
import { classesOf, spreadSolids, type Work } from "./solids.ts";
import { paintSurface } from "./surface.ts";

/** Columns of the bed; its cells are square. */
const BED_COLUMNS = 640;

export interface Scene {
  readonly photo: Photo;
  readonly deckFile: DeckFileInput;
  /** Where the outline's four corners show, photo pixels, in its order. */
  readonly corners: readonly Pair[];
  /** Where the corners of the deck file's outline show: the same unless a corner is cut off. */
  readonly fileCorners: readonly Pair[];
  /** Where the deck's sides meet or would meet, mm, four corners from the high drive-end one. */
  readonly outline: readonly Pair[];
  readonly camera: Camera;
  readonly work: Work;
  readonly looks: Looks;
  /** 1 for each photo pixel where something stands before the deck. */
  readonly hidden: Uint8Array;
  /** Classes by the contract's definition over the bounding box, `rows × columns` square cells. */
  readonly truth: {
    readonly columns: number;
    readonly rows: number;
    readonly cellMm: number;
    readonly classes: Uint8Array;
  };
}

const FAULTS: readonly Work["fault"][] = [
  "none",
  "none",
  "none",
  "none",
  "none",
  "none",
  "starved",
  "overloaded",
  "rills",
  "dry",
  "dry",
  "dry",
  "surging",
  "heaps",
  "no-middling",
  "no-dense",
];

/** What is on a scene's deck and how it goes, known before anything is painted. */
export function sketchScene(seed: number): Pick<Scene, "work" | "looks"> {
  const { work, looks } = begin(randomFrom(seed));
  return { work, looks };
}

function begin(random: Random) {
  const plan = drawPlan(random);
  const work: Work = {
    state: chance(random, 0.12) ? "stopped" : "running",
    fault: chance(random, 0.02) ? "empty" : pick(random, FAULTS),
  };
  return { plan, work, looks: drawLooks(random) };
}

/** One scene; the same seed and detail make the same scene. @param detail  how many times finer bed and photo are. */
export function makeScene(seed: number, detail = 1): Scene {
  const random = randomFrom(seed);
  const { plan, work, looks } = begin(random);
  const bed: Bed = layBed(random, plan, Math.round(BED_COLUMNS * detail));
  const solids = spreadSolids(random, plan, bed, work);
  const surface = paintSurface(random, plan, bed, solids, looks, work);
  const camera = drawCamera(random, plan, detail);
  const { photo, hidden } = photograph(random, plan, bed, surface, looks, camera);
  const { columns, rows, cellMm } = bed;
  return {
    photo,
    hidden,
    camera,
    work,
    looks,
    deckFile: plan.file,
    outline: plan.outline,
    corners: plan.outline.map((corner) => photoPlace(camera, corner)),
    fileCorners: plan.edge.map((corner) => photoPlace(camera, corner)),
    truth: { columns, rows, cellMm, classes: classesOf(bed, solids) },
  };
}

/** True class at a photo pixel: 0 where something hides the deck or the pixel shows none of it. */
export function classInPhoto({ camera, hidden, truth }: Scene, [px, py]: Pair): number {
  const { width, height, photoToDeck: h } = camera;
  if (px < 0 || py < 0 || px >= width || py >= height) return 0;
  if (hidden[Math.floor(py) * width + Math.floor(px)]) return 0;
  const [sx, sy] = straighten(camera, camera.lens, [px, py]);
  const w = h[6]! * sx + h[7]! * sy + h[8]!;
  const column = Math.floor((h[0]! * sx + h[1]! * sy + h[2]!) / w / truth.cellMm);
  const row = Math.floor((h[3]! * sx + h[4]! * sy + h[5]!) / w / truth.cellMm);
  if (column < 0 || row < 0 || column >= truth.columns || row >= truth.rows) return 0;
  return truth.classes[row * truth.columns + column]!;
}
