/**
 * How near the reading is to the truth: `npm run bench:accuracy [-- FOLDER] [--scenes N] [--found] [--draw DIR]`.
 * `--colours` leaves the networks out, `--plain` the baselines. `--scenes N` reads N scenes of vision/scene/ that training never sees (even seeds) instead of a folder.
 * `--found` gives no corners: the deck is found alone (its deck file is given). Reads each photo that has NAME.truth.png
 * beside it; prints IoU for each class, pooled IoU, how far each edge between classes along the outlet lies from the truth,
 * how many lie within one and two stated standard errors, dry patches found, how sure it is against how often it is right,
 * figures by material, light and fault, and beside them what general tools make of the same deck (baselines.ts). Truth-unseen cells are left out. `--draw` writes photo, truth and reading side by side.
 */
import { mkdir } from "node:fs/promises";
import { join } from "node:path";
import { parseArgs } from "node:util";
import sharp from "sharp";
import { openEyes } from "../../server/eyes.ts";
import {
  type Analysis,
  analyse,
  type Deck,
  evenLight,
  findView,
  type Grid,
  loadOpenCv,
  type Photo,
  readOutlet,
  rectify,
  type View,
  VisionError,
  viewFromCorners,
  withinRims,
} from "../../vision/index.ts";
import { type Blob, connectedBlobs } from "../../vision/opencv.ts";
import { BASELINES } from "./baselines.ts";
import { casesOf, testScenes } from "./cases.ts";
import {
  type Confusion,
  countCells,
  type Edge,
  type EdgeMatch,
  edgesOf,
  innerCells,
  iou,
  matchEdges,
  meanIou,
  noConfusion,
  percentile,
  REACH_MM,
  Reliability,
  trueStretches,
} from "./scores.ts";

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: {
    colours: { type: "boolean" },
    found: { type: "boolean" },
    draw: { type: "string" },
    scenes: { type: "string" },
    plain: { type: "boolean" },
  },
});
const folder = positionals[0] ?? "sample-images";
const { cv } = await loadOpenCv();
const eyes = await openEyes();
const names = ["bare", "dense", "middling", "light", "dry"];
const pooled = noConfusion();
const inner = noConfusion();
const baselines = values.plain ? [] : BASELINES.map((baseline) => ({ ...baseline, counted: noConfusion() }));
const reliability = new Reliability();
/** Confusion of the pictures that share a material, a light, a fault … */
const groups = new Map<string, { count: number; counted: Confusion }>();
const matched: EdgeMatch[] = [];
const extras: Edge[] = [];
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

const far = (mm: number) => (mm === Number.POSITIVE_INFINITY ? `>${REACH_MM}` : mm.toFixed(0));

for await (const { name, deck, corners, photo, truth, about } of values.scenes
  ? testScenes(Number(values.scenes))
  : casesOf(folder)) {
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
  countCells(inner, innerCells(truth, classes.grid), classes.labels);
  reliability.count(truth, classes.labels, classes.confidence);
  for (const [kind, value] of Object.entries(about)) {
    const key = `${kind}: ${value}`;
    const group = groups.get(key) ?? { count: 0, counted: noConfusion() };
    groups.set(key, { ...group, count: group.count + 1 });
    countCells(group.counted, truth, classes.labels);
  }
  if (baselines.length > 0) {
    const flat = rectify(cv, photo, deck, viewFromCorners(cv, photo, deck, corners));
    const even = evenLight(cv, flat, photo);
    for (const { read, counted } of baselines) countCells(counted, truth, read(cv, flat, even, truth));
  }
  countPatches(truth, classes.labels, classes.grid);
  const view = values.found ? foundAlone(photo, deck) : viewFromCorners(cv, photo, deck, corners);
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
console.log(`photos ${photos}, not read ${unread}`);
for (const { name, counted } of baselines) {
  const plain = names.map((_, k) => iou(counted, k + 1));
  const parts = names.map((n, k) => `${n} ${plain[k]!.toFixed(2)}`).join("  ");
  const ratio = (1 - meanIou(pooled)) / (1 - meanIou(counted));
  console.log(
    `${name.padEnd(28)} ${parts}  mean ${meanIou(counted).toFixed(3)}; our error is ${ratio.toFixed(2)} of its`,
  );
}
const within = (k: number) =>
  `${((100 * stated.filter(({ off, error }) => off <= k * error).length) / Math.max(1, stated.length)).toFixed(0)} %`;
console.log(`edges within one stated error ${within(1)}, two ${within(2)} (of ${stated.length} found)`);
console.log(
  `dry patches of 15 cm² and more, by IoU 0.3: ${patches.found} of ${patches.true} found, ${patches.right} of ${patches.read} read are true`,
);
console.log(`over 6 mm from a true border: mean ${meanIou(inner).toFixed(3)}`);
console.log(
  `pooled: ${names.map((n, k) => `${n} ${all[k]!.toFixed(3)}`).join("  ")}  mean ${meanIou(pooled).toFixed(3)}`,
);
console.log(`
how sure the reading is of its cells, and how many of them are right; expected calibration error ${reliability.error.toFixed(3)}`);
for (const { from, to, share, sure, right } of reliability.rows) {
  const part = `${(100 * from).toFixed(0)} to ${(100 * to).toFixed(0)} %`;
  console.log(
    `${part.padEnd(14)} ${(100 * share).toFixed(1).padStart(5)} % of cells  says ${(100 * sure).toFixed(0)} %, right ${(100 * right).toFixed(0)} %`,
  );
}
console.log(`
mean IoU by what the pictures show, with their number`);
for (const [key, { count, counted }] of [...groups].sort(([a], [b]) => a.localeCompare(b))) {
  console.log(`${key.padEnd(36)} ${String(count).padStart(3)}  ${meanIou(counted).toFixed(2)}`);
}
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

/** The view that reading without corners ends with. */
function foundAlone(photo: Photo, deck: Deck): View {
  const { view } = findView(cv, photo, deck, null, eyes);
  return withinRims(cv, photo, deck, view, eyes.lookAt(rectify(cv, photo, deck, view)));
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
