/**
 * How the reading falls off with resolution, shadow, glare and blur: `npm run bench:fall [-- FOLDER] [--scenes N] [--only REGEXP]`, corners given.
 *
 * Each photo is read as it is; then smaller; with a hard shadow of a rail across the deck; with burnt-out glare laid on; out of focus; and smeared.
 * It is read also where it would be refused, so that what refusing spares is seen. Printed: mean IoU of classes 1 to 5 over all
 * photos, what the glare hides left out; and how far the outlet edges read from the photo as it is moved, those under the glare left
 * out (none of its kind within 200 mm: lost).
 */
import { parseArgs } from "node:util";
import { openEyes } from "../../server/eyes.ts";
import { stretches } from "../../vision/finding/fitness.ts";
import { alongPath, type Pair } from "../../vision/geometry.ts";
import { invert } from "../../vision/homography.ts";
import {
  type Deck,
  evenLight,
  gridOf,
  judgeFitness,
  loadOpenCv,
  type Photo,
  project,
  readOutlet,
  rectify,
  viewFromCorners,
} from "../../vision/index.ts";
import { withMats } from "../../vision/opencv.ts";
import { type Random, randomFrom } from "../../vision/scene/random.ts";
import { segment } from "../../vision/segment.ts";
import { type Case, casesOf, testScenes } from "./cases.ts";
import { outOfFocus, smeared, withGlare, withShadow } from "./laid-on.ts";
import {
  type Confusion,
  countCells,
  type EdgeMatch,
  edgesOf,
  matchEdges,
  meanIou,
  noConfusion,
  percentile,
} from "./scores.ts";

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: { scenes: { type: "string" }, only: { type: "string", default: "" } },
});
const only = new RegExp(values.only);
const { cv } = await loadOpenCv();
const eyes = await openEyes();

interface Change {
  readonly longestPx?: number;
  /** A shadow takes this share of the light. */
  readonly shadow?: number;
  /** Glare burns out about this share of the deck. */
  readonly glare?: number;
  /** Standard deviation of a Gaussian, mm on the deck's middle. */
  readonly focusMm?: number;
  /** Length of an even smear, mm on the deck's middle, and its turn from the riffles, degrees. */
  readonly smear?: readonly [number, number];
}
const CHANGES: Record<string, Change> = {
  "as it is": {},
  "1600 px": { longestPx: 1600 },
  "1200 px": { longestPx: 1200 },
  "900 px": { longestPx: 900 },
  "640 px": { longestPx: 640 },
  "shadow, a third of the light": { shadow: 0.33 },
  "shadow, two thirds of the light": { shadow: 0.67 },
  "glare on 5 %": { glare: 0.05 },
  "glare on 15 %": { glare: 0.15 },
  "glare on 30 %": { glare: 0.3 },
  "out of focus, 5 mm": { focusMm: 5 },
  "out of focus, 10 mm": { focusMm: 10 },
  "out of focus, 15 mm": { focusMm: 15 },
  "out of focus, 25 mm": { focusMm: 25 },
  "out of focus, 40 mm": { focusMm: 40 },
  "smeared 30 mm along": { smear: [30, 0] },
  "smeared 60 mm along": { smear: [60, 0] },
  "smeared 120 mm along": { smear: [120, 0] },
  "smeared 200 mm along": { smear: [200, 0] },
  "smeared 30 mm across": { smear: [30, 90] },
  "smeared 60 mm across": { smear: [60, 90] },
  "smeared 120 mm across": { smear: [120, 90] },
};
const rows = new Map<string, { counted: Confusion; moved: EdgeMatch[]; refused: number }>();

let number = 0;
for await (const one of values.scenes
  ? testScenes(Number(values.scenes))
  : casesOf(positionals[0] ?? "sample-images")) {
  number++;
  const before = read(one, one.photo, 1);
  for (const [name, change] of Object.entries(CHANGES)) {
    if (!only.test(name)) continue;
    const row = rows.get(name) ?? { counted: noConfusion(), moved: [], refused: 0 };
    rows.set(name, row);
    const { photo, scale, hidden } = changed(one, change, randomFrom(number));
    const after = read(one, photo, scale);
    if (!after.usable) row.refused++;
    countCells(
      row.counted,
      one.truth.map((k, i) => (hidden(cellAt(one.deck, i)) ? 0 : k)),
      after.labels,
    );
    const open = before.edges.filter(({ atMm }) => !hidden(alongOutlet(one.deck, atMm)));
    row.moved.push(...matchEdges(open, after.edges).matches);
  }
}
console.log(`${number} photos, corners given`);
for (const [name, { counted, moved, refused }] of rows) {
  const found = moved.filter(({ offMm }) => offMm !== null);
  console.log(
    `${name.padEnd(32)} mean IoU ${meanIou(counted).toFixed(3)}   edges moved: median ${percentile(found, 0.5).toFixed(0)}, 95th ${percentile(found, 0.95).toFixed(0)} mm, ${moved.length - found.length} of ${moved.length} lost   refused ${refused}`,
  );
}

/** Classes and outlet edges of a photo that is `scale` times as large as the case's own, and whether it is fit to be read. */
function read({ deck, corners }: Case, photo: Photo, scale: number) {
  const given = { corners: corners.corners.map(([x, y]): [number, number] => [x * scale, y * scale]) };
  const view = viewFromCorners(cv, photo, deck, given);
  const flat = rectify(cv, photo, deck, view);
  const classes = segment(cv, evenLight(cv, flat, photo), deck, view, {}, eyes.lookAt(flat));
  const { usable } = judgeFitness(cv, photo, deck, view);
  return { labels: classes.labels, edges: edgesOf(readOutlet(classes, deck, view).stretches), usable };
}

function changed(one: Case, change: Change, random: Random) {
  const { photo } = one;
  const none = () => false;
  if (change.longestPx) {
    const scale = change.longestPx / Math.max(photo.width, photo.height);
    return scale < 1 ? { photo: smaller(photo, scale), scale, hidden: none } : { photo, scale: 1, hidden: none };
  }
  if (change.shadow) return { photo: withShadow(cv, one, change.shadow, random), scale: 1, hidden: none };
  if (change.focusMm) return { photo: outOfFocus(cv, photo, change.focusMm * pxPerMm(one)[0]), scale: 1, hidden: none };
  if (change.smear) {
    const [long, degrees] = change.smear;
    const [px, turn] = pxPerMm(one, (degrees * Math.PI) / 180);
    return { photo: smeared(cv, photo, long * px, turn), scale: 1, hidden: none };
  }
  if (change.glare) return { ...withGlare(cv, one, change.glare, random), scale: 1 };
  return { photo, scale: 1, hidden: none };
}

/** Photo pixels for one mm in the middle of the deck: across all directions, or in the one given; and which way that runs in the photo. */
function pxPerMm({ photo, deck, corners }: Case, turn?: number): [number, number] {
  const toPhoto = invert(viewFromCorners(cv, photo, deck, corners).photoToDeck);
  const [x, y] = [deck.lengthMm / 2, deck.widthMm / 2];
  const middle = project(toPhoto, [x, y]);
  const step = (dx: number, dy: number): Pair => {
    const [px, py] = project(toPhoto, [x + dx, y + dy]);
    return [px - middle[0], py - middle[1]];
  };
  if (turn !== undefined) {
    const [dx, dy] = step(Math.cos(turn), Math.sin(turn));
    return [Math.hypot(dx, dy), Math.atan2(dy, dx)];
  }
  const [long, short] = stretches([step(1, 0), step(0, 1)]);
  return [Math.sqrt(long * short), 0];
}

function smaller({ width, height, rgba }: Photo, scale: number): Photo {
  return withMats(cv, (own) => {
    const from = own(new cv.Mat(height, width, cv.CV_8UC4));
    from.data.set(rgba);
    const to = own(new cv.Mat());
    cv.resize(from, to, new cv.Size(Math.round(width * scale), Math.round(height * scale)), 0, 0, cv.INTER_AREA);
    return { width: to.cols, height: to.rows, rgba: new Uint8ClampedArray(to.data) };
  });
}

function cellAt(deck: Deck, i: number): Pair {
  const { columns, mmPerCell } = gridOf(deck);
  return [((i % columns) + 0.5) * mmPerCell, (Math.floor(i / columns) + 0.5) * mmPerCell];
}

function alongOutlet({ outletPath }: Deck, mm: number): Pair {
  const path = outletPath.map(({ x, y }): Pair => [x, y]);
  return alongPath(path, mm).at;
}
