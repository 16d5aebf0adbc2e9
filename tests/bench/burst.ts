/**
 * What a short burst gains over one frame: `npm run bench:burst [-- --glints FOLDER --scenes N --frames M --draw DIR]`.
 * Scenes of vision/scene/ (even seeds, which training never sees) or, with `--glints`, photos with their truth on which glints wander
 * (burst-cases.ts says what moves). Each is read with its true corners: one frame, the burst's median laid on the deck, and the
 * median of frames as they came.
 */
import { mkdir } from "node:fs/promises";
import { parseArgs } from "node:util";
import sharp from "sharp";
import { openEyes } from "../../server/eyes.ts";
import { analyse, gridOf, loadOpenCv, mergeBurst, type Photo } from "../../vision/index.ts";
import { glintBursts, sceneBursts } from "./burst-cases.ts";
import {
  countCells,
  type EdgeMatch,
  edgesOf,
  iou,
  matchEdges,
  noConfusion,
  percentile,
  trueStretches,
} from "./scores.ts";

const { values } = parseArgs({
  options: {
    glints: { type: "string" },
    scenes: { type: "string" },
    frames: { type: "string" },
    draw: { type: "string" },
  },
});
const frameCount = Number(values.frames ?? 7);
const { cv } = await loadOpenCv();
const eyes = await openEyes();
const WAYS = ["one frame", "burst", "burst, not laid"] as const;
const newResult = () => ({ cells: noConfusion(), edges: [] as EdgeMatch[], extra: 0, read: 0 });
const results = new Map(WAYS.map((way) => [way, newResult()]));
const merging: number[] = [];
const used: number[] = [];
if (values.draw) await mkdir(values.draw, { recursive: true });

const bursts = values.glints
  ? glintBursts(values.glints, frameCount)
  : sceneBursts(Number(values.scenes ?? 12), frameCount);
for await (const { name, frames, cornersOf, deck, truth } of bursts) {
  const start = performance.now();
  const laid = mergeBurst(cv, frames, cornersOf(0));
  merging.push(performance.now() - start);
  used.push(laid.frames);
  const photos: Record<(typeof WAYS)[number], { photo: Photo; at: number }> = {
    "one frame": { photo: frames[laid.onto]!, at: laid.onto },
    burst: { photo: laid.photo, at: laid.onto },
    "burst, not laid": { photo: plainMedian(frames), at: 0 },
  };
  const line: string[] = [];
  for (const way of WAYS) {
    const { photo, at } = photos[way];
    if (values.draw) await draw(photo, `${values.draw}/${name}-${WAYS.indexOf(way)}.jpg`);
    const source = { name: way, sha256: "0".repeat(64), takenAt: null };
    const { classes } = analyse({ cv, eyes }, photo, { deck, corners: { corners: cornersOf(at) }, notes: {}, source });
    if (!classes) {
      line.push("refused");
      continue;
    }
    const result = results.get(way)!;
    const cells = noConfusion();
    countCells(cells, truth, classes.labels);
    countCells(result.cells, truth, classes.labels);
    const grid = gridOf(deck);
    const [true_, read] = [truth, classes.labels].map((labels) => edgesOf(trueStretches(labels, grid, deck)));
    const pairs = matchEdges(true_!, read!);
    result.edges.push(...pairs.matches);
    result.extra += pairs.extra.length;
    result.read++;
    line.push(rightShare(cells).toFixed(3));
  }
  const right = WAYS.map((way, i) => `${way} ${line[i]}`).join("  ");
  console.log(`${name.padEnd(24)} laid ${laid.frames} of ${frames.length}   cells right: ${right}`);
}

const mean = (all: readonly number[]) => all.reduce((sum, v) => sum + v, 0) / all.length;
console.log(
  `\n${used.length} bursts; frames laid ${mean(used).toFixed(1)} of ${frameCount}; ${Math.round(mean(merging))} ms a burst`,
);
console.log("way              read  right   IoU: bare dense middling light dry    edges found, median off, extra");
for (const [way, { cells, edges, extra, read }] of results) {
  const found = edges.filter(({ offMm }) => offMm !== null);
  const row = [1, 2, 3, 4, 5].map((k) => iou(cells, k).toFixed(3)).join(" ");
  const off = percentile(found, 0.5).toFixed(0);
  console.log(
    `${way.padEnd(16)} ${read}     ${rightShare(cells).toFixed(3)}   ${row}    ${found.length} of ${edges.length}, ${off} mm, ${extra}`,
  );
}

/** Share of cells that the truth knows and that were read right. */
function rightShare(cells: ReturnType<typeof noConfusion>): number {
  const known = [1, 2, 3, 4, 5];
  const all = known.reduce((sum, k) => sum + cells[k]!.reduce((a, b) => a + b, 0), 0);
  return known.reduce((sum, k) => sum + cells[k]![k]!, 0) / all;
}

/** As a tripod would take it: frames as they are. */
function plainMedian(frames: readonly Photo[]): Photo {
  const [{ width, height }] = frames as [Photo];
  const rgba = new Uint8ClampedArray(frames[0]!.rgba.length);
  const all = new Uint8Array(frames.length);
  for (let i = 0; i < rgba.length; i++) {
    for (const [k, frame] of frames.entries()) all[k] = frame.rgba[i]!;
    rgba[i] = all.sort()[all.length >> 1]!;
  }
  return { width, height, rgba };
}

async function draw({ width, height, rgba }: Photo, path: string): Promise<void> {
  await sharp(Buffer.from(rgba), { raw: { width, height, channels: 4 } })
    .jpeg()
    .toFile(path);
}
