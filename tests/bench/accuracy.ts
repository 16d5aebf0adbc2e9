/**
 * How near the reading is to the truth: `npm run bench:accuracy [-- FOLDER [--draw DIR]]`.
 * Reads each photo that has NAME.truth.png beside it with the given corners; prints IoU for each class, pooled IoU and outlet
 * edge errors in mm. Truth-unseen cells are left out. `--draw` writes photo, truth and reading side by side.
 */
import { mkdir, readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { parseArgs } from "node:util";
import sharp from "sharp";
import { decode } from "../../server/decode.ts";
import { analyse, describeDeck, loadOpenCv, rectify, viewFromCorners } from "../../vision/index.ts";

const { positionals, values } = parseArgs({ allowPositionals: true, options: { draw: { type: "string" } } });
const folder = positionals[0] ?? "sample-images";
const { cv } = await loadOpenCv();
const names = ["bare", "dense", "middling", "light", "dry"];
const pooled = Array.from({ length: 6 }, () => new Float64Array(6));
const errors: number[] = [];
let missed = 0;
const palette = [
  [0, 0, 0],
  [90, 90, 90],
  [220, 40, 40],
  [240, 180, 0],
  [240, 240, 220],
  [60, 140, 255],
];

const json = async (path: string) => JSON.parse(await readFile(path, "utf8"));
const iou = (m: Float64Array[], k: number) => {
  let [row, column] = [0, 0];
  for (let j = 1; j < 6; j++) row += m[k]![j]!;
  for (let i = 1; i < 6; i++) column += m[i]![k]!;
  // cells the truth knows but the reading calls unseen count as misses
  const union = row + m[k]![0]! + column - m[k]![k]!;
  return union ? m[k]![k]! / union : Number.NaN;
};

for (const file of (await readdir(folder)).filter((f) => f.endsWith(".truth.png")).sort()) {
  const name = file.replace(".truth.png", "");
  const deck = describeDeck(await json(join(folder, `${name}.deck.json`)));
  const corners = await json(join(folder, `${name}.corners.json`));
  const about = await json(join(folder, `${name}.about.json`));
  const { photo } = await decode(await readFile(join(folder, `${name}.jpg`)));
  const truth = await sharp(join(folder, file)).toColourspace("b-w").raw().toBuffer();
  const source = { name, sha256: "0".repeat(64), takenAt: null };
  const { reading, classes } = analyse({ cv }, photo, { deck, corners, notes: {}, source });
  const confusion = Array.from({ length: 6 }, () => new Float64Array(6));
  classes!.labels.forEach((label, i) => {
    if (!truth[i]) return;
    confusion[truth[i]]![label]!++;
    pooled[truth[i]]![label]!++;
  });
  const own: number[] = [];
  for (const edge of (about.drawnOutletEdges ?? about.outletEdges) as { between: [string, string]; atMm: number }[]) {
    const solids = edge.between.filter((k) => k !== "bare" && k !== "dry");
    const found = reading.bands
      .filter((band) => solids.includes(band.kind))
      .flatMap((band) =>
        band.outlet.flatMap((s) => [s.fromErrorMm === null ? [] : s.fromMm, s.toErrorMm === null ? [] : s.toMm].flat()),
      );
    const error = Math.min(...found.map((f) => Math.abs(f - edge.atMm)));
    if (solids.length === 2) own.push(Math.min(error, 200));
  }
  if (own.some((e) => e >= 200)) missed++;
  errors.push(...own);
  const parts = names.map((n, k) => `${n} ${iou(confusion, k + 1).toFixed(2)}`).join("  ");
  console.log(
    `${name.padEnd(22)} ${parts}  edges ${own.map((e) => e.toFixed(0)).join(",")} mm  hint ${reading.advice[0]?.control} ${reading.advice[0]?.target ?? ""}`,
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
        { input: await paint(classes!.labels), left: 0, top: 2 * raw.height },
      ])
      .png()
      .toFile(join(values.draw, `${name}.png`));
  }
}
const all = names.map((_, k) => iou(pooled, k + 1));
const sorted = errors.toSorted((a, b) => a - b);
console.log(
  `pooled: ${names.map((n, k) => `${n} ${all[k]!.toFixed(3)}`).join("  ")}  mean ${(all.reduce((a, b) => a + b, 0) / 5).toFixed(3)}`,
);
console.log(
  `outlet edges between solids: n ${sorted.length}, median ${sorted[sorted.length >> 1]?.toFixed(1)} mm; photos with one missed ${missed}`,
);
