/**
 * What a short burst gains over one frame: `npm run bench:burst [-- --scenes N --frames M --draw DIR]`.
 * Scenes of vision/scene/ (even seeds, which training never sees). Between frames of a scene the grains lie anew, ripples and
 * with them glare move on, the hand shakes, the deck strokes and the sensor's noise is another; paint, solids, lamps and camera stay. Each is read
 * with its true corners: one frame, the burst's median laid on the deck, and the median without laying.
 */
import { mkdir } from "node:fs/promises";
import { parseArgs } from "node:util";
import sharp from "sharp";
import { openEyes } from "../../server/eyes.ts";
import { multiply } from "../../vision/homography.ts";
import { analyse, describeDeck, gridOf, loadOpenCv, mergeBurst, type Photo } from "../../vision/index.ts";
import { type Camera, drawCamera, photoPlace } from "../../vision/scene/camera.ts";
import { drawLooks } from "../../vision/scene/looks.ts";
import { photograph } from "../../vision/scene/photograph.ts";
import { type Bed, drawPlan, layBed } from "../../vision/scene/plan.ts";
import { bell, type Random, randomFrom } from "../../vision/scene/random.ts";
import { classesOf, spreadSolids, type Work } from "../../vision/scene/solids.ts";
import { FLOATS, paintSurface, type Surface } from "../../vision/scene/surface.ts";
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
  options: { scenes: { type: "string" }, frames: { type: "string" }, draw: { type: "string" } },
});
const [scenes, frameCount] = [Number(values.scenes ?? 12), Number(values.frames ?? 7)];
/** Even, and none of the accuracy bench's. */
const FIRST_SEED = 3_000_000;
const DETAIL = 2.2;
const BED_COLUMNS = 640;
/** A hand for one second: sd of its shift, px, and of its turn, radians; and how far ripples run on between frames, mm. */
const [SHAKE_PX, SHAKE_TURN, RUN_MM] = [5, 0.002, 80];

/** Draws of `first` up to `after` of them, then of `second`. */
function switching(first: Random, second: Random, after: number): Random {
  let count = 0;
  return () => (count++ < after ? first() : second());
}
function counting(random: Random) {
  let count = 0;
  const counted = () => {
    count++;
    return random();
  };
  return { random: counted, drawn: () => count };
}

interface Burst {
  readonly frames: readonly Photo[];
  readonly cornersOf: (frame: number) => [number, number][];
  readonly deckFile: ReturnType<typeof drawPlan>["file"];
  readonly truth: { readonly columns: number; readonly cellMm: number; readonly classes: Uint8Array };
  readonly seenAt: (x: number, y: number) => boolean;
  readonly fault: string;
}

function makeBurst(seed: number): Burst {
  const random = randomFrom(seed);
  const plan = drawPlan(random);
  const faults: Work["fault"][] = ["none", "none", "none", "dry", "dry", "rills", "starved", "overloaded"];
  const work: Work = { state: "running", fault: faults[Math.floor(random() * faults.length)]! };
  const looks = drawLooks(random);
  const bed: Bed = layBed(random, plan, Math.round(BED_COLUMNS * DETAIL));
  const solids = spreadSolids(random, plan, bed, work);
  const camera = drawCamera(random, plan, DETAIL);
  const [paint, shot] = [seed + 11, seed + 12];
  // what is drawn for the whole deck, before its cells: a bed without cells takes no more
  const setUp = counting(randomFrom(paint));
  paintSurface(setUp.random, plan, { ...bed, inside: bed.inside.map(() => 0) }, solids, looks, work);
  let upToNoise = Number.POSITIVE_INFINITY;
  const strokeMm = plan.file.strokeMm ?? 14;
  const shakes: Camera[] = [];
  const frames: Photo[] = [];
  let hidden: Uint8Array | null = null;
  for (let k = 0; k < frameCount; k++) {
    const own = randomFrom(seed * 31 + k);
    const painted = paintSurface(switching(randomFrom(paint), own, setUp.drawn()), plan, bed, solids, looks, work);
    const surface = moved(painted, bed, [bell(own) * RUN_MM, bell(own) * RUN_MM]);
    const stroke = (strokeMm / 2) * Math.sin(2 * Math.PI * own());
    const seen = k === 0 ? camera : shaken(camera, own, stroke);
    const draws = counting(switching(randomFrom(shot), own, upToNoise));
    const made = photograph(draws.random, plan, bed, surface, looks, seen);
    const noise = 6 * camera.width * camera.height; // develop draws twice a colour of each pixel, at the end
    if (k === 0) upToNoise = draws.drawn() - noise;
    else if (draws.drawn() - noise !== upToNoise) throw new Error(`scene ${seed}: frames draw differently`);
    frames.push(made.photo);
    shakes.push(seen);
    hidden ??= made.hidden;
  }
  const { columns, cellMm } = bed;
  return {
    frames,
    cornersOf: (k) => plan.edge.map((corner) => [...photoPlace(shakes[k]!, corner)] as [number, number]),
    deckFile: plan.file,
    truth: { columns, cellMm, classes: classesOf(bed, solids) },
    seenAt: (x, y) => {
      const [px, py] = photoPlace(camera, [x, y]).map(Math.floor) as [number, number];
      const within = px >= 0 && py >= 0 && px < camera.width && py < camera.height;
      return within && !hidden![py * camera.width + px];
    },
    fault: work.fault,
  };
}

/** The water's slopes run on; what lies below stays. */
function moved(
  { planes }: Surface,
  { columns, rows, cellMm, inside }: Bed,
  [dx, dy]: readonly [number, number],
): Surface {
  const out = Float32Array.from(planes);
  const [across, down] = [Math.round(dx / cellMm), Math.round(dy / cellMm)];
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const [from, to] = [(row + down) * columns + column + across, row * columns + column];
      const isThere = row + down >= 0 && row + down < rows && column + across >= 0 && column + across < columns;
      // dry cells have no water to move
      if (!isThere || !inside[from] || !inside[to]) continue;
      if (planes[from * FLOATS + 5] !== 1 || planes[to * FLOATS + 5] !== 1) continue;
      for (const k of [3, 4]) out[to * FLOATS + k] = planes[from * FLOATS + k]!;
    }
  }
  return { planes: out };
}

/** The camera a moment later, and the deck `strokeMm` along its stroke. */
function shaken(camera: Camera, random: Random, strokeMm: number): Camera {
  const [sx, sy, turn] = [bell(random) * SHAKE_PX, bell(random) * SHAKE_PX, bell(random) * SHAKE_TURN];
  const [cx, cy] = [camera.width / 2, camera.height / 2];
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const shake = [c, -s, cx + sx - c * cx + s * cy, s, c, cy + sy - s * cx - c * cy, 0, 0, 1];
  const back = [c, s, -(c * shake[2]! + s * shake[5]!), -s, c, s * shake[2]! - c * shake[5]!, 0, 0, 1];
  const [along, against] = [
    [1, 0, strokeMm, 0, 1, 0, 0, 0, 1],
    [1, 0, -strokeMm, 0, 1, 0, 0, 0, 1],
  ] as const;
  return {
    ...camera,
    deckToPhoto: multiply(multiply(shake, camera.deckToPhoto), along),
    photoToDeck: multiply(multiply(against, camera.photoToDeck), back),
    see: (point) => {
      const [x, y] = camera.see(point);
      return [shake[0]! * x + shake[1]! * y + shake[2]!, shake[3]! * x + shake[4]! * y + shake[5]!];
    },
  };
}

const { cv } = await loadOpenCv();
const eyes = await openEyes();
const ways = ["one frame", "burst", "burst, not laid"] as const;
const results = Object.fromEntries(
  ways.map((way) => [way, { cells: noConfusion(), edges: [] as EdgeMatch[], extra: 0, usable: 0, glare: 0 }]),
) as Record<
  (typeof ways)[number],
  { cells: ReturnType<typeof noConfusion>; edges: EdgeMatch[]; extra: number; usable: number; glare: number }
>;
let [merging, merged] = [0, 0];
const used: number[] = [];
if (values.draw) await mkdir(values.draw, { recursive: true });

for (let n = 0; n < scenes; n++) {
  const seed = FIRST_SEED + 2 * n;
  const burst = makeBurst(seed);
  const deck = describeDeck(burst.deckFile);
  const grid = gridOf(deck);
  const truth = new Uint8Array(grid.columns * grid.rows);
  for (let i = 0; i < truth.length; i++) {
    const [x, y] = [((i % grid.columns) + 0.5) * grid.mmPerCell, (Math.floor(i / grid.columns) + 0.5) * grid.mmPerCell];
    const { columns, cellMm, classes } = burst.truth;
    truth[i] = burst.seenAt(x, y) ? (classes[Math.floor(y / cellMm) * columns + Math.floor(x / cellMm)] ?? 0) : 0;
  }
  const start = performance.now();
  const laid = mergeBurst(cv, burst.frames, burst.cornersOf(0));
  merging += performance.now() - start;
  merged++;
  used.push(laid.frames);
  const single = { photo: burst.frames[laid.onto]!, at: laid.onto };
  const photos = {
    "one frame": single,
    burst: { photo: laid.photo, at: laid.onto },
    "burst, not laid": { photo: plainMedian(burst.frames), at: 0 },
  };
  const line: string[] = [];
  for (const way of ways) {
    const { photo, at } = photos[way];
    if (values.draw) {
      const { width, height, rgba } = photo;
      const raw = { width, height, channels: 4 } as const;
      await sharp(Buffer.from(rgba), { raw })
        .jpeg()
        .toFile(`${values.draw}/${seed}-${ways.indexOf(way)}.jpg`);
    }
    const source = { name: way, sha256: "0".repeat(64), takenAt: null };
    const { reading, classes } = analyse({ cv, eyes }, photo, {
      deck,
      corners: { corners: burst.cornersOf(at) },
      notes: {},
      source,
    });
    if (!classes) {
      line.push("refused");
      continue;
    }
    const result = results[way];
    const cells = noConfusion();
    countCells(cells, truth, classes.labels);
    countCells(result.cells, truth, classes.labels);
    const pairs = matchEdges(
      edgesOf(trueStretches(truth, grid, deck)),
      edgesOf(trueStretches(classes.labels, grid, deck)),
    );
    result.edges.push(...pairs.matches);
    result.extra += pairs.extra.length;
    result.usable++;
    result.glare += reading.quality.issues.find(({ kind }) => kind === "glare")?.share ?? 0;
    line.push(meanIou(cells).toFixed(3));
  }
  console.log(
    `${seed} ${burst.fault.padEnd(11)} frames laid ${laid.frames}/${frameCount}  ${ways.map((way, i) => `${way} ${line[i]}`).join("  ")}`,
  );
}

/** Mean of the classes that are there. */
function meanIou(cells: ReturnType<typeof noConfusion>): number {
  const all = [1, 2, 3, 4, 5].map((k) => iou(cells, k)).filter((v) => !Number.isNaN(v));
  return all.reduce((sum, v) => sum + v, 0) / all.length;
}

/** As a tripod would take it: frames as they are. */
function plainMedian(frames: readonly Photo[]): Photo {
  const [{ width, height }] = frames as [Photo];
  const rgba = new Uint8ClampedArray(frames[0]!.rgba.length);
  for (let i = 0; i < rgba.length; i++) {
    const all = frames.map((frame) => frame.rgba[i]!).sort((a, b) => a - b);
    rgba[i] = all[all.length >> 1]!;
  }
  return { width, height, rgba };
}

console.log(
  `\n${scenes} scenes, ${frameCount} frames; laid on each other ${(used.reduce((a, b) => a + b, 0) / used.length).toFixed(1)}; ${Math.round(merging / merged)} ms a burst`,
);
console.log(
  "way               usable   IoU bare dense middling light dry   mean   edges found   median, 95th of all, mm   extra   glare",
);
for (const way of ways) {
  const { cells, edges, extra, usable, glare } = results[way];
  const found = edges.filter(({ offMm }) => offMm !== null);
  const row = [1, 2, 3, 4, 5].map((k) => iou(cells, k).toFixed(3)).join("  ");
  const [half, most] = [percentile(found, 0.5), percentile(found, 0.95)].map((v) => v.toFixed(0));
  console.log(
    `${way.padEnd(17)} ${usable}        ${row}  ${meanIou(cells).toFixed(3)}   ${found.length} of ${edges.length}      ${half}, ${most} (of those found)   ${extra}   ${((100 * glare) / Math.max(1, usable)).toFixed(2)} %`,
  );
}
