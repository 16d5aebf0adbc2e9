import type { Pair } from "../geometry.ts";
import { invert, project } from "../homography.ts";
import { bend } from "../lens-bulge.ts";
import type { Plan } from "./plan.ts";
import { between, chance, type Random } from "./random.ts";

type Vector = readonly [number, number, number];

export interface Camera {
  readonly width: number;
  readonly height: number;
  /** Row-major 3 × 3, deck mm → photo pixel of a lens without bulge; and back, its last row positive for what lies ahead. */
  readonly deckToPhoto: readonly number[];
  readonly photoToDeck: readonly number[];
  /** The radial term of the contract: straight = centre + (p − centre)(1 + lens r²). */
  readonly lens: number;
  /** Where the camera is, mm: deck x, deck y, height above the deck. */
  readonly at: Vector;
  /** A point above the deck (deck x, y, height in mm) → photo pixel. */
  readonly see: (point: Vector) => Pair;
  /** How far before the camera a point lies, mm along its axis. */
  readonly depthOf: (point: Vector) => number;
}

/** A hand-held phone beside the deck: any side, 18 to 78 degrees above it, as far off as fills the frame. */
export function drawCamera(random: Random, { lengthMm, widthMm, hand, outline }: Plan, detail = 1): Camera {
  const longSide = Math.round(detail * between(random, 640, 960));
  const ratio = chance(random, 0.75) ? 4 / 3 : 16 / 9;
  const upright = chance(random, 0.15);
  const [width, height] = upright ? [Math.round(longSide / ratio), longSide] : [longSide, Math.round(longSide / ratio)];
  const focal = longSide / (2 * Math.tan(between(random, 0.42, 0.68)));
  const azimuth = between(random, 0, 2 * Math.PI);
  const elevation = ((chance(random, 0.6) ? between(random, 18, 50) : between(random, 30, 78)) * Math.PI) / 180;
  const roll = between(random, -0.12, 0.12);
  const lens = chance(random, 0.5) ? between(random, -0.04, 0.04) : 0;
  const fill = between(random, 0.62, 1.02);
  const toWorld = ([x, y, z]: Vector): Vector => [(hand === "right" ? 1 : -1) * (x - lengthMm / 2), widthMm / 2 - y, z];
  const back: Vector = [
    Math.cos(elevation) * Math.cos(azimuth),
    Math.cos(elevation) * Math.sin(azimuth),
    Math.sin(elevation),
  ];
  const side: Vector = [-Math.sin(azimuth), Math.cos(azimuth), 0];
  const up: Vector = cross(back, side);
  const [c, s] = [Math.cos(roll), Math.sin(roll)];
  const right: Vector = side.map((v, k) => c * v + s * up[k]!) as unknown as Vector;
  const below: Vector = side.map((v, k) => s * v - c * up[k]!) as unknown as Vector;
  const seeFrom =
    (distance: number, centre: Pair) =>
    (point: Vector): Pair => {
      const w = toWorld(point);
      const depth = Math.max(1, distance - dot(w, back));
      return [centre[0] + (focal * dot(w, right)) / depth, centre[1] + (focal * dot(w, below)) / depth];
    };
  let distance = lengthMm;
  let box = boxOf(outline, seeFrom(distance, [0, 0]));
  for (let round = 0; round < 12; round++) {
    const size = Math.max((box.right - box.left) / width, (box.bottom - box.top) / height);
    distance *= Math.max(0.6, Math.min(1.6, size / fill));
    box = boxOf(outline, seeFrom(distance, [0, 0]));
  }
  const loose = (free: number) => free * between(random, 0.25, 0.75);
  const centre: Pair = [
    loose(width - (box.right - box.left)) - box.left,
    loose(height - (box.bottom - box.top)) - box.top,
  ];
  const see = seeFrom(distance, centre);
  // columns of the homography: where the deck's axes and origin go, in camera coordinates
  const origin = toWorld([0, 0, 0]);
  const [xAxis, yAxis] = [minus(toWorld([1, 0, 0]), origin), minus(toWorld([0, 1, 0]), origin)];
  const rowOf = (axis: Vector, middle: number) =>
    [xAxis, yAxis, origin].map((v, k) => focal * dot(v, axis) + middle * ((k === 2 ? distance : 0) - dot(v, back)));
  const last = [xAxis, yAxis, origin].map((v, k) => (k === 2 ? distance : 0) - dot(v, back));
  const deckToPhoto = [...rowOf(right, centre[0]), ...rowOf(below, centre[1]), ...last].map((v) => v / last[2]!);
  const place = back.map((v) => v * distance) as unknown as Vector;
  const at: Vector = [(hand === "right" ? 1 : -1) * place[0] + lengthMm / 2, widthMm / 2 - place[1], place[2]];
  const depthOf = (point: Vector) => distance - dot(toWorld(point), back);
  const inverse = invert(deckToPhoto);
  const [cx, cy] = project(deckToPhoto, [lengthMm / 2, widthMm / 2]);
  const ahead = Math.sign(inverse[6]! * cx + inverse[7]! * cy + inverse[8]!);
  const photoToDeck = inverse.map((v) => v * ahead);
  return { width, height, deckToPhoto, photoToDeck, lens, at, see, depthOf };
}

/** Where a deck point shows in the photo, the lens's bulge put in. */
export function photoPlace(camera: Camera, at: Pair): Pair {
  return bend(camera, camera.lens, project(camera.deckToPhoto, at));
}

const dot = (a: Vector, b: Vector) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const minus = (a: Vector, b: Vector): Vector => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const cross = (a: Vector, b: Vector): Vector => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
function boxOf(outline: readonly Pair[], see: (point: Vector) => Pair) {
  const seen = outline.map(([x, y]) => see([x, y, 0]));
  const [xs, ys] = [seen.map((p) => p[0]), seen.map((p) => p[1])];
  return { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) };
}
