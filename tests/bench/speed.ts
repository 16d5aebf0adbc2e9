/**
 * How fast a 12-megapixel photo is read, warm: `npm run bench:speed [-- PHOTO] [-- --memory]`.
 * Prints the median of 7 runs of each step in ms, the peak memory, and the ratio to the floor: the image library's own
 * decode and one OpenCV warp of the whole photo to the deck's grid, in the same process.
 * `--memory` reads 200 photos instead, and fails when WebAssembly memory, which never shrinks, has grown.
 */
import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { parseArgs } from "node:util";
import sharp from "sharp";
import { decode } from "../../server/decode.ts";
import { openEyes } from "../../server/eyes.ts";
import { drawPictures } from "../../server/pictures.ts";
import { CornersFile } from "../../vision/contract/index.ts";
import { analyse, type Deck, describeDeck, gridOf, loadOpenCv, viewFromCorners } from "../../vision/index.ts";

const RUNS = 7;
const PHOTOS = 200;
const WIDTH = 4000;
const HEIGHT = 3000;

interface Shot {
  readonly name: string;
  readonly bytes: Buffer;
  readonly deck: Deck;
  readonly corners: CornersFile;
}

const { positionals, values } = parseArgs({ allowPositionals: true, options: { memory: { type: "boolean" } } });
const { cv } = await loadOpenCv();
const eyes = await openEyes();
await (values.memory ? memory() : speed(positionals[0] ?? join("sample-images", "black-sand.jpg")));

async function speed(path: string): Promise<void> {
  const shot = await enlarged(await shotAt(path));
  const times = new Map<string, number[]>();
  const note = (step: string, ms: number) => times.set(step, [...(times.get(step) ?? []), ms]);
  for (let run = -2; run < RUNS; run++) await readShot(shot, run < 0 ? () => {} : note);
  const peakMb = process.resourceUsage().maxRSS / 1024;
  for (let run = -2; run < RUNS; run++) await draw(shot, run < 0 ? () => {} : note);
  const drawnMb = process.resourceUsage().maxRSS / 1024;
  for (let run = -2; run < RUNS; run++) await floor(shot, run < 0 ? () => {} : note);

  console.log(`${shot.name}, ${WIDTH} by ${HEIGHT} pixels, ${(shot.bytes.length / 1e6).toFixed(1)} MB JPEG`);
  console.log(`median of ${RUNS} warm runs (least to most), ms; Node ${process.versions.node}`);
  for (const [step, all] of times) {
    const sorted = all.toSorted((a, b) => a - b);
    const range = `${sorted[0]!.toFixed(0)} to ${sorted.at(-1)!.toFixed(0)}`;
    console.log(`  ${step.padEnd(24)} ${median(all).toFixed(0).padStart(6)}   (${range})`);
  }
  const ratio = median(times.get("total")!) / median(times.get("floor")!);
  console.log(`total is ${ratio.toFixed(2)} times the floor`);
  const [read, drawn, wasm] = [peakMb, drawnMb, wasmMb()].map((mb) => mb.toFixed(0));
  console.log(
    `peak memory of the process ${read} MB, with drawn pictures ${drawn} MB; OpenCV's WebAssembly ${wasm} MB`,
  );
}

async function memory(): Promise<void> {
  const small = await samples("sample-images");
  const shots = [...small, await enlarged(small[0]!)];
  for (const shot of shots) await readShot(shot);
  const before = wasmMb();
  const rssBefore = process.memoryUsage().rss;
  for (let i = 0; i < PHOTOS; i++) await readShot(shots[i % shots.length]!);
  const after = wasmMb();
  const mb = (bytes: number) => (bytes / 2 ** 20).toFixed(0);
  console.log(`WebAssembly memory ${before.toFixed(1)} MB before, ${after.toFixed(1)} MB after ${PHOTOS} photos`);
  console.log(`process ${mb(rssBefore)} MB before, ${mb(process.memoryUsage().rss)} MB after`);
  if (after > before) process.exitCode = 1;
}

/** Total: what one photo costs from file bytes to a reading. */
async function readShot({ name, bytes, deck, corners }: Shot, note = (_step: string, _ms: number) => {}) {
  const start = performance.now();
  const { photo, sha256, takenAt } = await decode(bytes);
  const decoded = performance.now();
  note("decode", decoded - start);
  let [stage, since] = ["", decoded];
  const pass = (next: string) => {
    const now = performance.now();
    if (stage) note(stage, now - since);
    [stage, since] = [next, now];
  };
  const source = { name, sha256, takenAt };
  const analysis = analyse({ cv, eyes }, photo, { deck, corners, notes: {}, source }, pass);
  pass("");
  note("total", performance.now() - start);
  return { photo, analysis };
}

async function draw(shot: Shot, note: (step: string, ms: number) => void): Promise<void> {
  const { photo, analysis } = await readShot(shot);
  const start = performance.now();
  await drawPictures(photo, analysis);
  note("drawn pictures, on top", performance.now() - start);
}

/** The least that any reading with these libraries must do. Copying the photo into WebAssembly is not counted. */
async function floor({ bytes, deck, corners }: Shot, note: (step: string, ms: number) => void): Promise<void> {
  const start = performance.now();
  const { data, info } = await sharp(bytes).ensureAlpha().raw().toBuffer({ resolveWithObject: true });
  const decodeMs = performance.now() - start;
  const rgba = new Uint8ClampedArray(data.buffer, data.byteOffset, data.byteLength);
  const view = viewFromCorners(cv, { width: info.width, height: info.height, rgba }, deck, corners);
  const { mmPerCell, columns, rows } = gridOf(deck);
  const photo = new cv.Mat(info.height, info.width, cv.CV_8UC4);
  const flat = new cv.Mat();
  const toCells = view.photoToDeck.map((h, i) => (i < 6 ? h / mmPerCell : h));
  const matrix = cv.matFromArray(3, 3, cv.CV_64F, toCells);
  photo.data.set(data);
  const warping = performance.now();
  cv.warpPerspective(photo, flat, matrix, new cv.Size(columns, rows), cv.INTER_LINEAR);
  const warpMs = performance.now() - warping;
  for (const mat of [photo, flat, matrix]) mat.delete();
  note("floor: decode alone", decodeMs);
  note("floor: warp alone", warpMs);
  note("floor", decodeMs + warpMs);
}

async function samples(folder: string): Promise<Shot[]> {
  const photos = (await readdir(folder)).filter((file) => file.endsWith(".jpg")).sort();
  return Promise.all(photos.map((file) => shotAt(join(folder, file))));
}

async function shotAt(path: string): Promise<Shot> {
  const json = async (kind: string) => JSON.parse(await readFile(path.replace(/\.jpg$/, `.${kind}.json`), "utf8"));
  const corners = CornersFile.parse(await json("corners"));
  return { name: path, bytes: await readFile(path), deck: describeDeck(await json("deck")), corners };
}

/** The same photo at the size phones take. */
async function enlarged({ name, bytes, deck, corners }: Shot): Promise<Shot> {
  const { width, height } = await sharp(bytes).metadata();
  const larger = await sharp(bytes).resize(WIDTH, HEIGHT, { fit: "fill" }).jpeg({ quality: 92 }).toBuffer();
  const [sx, sy] = [WIDTH / width, HEIGHT / height];
  const moved = { ...corners, corners: corners.corners.map(([x, y]) => [x * sx, y * sy] as [number, number]) };
  return { name, bytes: larger, deck, corners: moved };
}

function wasmMb(): number {
  return cv.HEAPU8.length / 2 ** 20;
}

function median(all: readonly number[]): number {
  return all.toSorted((a, b) => a - b)[all.length >> 1]!;
}
