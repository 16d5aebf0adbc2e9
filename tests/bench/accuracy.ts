/**
 * How near the reading is to the truth: `npm run bench:accuracy [-- FOLDER] [--scenes N] [--draw DIR]`.
 * `--colours` leaves the learned model out. `--scenes N` reads N scenes of vision/scene/ that training never sees (even seeds) instead of a folder.
 * Reads each photo that has NAME.truth.png beside it with the given corners; prints IoU for each class, pooled IoU, and
 * how far each edge between classes along the outlet lies from the truth. Truth-unseen cells are left out. `--draw` writes photo, truth and reading side by side.
 */
import { mkdir, readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { parseArgs } from "node:util";
import sharp from "sharp";
import { decode } from "../../server/decode.ts";
import { openEyes } from "../../server/eyes.ts";
import type { CornersFile } from "../../vision/contract/index.ts";
import {
  analyse,
  type Deck,
  describeDeck,
  gridOf,
  loadOpenCv,
  type Photo,
  readOutlet,
  rectify,
  viewFromCorners,
} from "../../vision/index.ts";
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
  options: { colours: { type: "boolean" }, draw: { type: "string" }, scenes: { type: "string" } },
});
const folder = positionals[0] ?? "sample-images";
/** Even: training uses odd seeds. */
const FIRST_TEST_SEED = 2_000_000;
const { cv } = await loadOpenCv();
const eyes = await openEyes();
const names = ["bare", "dense", "middling", "light", "dry"];
const pooled = noConfusion();
const matched: EdgeMatch[] = [];
const extras: Edge[] = [];
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
    const scene = makeScene(FIRST_TEST_SEED + 2 * n);
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
  const { reading, classes } = analyse(values.colours ? { cv } : { cv, eyes }, photo, {
    deck,
    corners,
    notes: {},
    source,
  });
  if (!classes) {
    console.log(`${name.padEnd(22)} refused: ${reading.quality.issues.map(({ kind }) => kind).join(", ")}`);
    continue;
  }
  const confusion = noConfusion();
  countCells(confusion, truth, classes.labels);
  countCells(pooled, truth, classes.labels);
  const outlet = readOutlet(classes, deck, viewFromCorners(cv, photo, deck, corners));
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
console.log(
  `pooled: ${names.map((n, k) => `${n} ${all[k]!.toFixed(3)}`).join("  ")}  mean ${(all.reduce((a, b) => a + b, 0) / 5).toFixed(3)}`,
);
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
