/**
 * How the reading falls off with resolution, shadow and glare: `npm run bench:fall [-- FOLDER] [--scenes N]`, corners given.
 *
 * Each photo is read as it is; then smaller; with a hard shadow of a rail across the deck; and with burnt-out glare laid on. Printed: mean
 * IoU of classes 1 to 5 over all photos, what the glare hides left out; and how far the outlet edges read from the photo as it is
 * moved, those under the glare left out (none of its kind within 200 mm: lost).
 */
import { parseArgs } from "node:util";
import { openEyes } from "../../server/eyes.ts";
import { alongPath, type Pair } from "../../vision/geometry.ts";
import { analyse, type Deck, gridOf, loadOpenCv, type Photo, readOutlet, viewFromCorners } from "../../vision/index.ts";
import { withMats } from "../../vision/opencv.ts";
import { type Random, randomFrom } from "../../vision/scene/random.ts";
import { type Case, casesOf, testScenes } from "./cases.ts";
import { withGlare, withShadow } from "./laid-on.ts";
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

const { positionals, values } = parseArgs({ allowPositionals: true, options: { scenes: { type: "string" } } });
const { cv } = await loadOpenCv();
const eyes = await openEyes();

interface Change {
  readonly longestPx?: number;
  /** A shadow takes this share of the light. */
  readonly shadow?: number;
  /** Glare burns out about this share of the deck. */
  readonly glare?: number;
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
};
const rows = new Map<string, { counted: Confusion; moved: EdgeMatch[]; refused: number }>();

let number = 0;
for await (const one of values.scenes
  ? testScenes(Number(values.scenes))
  : casesOf(positionals[0] ?? "sample-images")) {
  number++;
  const before = read(one, one.photo, 1);
  if (!before) continue;
  for (const [name, change] of Object.entries(CHANGES)) {
    const row = rows.get(name) ?? { counted: noConfusion(), moved: [], refused: 0 };
    rows.set(name, row);
    const { photo, scale, hidden } = changed(one, change, randomFrom(number));
    const after = read(one, photo, scale);
    if (!after) {
      row.refused++;
      continue;
    }
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

/** Classes and outlet edges of a photo that is `scale` times as large as the case's own; null: refused. */
function read({ name, deck, corners }: Case, photo: Photo, scale: number) {
  const given = { corners: corners.corners.map(([x, y]): [number, number] => [x * scale, y * scale]) };
  const source = { name, sha256: "0".repeat(64), takenAt: null };
  const { classes } = analyse({ cv, eyes }, photo, { deck, corners: given, notes: {}, source });
  if (!classes) return null;
  const { stretches } = readOutlet(classes, deck, viewFromCorners(cv, photo, deck, given));
  return { labels: classes.labels, edges: edgesOf(stretches) };
}

function changed(one: Case, change: Change, random: Random) {
  const { photo } = one;
  const none = () => false;
  if (change.longestPx) {
    const scale = change.longestPx / Math.max(photo.width, photo.height);
    return scale < 1 ? { photo: smaller(photo, scale), scale, hidden: none } : { photo, scale: 1, hidden: none };
  }
  if (change.shadow) return { photo: withShadow(cv, one, change.shadow, random), scale: 1, hidden: none };
  if (change.glare) return { ...withGlare(cv, one, change.glare, random), scale: 1 };
  return { photo, scale: 1, hidden: none };
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
