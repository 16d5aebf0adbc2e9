import { fillPolygon, type Pair } from "../../vision/geometry.ts";
import { invert, multiply, project } from "../../vision/homography.ts";
import { type Deck, describeDeck, gridOf, type Photo } from "../../vision/index.ts";
import { type Camera, drawCamera, photoPlace } from "../../vision/scene/camera.ts";
import { drawLooks } from "../../vision/scene/looks.ts";
import { photograph } from "../../vision/scene/photograph.ts";
import { type Bed, drawPlan, layBed } from "../../vision/scene/plan.ts";
import { bell, type Random, randomFrom } from "../../vision/scene/random.ts";
import { classesOf, spreadSolids, type Work } from "../../vision/scene/solids.ts";
import { FLOATS, paintSurface, type Surface } from "../../vision/scene/surface.ts";
import { casesOf } from "./cases.ts";

/** Frames of one second over a deck whose truth is known. */
export interface Burst {
  readonly name: string;
  readonly frames: readonly Photo[];
  /** Corners of the deck file's outline in a frame. */
  readonly cornersOf: (frame: number) => [number, number][];
  readonly deck: Deck;
  /** Classes on the deck's grid. */
  readonly truth: Uint8Array;
}

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

/**
 * A scene, seen again and again: the grains lie anew, ripples and with them glare move on, the hand shakes, the deck strokes and the
 * sensor's noise is another; paint, solids, lamps and camera stay.
 */
function sceneBurst(seed: number, frameCount: number): Burst {
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
  const deck = describeDeck(plan.file);
  const grid = gridOf(deck);
  const classes = classesOf(bed, solids);
  const truth = new Uint8Array(grid.columns * grid.rows);
  for (let i = 0; i < truth.length; i++) {
    const [x, y] = [((i % grid.columns) + 0.5) * grid.mmPerCell, (Math.floor(i / grid.columns) + 0.5) * grid.mmPerCell];
    const [px, py] = photoPlace(camera, [x, y]).map(Math.floor) as [number, number];
    const isSeen = px >= 0 && py >= 0 && px < camera.width && py < camera.height && !hidden![py * camera.width + px];
    truth[i] = isSeen ? (classes[Math.floor(y / bed.cellMm) * bed.columns + Math.floor(x / bed.cellMm)] ?? 0) : 0;
  }
  return {
    name: `${seed} ${work.fault}`,
    frames,
    cornersOf: (k) => plan.edge.map((corner) => [...photoPlace(shakes[k]!, corner)] as [number, number]),
    deck,
    truth,
  };
}

export function* sceneBursts(count: number, frameCount: number): Generator<Burst> {
  for (let n = 0; n < count; n++) yield sceneBurst(FIRST_SEED + 2 * n, frameCount);
}

/** Glints on the deck in each frame, their radii, px, and how much brighter a pixel of noise or another grain is, sd of 0 to 255. */
const GLINTS = 90;
const GLINT_PX = [4, 34] as const;
const [NOISE, GRAIN] = [7, 10];

/** Each sample photo as a shaken burst: on its deck glints wander, grains lie anew and the sensor's noise is another in every frame. */
export async function* glintBursts(folder: string, frameCount: number): AsyncGenerator<Burst> {
  for await (const { name, deck, corners, photo, truth } of casesOf(folder)) {
    const random = randomFrom(name.length * 7919 + photo.width);
    const outline = corners.corners.map(([x, y]): Pair => [x, y]);
    const onDeck = fillPolygon(outline, photo.width, photo.height);
    const shakes = Array.from({ length: frameCount }, (_, k) =>
      k === 0 ? [1, 0, 0, 0, 1, 0, 0, 0, 1] : shakeOf(random, photo),
    );
    yield {
      name,
      frames: shakes.map((shake) => glintFrame(random, photo, outline, onDeck, shake)),
      cornersOf: (k) => outline.map((corner) => [...project(shakes[k]!, corner)] as [number, number]),
      deck,
      truth,
    };
  }
}

function glintFrame(
  random: Random,
  photo: Photo,
  outline: readonly Pair[],
  onDeck: Uint8Array,
  shake: readonly number[],
): Photo {
  const { width, height, rgba } = photo;
  const back = invert(shake);
  const glints = Array.from({ length: GLINTS }, () => {
    const [u, v] = [random(), random()];
    const [a, b, c, d] = outline as [Pair, Pair, Pair, Pair];
    const at = (k: 0 | 1) => (1 - v) * ((1 - u) * a[k] + u * b[k]) + v * ((1 - u) * d[k] + u * c[k]);
    return { x: at(0), y: at(1), radius: GLINT_PX[0] + random() ** 3 * (GLINT_PX[1] - GLINT_PX[0]) };
  });
  const lit = new Float32Array(width * height);
  for (const { x, y, radius } of glints) {
    for (let py = Math.max(0, Math.floor(y - 2 * radius)); py < Math.min(height, y + 2 * radius); py++) {
      for (let px = Math.max(0, Math.floor(x - 2 * radius)); px < Math.min(width, x + 2 * radius); px++) {
        const far = Math.hypot(px - x, (py - y) * 2) / radius; // seen at a slant, a glint is broad
        lit[py * width + px]! += 400 * Math.exp(-2 * far * far);
      }
    }
  }
  const out = new Uint8ClampedArray(rgba.length).fill(255);
  for (let py = 0, i = 0; py < height; py++) {
    for (let px = 0; px < width; px++, i++) {
      const [x, y] = project(back, [px + 0.5, py + 0.5]).map(Math.floor) as [number, number];
      if (x < 0 || y < 0 || x >= width || y >= height) continue;
      const j = y * width + x;
      const grain = onDeck[j] ? GRAIN * bell(random) : 0;
      for (let k = 0; k < 3; k++) out[4 * i + k] = rgba[4 * j + k]! + lit[j]! + grain + NOISE * bell(random);
    }
  }
  return { width, height, rgba: out };
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
  const shake = shakeOf(random, camera);
  const [along, against] = [
    [1, 0, strokeMm, 0, 1, 0, 0, 0, 1],
    [1, 0, -strokeMm, 0, 1, 0, 0, 0, 1],
  ] as const;
  return {
    ...camera,
    deckToPhoto: multiply(multiply(shake, camera.deckToPhoto), along),
    photoToDeck: multiply(multiply(against, camera.photoToDeck), invert(shake)),
    see: (point) => {
      const [x, y] = camera.see(point);
      return [shake[0]! * x + shake[1]! * y + shake[2]!, shake[3]! * x + shake[4]! * y + shake[5]!];
    },
  };
}

/** Where a hand has moved a pixel to, row-major 3 × 3. */
function shakeOf(random: Random, { width, height }: { width: number; height: number }): number[] {
  const [sx, sy, turn] = [bell(random) * SHAKE_PX, bell(random) * SHAKE_PX, bell(random) * SHAKE_TURN];
  const [cx, cy] = [width / 2, height / 2];
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  return [c, -s, cx + sx - c * cx + s * cy, s, c, cy + sy - s * cx - c * cy, 0, 0, 1];
}
