/**
 * How well the deck is found: `npm run bench:deck [-- FOLDER [--draw DIR] [--draws N]]`. For each photo with NAME.corners.json:
 *
 *   outline   found without corners or marks: error of each outline corner against the truth, mm, beside what the view says of itself
 *   snapped   corners set 4 px off by chance (N times), then drawn to edges: RMS before and after, mm
 *
 * and for marks painted into the photo (four, 70 mm, in the truth's own view): worst corner error, mm.
 * With `--pages FOLDER` instead: the same search on photos of paper pages with known corners (ground_truth.csv of the SmartDoc
 * 2015 challenge, Burie et al., ICDAR 2015), as the Jaccard index in page coordinates; its best entry reached 0.9716.
 *
 * Errors are measured on the deck, through the truth's homography. `--draw` writes the photo with what was found.
 */
import { mkdir, readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { parseArgs } from "node:util";
import sharp from "sharp";
import { decode } from "../../server/decode.ts";
import { openEyes } from "../../server/eyes.ts";
import { DICTIONARY } from "../../vision/finding/markers.ts";
import { viewFromMarks } from "../../vision/finding/marks-view.ts";
import { findOutline } from "../../vision/finding/outline.ts";
import { snapCorners } from "../../vision/finding/snap.ts";
import { inside } from "../../vision/geometry.ts";
import {
  type Deck,
  describeDeck,
  findView,
  fitHomography,
  loadOpenCv,
  type Photo,
  project,
  rectify,
  type View,
  VisionError,
  viewFromCorners,
  withinRims,
} from "../../vision/index.ts";
import { normalFrom, paintMarks, randomFrom } from "../vision/finding/paint-marks.ts";

type Pair = [number, number];
const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: { draw: { type: "string" }, draws: { type: "string", default: "5" }, pages: { type: "string" } },
});
const folder = positionals[0] ?? "sample-images";
const { cv } = await loadOpenCv();
const eyes = await openEyes();
const json = async (path: string) => JSON.parse(await readFile(path, "utf8"));
const quantile = (all: readonly number[], q: number) =>
  all.toSorted((a, b) => a - b)[Math.min(all.length - 1, Math.floor(q * all.length))] ?? Number.NaN;
const rms = (all: readonly number[]) => Math.sqrt(all.reduce((s, e) => s + e * e, 0) / all.length);

if (values.pages) {
  await pages(values.pages);
  process.exit();
}

const outlineErrors: number[] = [];
const markErrors: number[] = [];
const stated: number[] = [];
let [photos, found, wrongAndSure, wrongWay] = [0, 0, 0, 0];
for (const file of (await readdir(folder)).filter((f) => f.endsWith(".corners.json")).sort()) {
  const name = file.replace(".corners.json", "");
  const deck = describeDeck(await json(join(folder, `${name}.deck.json`)));
  const { corners } = (await json(join(folder, file))) as { corners: Pair[] };
  const { photo } = await decode(await readFile(join(folder, `${name}.jpg`)));
  const truth = viewFromCorners(cv, photo, deck, { corners });
  const onDeck = (px: Pair) => project(truth.photoToDeck, px);
  const errorsOf = (at: readonly Pair[]) =>
    at.map((px, i) => {
      const [x, y] = onDeck(px);
      return Math.hypot(x - deck.outline[i]!.x, y - deck.outline[i]!.y);
    });
  photos++;
  const started = performance.now();
  const view = foundAlone(photo, deck);
  const ms = performance.now() - started;
  let told = "not found";
  if (view) {
    found++;
    const at = view.cornersPx.map(({ x, y }): Pair => [x, y]);
    const errors = errorsOf(at);
    outlineErrors.push(...errors);
    stated.push(...errors.map((error) => error / Math.max(1, view.errorMm)));
    if (Math.max(...errors) > 0.25 * deck.lengthMm) wrongWay++;
    const sure = Math.max(...errors) > 25 && view.errorMm < 8;
    if (sure) wrongAndSure++;
    told = `corners ${errors.map((e) => e.toFixed(0)).join(", ")} mm, says ± ${view.errorMm.toFixed(0)} mm, orientation ${view.orientationConfidence.toFixed(2)}${sure ? " WRONG AND SURE" : ""}`;
    if (values.draw) await draw(photo, name, [corners, at], values.draw);
  }
  const random = normalFrom(randomFrom(7));
  const [before, after]: [number[], number[]] = [[], []];
  for (let k = 0; k < Number(values.draws); k++) {
    const off = corners.map(([x, y]): Pair => [x + 4 * random(), y + 4 * random()]);
    before.push(...errorsOf(off));
    after.push(...errorsOf(snapCorners(photo, deck, { corners: off, errorPx: 4 }).corners as Pair[]));
  }
  const marked = withMarks(deck);
  const deckToPhoto = fitHomography(
    cv,
    deck.outline.map(({ x, y }): Pair => [x, y]),
    corners,
  );
  const marks = viewFromMarks(cv, paintMarks(photo, marked, { deckToPhoto }), marked);
  const markError = marks ? Math.max(...errorsOf(marks.view.cornersPx.map(({ x, y }): Pair => [x, y]))) : Number.NaN;
  if (marks) markErrors.push(markError);
  console.log(`${name.padEnd(20)} outline: ${told}; ${ms.toFixed(0)} ms`);
  console.log(
    `${"".padEnd(20)} snapped: ${rms(before).toFixed(1)} → ${rms(after).toFixed(1)} mm RMS; marks ${marks?.used.length ?? 0}: worst ${markError.toFixed(1)} mm, says ± ${marks?.view.errorMm.toFixed(1)}`,
  );
}
console.log(
  `outline found on ${found} of ${photos}; corners: median ${quantile(outlineErrors, 0.5).toFixed(1)} mm, 95th percentile ${quantile(outlineErrors, 0.95).toFixed(1)} mm; wrong way round: ${wrongWay}; wrong and sure: ${wrongAndSure}; within twice what the view says: ${((100 * stated.filter((s) => s <= 2).length) / Math.max(1, stated.length)).toFixed(0)} %`,
);
console.log(
  `marks: worst corner, median of photos ${quantile(markErrors, 0.5).toFixed(2)} mm, largest ${Math.max(...markErrors).toFixed(2)} mm`,
);

/** The deck as a photo alone shows it, deck file given; null when it is not found. */
function foundAlone(photo: Photo, deck: Deck): View | null {
  try {
    const { view } = findView(cv, photo, deck, null, eyes);
    return withinRims(cv, photo, deck, view, eyes.lookAt(rectify(cv, photo, deck, view)));
  } catch (error) {
    if (error instanceof VisionError) return null;
    throw error;
  }
}

/** Four marks just inside the deck's bounding box, where every photo shows them. */
function withMarks(deck: Deck): Deck {
  const [l, w] = [deck.lengthMm, deck.widthMm];
  const places: Pair[] = [
    [60, 60],
    [l - 60, 60],
    [l * 0.7, w - 60],
    [60, w - 60],
  ];
  return describeDeck({
    ...deck.file,
    marks: {
      dictionary: DICTIONARY,
      items: places.map((centre, id) => ({ id, centre, sizeMm: 70, turnDegrees: 0 })),
    },
  });
}

async function draw({ width, height, rgba }: Photo, name: string, lines: Pair[][], to: string): Promise<void> {
  await mkdir(to, { recursive: true });
  const colours = ["#0f0", "#f0f"];
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" fill="none" stroke-width="3">${lines
    .map(
      (line, i) =>
        `<polygon points="${line.map((p) => p.join()).join(" ")}" stroke="${colours[i]}"/><circle cx="${line[0]![0]}" cy="${line[0]![1]}" r="${12 + 8 * i}" stroke="${colours[i]}"/>`,
    )
    .join("")}</svg>`;
  await sharp(rgba, { raw: { width, height, channels: 4 } })
    .composite([{ input: Buffer.from(svg) }])
    .jpeg({ quality: 85 })
    .toFile(join(to, `${name}.jpg`));
}

async function pages(from: string): Promise<void> {
  const [head = "", ...rows] = (await readFile(join(from, "ground_truth.csv"), "utf8")).trim().split("\n");
  const columns = head.split(",");
  const page = describeDeck({ schemaVersion: 1, lengthMm: 297, widthMm: 210 });
  const all: number[] = [];
  for (const row of rows) {
    const cells = row.split(",");
    const cell = (name: string) => cells[columns.indexOf(name)] ?? "";
    const corner = (name: string): Pair => [Number(cell(`${name}_x`)), Number(cell(`${name}_y`))];
    const name = `${cell("bg_name")}_${cell("model_name")}_${cell("image_path").split("/").at(-1)}`;
    const { photo } = await decode(await readFile(join(from, name)));
    const toPage = fitHomography(cv, ["tl", "tr", "br", "bl"].map(corner), [
      [0, 0],
      [210, 0],
      [210, 297],
      [0, 297],
    ]);
    const found = findOutline(cv, photo, page)?.[0]?.view.cornersPx.map(({ x, y }) => project(toPage, [x, y]));
    let [both, either] = [0, 0];
    for (let x = -99.5; found && x < 310; x++) {
      for (let y = -99.5; y < 400; y++) {
        const [a, b] = [x > 0 && x < 210 && y > 0 && y < 297, inside(found, [x, y])];
        if (a && b) both++;
        if (a || b) either++;
      }
    }
    all.push(found ? both / either : 0);
    console.log(`${name}: Jaccard ${all.at(-1)!.toFixed(4)}`);
  }
  console.log(`mean Jaccard ${(all.reduce((s, j) => s + j, 0) / all.length).toFixed(4)} over ${all.length} pages`);
}
