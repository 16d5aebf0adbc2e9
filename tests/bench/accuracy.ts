/**
 * How near the reading is to the truth: `npm run bench:accuracy [-- FOLDER] [--scenes N] [--found] [--draw DIR]`.
 * `--colours` leaves the networks out. `--scenes N` reads N scenes of vision/scene/ that training never sees (even seeds) instead of a folder.
 * `--found` gives no corners: the deck is found alone (its deck file is given). Reads each photo that has NAME.truth.png
 * beside it; prints IoU for each class, pooled IoU, how far each edge between classes along the outlet lies from the truth,
 * how many lie within one and two stated standard errors, dry patches found, and beside it k-means in CIELAB with the best
 * assignment of its clusters to the true classes, corners given. Truth-unseen cells are left out. `--draw` writes photo, truth and reading side by side.
 */
import { mkdir, readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { parseArgs } from "node:util";
import sharp from "sharp";
import { decode } from "../../server/decode.ts";
import { openEyes } from "../../server/eyes.ts";
import type { CornersFile } from "../../vision/contract/index.ts";
import {
  type Analysis,
  analyse,
  type Deck,
  describeDeck,
  evenLight,
  findView,
  type Grid,
  gridOf,
  loadOpenCv,
  type Photo,
  readOutlet,
  rectify,
  VisionError,
  viewFromCorners,
} from "../../vision/index.ts";
import { type Blob, connectedBlobs, kMeans } from "../../vision/opencv.ts";
import { photoPlace } from "../../vision/scene/camera.ts";
import { classInPhoto, makeScene } from "../../vision/scene/index.ts";
import {
  countCells,
  type Edge,
  type EdgeMatch,
  edgesOf,
  iou,
  matchEdges,
  noConfusion,
  percentile,
  REACH_MM,
  trueStretches,
} from "./scores.ts";

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: {
    colours: { type: "boolean" },
    found: { type: "boolean" },
    draw: { type: "string" },
    scenes: { type: "string" },
  },
});
const folder = positionals[0] ?? "sample-images";
/** Even: training uses odd seeds. */
const FIRST_TEST_SEED = 2_000_000;
/** Photos of 1400 to 2100 px: smaller ones are refused as too coarse. */
const SCENE_DETAIL = 2.2;
const CLUSTERS = 8;
const { cv } = await loadOpenCv();
const eyes = await openEyes();
const names = ["bare", "dense", "middling", "light", "dry"];
const pooled = noConfusion();
const matched: EdgeMatch[] = [];
const extras: Edge[] = [];
const baseline = noConfusion();
const stated: { off: number; error: number }[] = [];
const patches = { true: 0, found: 0, read: 0, right: 0 };
let [photos, unread] = [0, 0];
const palette = [
  [0, 0, 0],
  [90, 90, 90],
  [220, 40, 40],
  [240, 180, 0],
  [240, 240, 220],
  [60, 140, 255],
];

const json = async (path: string) => JSON.parse(await readFile(path, "utf8"));
const far = (mm: number) => (mm === Number.POSITIVE_INFINITY ? `>${REACH_MM}` : mm.toFixed(0));

interface Case {
  readonly name: string;
  readonly deck: Deck;
  readonly corners: CornersFile;
  readonly photo: Photo;
  /** Classes on the deck's grid. */
  readonly truth: Uint8Array;
}

async function* fromFolder(): AsyncGenerator<Case> {
  for (const file of (await readdir(folder)).filter((f) => f.endsWith(".truth.png")).sort()) {
    const name = file.replace(".truth.png", "");
    const deck = describeDeck(await json(join(folder, `${name}.deck.json`)));
    const corners = await json(join(folder, `${name}.corners.json`));
    const { photo } = await decode(await readFile(join(folder, `${name}.jpg`)));
    yield { name, deck, corners, photo, truth: await sharp(join(folder, file)).toColourspace("b-w").raw().toBuffer() };
  }
}

async function* fromScenes(count: number): AsyncGenerator<Case> {
  for (let n = 0; n < count; n++) {
    const scene = makeScene(FIRST_TEST_SEED + 2 * n, SCENE_DETAIL);
    const deck = describeDeck(scene.deckFile);
    const { columns, rows, mmPerCell } = gridOf(deck);
    const truth = new Uint8Array(columns * rows);
    for (let i = 0; i < truth.length; i++) {
      const at = [((i % columns) + 0.5) * mmPerCell, (Math.floor(i / columns) + 0.5) * mmPerCell] as const;
      truth[i] = classInPhoto(scene, photoPlace(scene.camera, at));
    }
    const corners = { corners: scene.corners.map(([x, y]): [number, number] => [x, y]) };
    yield { name: `${FIRST_TEST_SEED + 2 * n} ${scene.work.fault}`, deck, corners, photo: scene.photo, truth };
  }
}

for await (const { name, deck, corners, photo, truth } of values.scenes
  ? fromScenes(Number(values.scenes))
  : fromFolder()) {
  const source = { name, sha256: "0".repeat(64), takenAt: null };
  photos++;
  let analysis: Analysis;
  try {
    const job = { deck, corners: values.found ? null : corners, notes: {}, source };
    analysis = analyse(values.colours ? { cv } : { cv, eyes }, photo, job);
  } catch (error) {
    if (!(error instanceof VisionError)) throw error;
    unread++;
    console.log(`${name.padEnd(22)} not read: ${error.message}`);
    continue;
  }
  const { reading, classes } = analysis;
  if (!classes) {
    unread++;
    console.log(`${name.padEnd(22)} refused: ${reading.quality.issues.map(({ kind }) => kind).join(", ")}`);
    continue;
  }
  const confusion = noConfusion();
  countCells(confusion, truth, classes.labels);
  countCells(pooled, truth, classes.labels);
  countCells(baseline, truth, byKMeans(photo, deck, corners, truth));
  countPatches(truth, classes.labels, classes.grid);
  const view = values.found ? findView(cv, photo, deck, null, eyes).view : viewFromCorners(cv, photo, deck, corners);
  const outlet = readOutlet(classes, deck, view);
  const { matches, extra } = matchEdges(
    edgesOf(trueStretches(truth, classes.grid, deck)),
    edgesOf(
      [
        ...outlet.stretches,
        ...outlet.unseenMm.map(([fromMm, toMm]) => ({ class: "unseen" as const, fromMm, toMm })),
      ].toSorted((a, b) => a.fromMm - b.fromMm),
    ),
  );
  matched.push(...matches);
  extras.push(...extra);
  for (const { edge, offMm } of matches) {
    const errors = outlet.stretches.slice(1).map(({ class: after, fromMm, fromErrorMm }, i) => ({
      same: outlet.stretches[i]!.class === edge.before || after === edge.after,
      off: Math.abs(fromMm - edge.atMm),
      error: fromErrorMm,
    }));
    const own = errors.filter(({ same, error }) => same && error !== null).sort((a, b) => a.off - b.off)[0];
    if (offMm !== null && own) stated.push({ off: own.off, error: own.error! });
  }
  const parts = names.map((n, k) => `${n} ${iou(confusion, k + 1).toFixed(2)}`).join("  ");
  console.log(
    `${name.padEnd(22)} ${parts}  edges ${matches.map(({ offMm }) => (offMm === null ? "missed" : offMm.toFixed(0))).join(",")} mm, ${extra.length} extra  hint ${reading.advice[0]?.control} ${reading.advice[0]?.target ?? ""}`,
  );
  if (values.draw) {
    await mkdir(values.draw, { recursive: true });
    const flat = rectify(cv, photo, deck, viewFromCorners(cv, photo, deck, corners));
    const raw = { width: flat.grid.columns, height: flat.grid.rows, channels: 3 as const };
    const paint = (ids: Uint8Array) =>
      sharp(Buffer.from([...ids].flatMap((id) => palette[id]!)), { raw })
        .png()
        .toBuffer();
    await sharp({ create: { width: raw.width, height: raw.height * 3, channels: 3, background: "black" } })
      .composite([
        { input: Buffer.from(flat.rgba), raw: { ...raw, channels: 4 }, left: 0, top: 0 },
        { input: await paint(truth), left: 0, top: raw.height },
        { input: await paint(classes.labels), left: 0, top: 2 * raw.height },
      ])
      .png()
      .toFile(join(values.draw, `${name}.png`));
  }
}
const all = names.map((_, k) => iou(pooled, k + 1));
const plain = names.map((_, k) => iou(baseline, k + 1));
console.log(`photos ${photos}, not read ${unread}`);
console.log(
  `k-means, best assignment: ${names.map((n, k) => `${n} ${plain[k]!.toFixed(3)}`).join("  ")}  mean ${meanOf(plain).toFixed(3)}`,
);
const errorRatio = (1 - meanOf(all)) / (1 - meanOf(plain));
console.log(`error against it: ${errorRatio.toFixed(2)}`);
const within = (k: number) =>
  `${((100 * stated.filter(({ off, error }) => off <= k * error).length) / Math.max(1, stated.length)).toFixed(0)} %`;
console.log(`edges within one stated error ${within(1)}, two ${within(2)} (of ${stated.length} found)`);
console.log(
  `dry patches of 15 cm² and more, by IoU 0.3: ${patches.found} of ${patches.true} found, ${patches.right} of ${patches.read} read are true`,
);
console.log(`pooled: ${names.map((n, k) => `${n} ${all[k]!.toFixed(3)}`).join("  ")}  mean ${meanOf(all).toFixed(3)}`);
console.log(`
edges along the outlet, distance from the truth in mm; missed: none of its kind within ${REACH_MM} mm, further off than any`);
const pairOf = ({ before, after }: Edge) => `${before} | ${after}`;
for (const pair of [...new Set([...matched.map(({ edge }) => edge), ...extras].map(pairOf)), "all"].sort()) {
  const own = matched.filter(({ edge }) => pair === "all" || pairOf(edge) === pair);
  const found = own.filter(({ offMm }) => offMm !== null);
  const extra = extras.filter((edge) => pair === "all" || pairOf(edge) === pair).length;
  const say = (some: readonly EdgeMatch[]) =>
    some.length > 0
      ? `median ${far(percentile(some, 0.5)).padStart(4)}  95th ${far(percentile(some, 0.95)).padStart(4)}`
      : "–".padEnd(23);
  console.log(
    `${pair.padEnd(20)} true ${String(own.length).padStart(2)}: ${say(own)}   found ${String(found.length).padStart(2)}: ${say(found)}   missed ${own.length - found.length}  extra ${extra}`,
  );
}

/** Mean over the classes that are there. */
function meanOf(values: readonly number[]): number {
  const there = values.filter((v) => !Number.isNaN(v));
  return there.reduce((a, b) => a + b, 0) / there.length;
}

/** What a user could do today: k-means in CIELAB on the flat deck, each cluster then called by its commonest true class. */
function byKMeans(photo: Photo, deck: Deck, corners: CornersFile, truth: Uint8Array): Uint8Array {
  const even = evenLight(cv, rectify(cv, photo, deck, viewFromCorners(cv, photo, deck, corners)), photo);
  const cells = [...even.seen.keys()].filter((i) => even.seen[i]);
  const points = new Float32Array(cells.length * 3);
  cells.forEach((i, n) => {
    points.set([even.lab.L[i]!, even.lab.a[i]!, even.lab.b[i]!], 3 * n);
  });
  const { labels } = kMeans(cv, points, 3, CLUSTERS);
  const votes = Array.from({ length: CLUSTERS }, () => new Float64Array(6));
  cells.forEach((i, n) => {
    if (truth[i]) votes[labels[n]!]![truth[i]!]!++;
  });
  const called = votes.map((row) => row.indexOf(Math.max(...row)));
  const read = new Uint8Array(truth.length);
  cells.forEach((i, n) => {
    read[i] = called[labels[n]!]!;
  });
  return read;
}

/** Dry patches of at least 15 cm², each matched to one of the other kind by intersection over union of their cells. */
function countPatches(truth: Uint8Array, read: Uint8Array, { columns, rows, mmPerCell }: Grid) {
  const least = 1500 / mmPerCell ** 2;
  const patchesOf = (labels: Uint8Array) => {
    const { labels: ids, blobs } = connectedBlobs(
      cv,
      Uint8Array.from(labels, (k, i) => (k === 5 && truth[i] ? 1 : 0)),
      columns,
      rows,
    );
    return { ids, blobs: blobs.filter(({ cells }) => cells >= least) };
  };
  const [a, b] = [patchesOf(truth), patchesOf(read)];
  const shared = new Map<string, number>();
  a.ids.forEach((id, i) => {
    const key = `${id} ${b.ids[i]}`;
    shared.set(key, (shared.get(key) ?? 0) + 1);
  });
  const like = (p: Blob, q: Blob) => {
    const both = shared.get(`${p.label} ${q.label}`) ?? 0;
    return both / (p.cells + q.cells - both) >= 0.3;
  };
  patches.true += a.blobs.length;
  patches.read += b.blobs.length;
  patches.found += a.blobs.filter((p) => b.blobs.some((q) => like(p, q))).length;
  patches.right += b.blobs.filter((q) => a.blobs.some((p) => like(p, q))).length;
}
