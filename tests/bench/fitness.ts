/**
 * Are unusable photos refused, and usable ones read? `npm run bench:fitness [-- --scenes 300] [-- FOLDER …]`.
 *
 * Usable: scenes of even seeds, near, whole and well lit. Unusable: the same, spoilt in one way each, so badly
 * that bands of 50 mm are gone: out of focus (15 to 40 mm), smeared any way (60 to 200 mm), dark, burnt out, cut off, or the part of
 * the picture beside the deck. Each is asked for with its corners, and alone. Folders: photographs that show no deck, asked for alone.
 */
import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { decode } from "../../server/decode.ts";
import { openEyes } from "../../server/eyes.ts";
import type { CornersFile } from "../../vision/contract/index.ts";
import { judgeFitness, LIMITS } from "../../vision/finding/fitness.ts";
import {
  type Deck,
  describeDeck,
  findView,
  loadOpenCv,
  type Photo,
  VisionError,
  viewFromCorners,
} from "../../vision/index.ts";
import { makeScene } from "../../vision/scene/index.ts";
import { drawPlan } from "../../vision/scene/plan.ts";
import { between, type Random, randomFrom } from "../../vision/scene/random.ts";
import { outOfFocus, smeared } from "./laid-on.ts";

/** Even: training uses odd seeds. */
const FIRST_SEED = 6_000_000;
const LONGEST_MM = 2200;
/** Half of what is refused: bands of 50 mm still show. */
const MOST_MM_PER_PX = 3.5;
const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { scenes: { type: "string", default: "300" } },
});
const { cv } = await loadOpenCv();
const eyes = await openEyes();

interface Shot {
  readonly photo: Photo;
  readonly deck: Deck;
  readonly corners: CornersFile | null;
}
type Spoil = (random: Random, shot: Shot, mmPerPx: number) => Shot | null;

const SPOILT: Record<string, Spoil> = {
  "out of focus": (random, shot, mmPerPx) => ({
    ...shot,
    photo: outOfFocus(cv, shot.photo, between(random, 15, 40) / mmPerPx),
  }),
  smeared: (random, shot, mmPerPx) => ({
    ...shot,
    photo: smeared(cv, shot.photo, between(random, 60, 200) / mmPerPx, between(random, 0, Math.PI)),
  }),
  dark: (random, shot) => {
    const times = between(random, 30, 80);
    return toned(shot, (v) => (v / times) * (1 + 0.6 * random()) + 2 * random());
  },
  "burnt out": (random, shot) => {
    const times = between(random, 4, 8);
    return toned(shot, (v) => 90 + v * times);
  },
  "cut off": (random, shot) => cutOff(shot, between(random, 0.2, 0.5), random() < 0.5),
  "no deck": (_, shot) => besideDeck(shot),
};

const counts = new Map<string, { given: number; alone: number; all: number; read: string[] }>();
const refused = (shot: Shot): boolean => {
  try {
    return !findView(cv, shot.photo, shot.deck, shot.corners, eyes).usable;
  } catch (error) {
    if (error instanceof VisionError) return true;
    throw error;
  }
};
function ask(kind: string, name: string, shot: Shot) {
  const row = counts.get(kind) ?? { given: 0, alone: 0, all: 0, read: [] };
  counts.set(kind, row);
  const [given, alone] = [shot.corners ? refused(shot) : true, refused({ ...shot, corners: null })];
  row.all++;
  row.given += Number(given);
  row.alone += Number(alone);
  if (kind === "usable" ? given : !given || !alone) row.read.push(name);
}

let usable = 0;
for (let seed = FIRST_SEED; usable < Number(values.scenes); seed += 2) {
  // a longer deck would be too coarse in pictures of this size
  if (drawPlan(randomFrom(seed)).lengthMm > LONGEST_MM) continue;
  const scene = makeScene(seed, 1.6);
  const deck = describeDeck(scene.deckFile);
  const corners = { corners: scene.fileCorners.map(([x, y]): [number, number] => [x, y]) };
  const shot = { photo: scene.photo, deck, corners };
  const { measures: m } = judgeFitness(cv, shot.photo, deck, viewFromCorners(cv, shot.photo, deck, corners));
  // near, whole and well lit, by the true corners and the pixels; its blur is what is judged
  if (
    m.mmPerPx > MOST_MM_PER_PX ||
    m.deckShare < LIMITS.deckShare.poor ||
    m.inPicture < 0.985 ||
    m.burntShare > 0.08 ||
    m.medianGrey < 45
  )
    continue;
  const kinds = Object.keys(SPOILT);
  ask("usable", `${seed} ${scene.work.fault}`, shot);
  const kind = kinds[usable % kinds.length]!;
  const bad = SPOILT[kind]!(randomFrom(seed), shot, m.mmPerPx);
  if (bad) ask(kind, String(seed), bad);
  usable++;
}
for (const folder of positionals) {
  for (const file of (await readdir(folder)).filter((f) => /\.(jpe?g|png|webp)$/i.test(f)).sort()) {
    const { photo } = await decode(await readFile(join(folder, file)));
    ask("photographs of no deck", join(folder, file), { photo, deck: describeDeck(null), corners: null });
  }
}
for (const [kind, { given, alone, all, read }] of counts) {
  console.log(
    `${kind.padEnd(24)} ${all} photos, refused with corners ${given}, alone ${alone}; ${kind === "usable" ? "refused" : "read"}: ${read.join(", ") || "none"}`,
  );
}

/** Colours of every pixel; the transparency stays. */
function toned(shot: Shot, tone: (value: number) => number): Shot {
  const rgba = shot.photo.rgba.map((value, i) => (i % 4 === 3 ? value : tone(value)));
  return { ...shot, photo: { ...shot.photo, rgba } };
}

/** Only so much of the deck left in the picture, at one end of the photo. */
function cutOff(shot: Shot, left: number, first: boolean): Shot {
  const xs = shot.corners!.corners.map(([x]) => x);
  const [low, high] = [Math.min(...xs), Math.max(...xs)];
  const [from, to] = first ? [0, low + left * (high - low)] : [high - left * (high - low), shot.photo.width];
  const [x, width] = [Math.max(0, Math.round(from)), Math.round(to) - Math.max(0, Math.round(from))];
  const corners = shot.corners!.corners.map(([cx, cy]): [number, number] => [cx - x, cy]);
  return { ...shot, photo: cropped(shot.photo, x, 0, width, shot.photo.height), corners: { corners } };
}

/** The broadest strip beside the deck; null where none is broad enough to be a picture. */
function besideDeck({ photo, deck, corners }: Shot): Shot | null {
  const [xs, ys] = [corners!.corners.map(([x]) => x), corners!.corners.map(([, y]) => y)];
  const { width, height } = photo;
  const strips = [
    [0, 0, Math.min(...xs), height],
    [Math.max(...xs), 0, width - Math.max(...xs), height],
    [0, 0, width, Math.min(...ys)],
    [0, Math.max(...ys), width, height - Math.max(...ys)],
  ] as const;
  const [x, y, w, h] = strips.toSorted((a, b) => b[2] * b[3] - a[2] * a[3])[0]!.map(Math.floor) as [
    number,
    number,
    number,
    number,
  ];
  if (Math.min(w, h) < 160) return null;
  return { photo: cropped(photo, x, y, w, h), deck, corners: null };
}

function cropped(photo: Photo, x: number, y: number, width: number, height: number): Photo {
  const rgba = new Uint8ClampedArray(width * height * 4);
  for (let row = 0; row < height; row++) {
    const at = 4 * ((y + row) * photo.width + x);
    rgba.set(photo.rgba.subarray(at, at + 4 * width), 4 * row * width);
  }
  return { width, height, rgba };
}
