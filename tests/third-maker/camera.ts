/** The phone: where it stands, what it sees, and how the deck lies in space. Lengths in mm; z is up; x, y, z right-handed. */
import type { Dice } from "./dice.ts";
import type { Place, Table } from "./tables.ts";

export type Vector = readonly [number, number, number];

export const add = (a: Vector, b: Vector, t = 1): Vector => [a[0] + t * b[0], a[1] + t * b[1], a[2] + t * b[2]];
export const dot = (a: Vector, b: Vector): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const cross = (a: Vector, b: Vector): Vector => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
export const unit = (a: Vector): Vector => {
  const length = Math.hypot(...a);
  return [a[0] / length, a[1] / length, a[2] / length];
};

/** How the deck lies: origin of deck coordinates in space, and one mm along x, along y and up from the deck. */
export interface Lie {
  readonly origin: Vector;
  readonly x: Vector;
  readonly y: Vector;
  readonly up: Vector;
}

/** The middle of the deck lies at the origin of space. A left-hand deck is the mirror image, seen from above. */
export function lieOf(t: Table): Lie {
  const flip = t.hand === "right" ? -1 : 1;
  const x = unit([1, 0, t.endSlope / 1000]);
  const up = unit(cross(x, unit([0, 1, (-flip * t.crossSlope) / 1000])));
  const across = cross(up, x);
  const y: Vector = [flip * across[0], flip * across[1], flip * across[2]];
  const origin = add(add([0, 0, 0], x, -t.lengthMm / 2), y, -t.widthMm / 2);
  return { origin, x, y, up };
}

export const onDeck = (lie: Lie, x: number, y: number, z = 0): Vector =>
  add(add(add(lie.origin, lie.x, x), lie.y, y), lie.up, z);

export interface Camera {
  readonly width: number;
  readonly height: number;
  readonly at: Vector;
  readonly forward: Vector;
  readonly right: Vector;
  readonly down: Vector;
  /** Pixels. */
  readonly focalPx: number;
  /** Pixel of the photo → pixel of a lens without bulge: centre + (p − centre)·(1 + bulge·r²), r in half-diagonals. */
  readonly bulge: number;
  readonly elevationDegrees: number;
  readonly distanceMm: number;
  /** Where the photographer stands, as a word. */
  readonly side: string;
}

/** Pixel of the photo where a place in space is seen, from the outer corner of the top-left pixel. */
export function see(camera: Camera, place: Vector): [number, number] {
  const from = add(place, camera.at, -1);
  const depth = dot(from, camera.forward);
  const { width, height, focalPx } = camera;
  const straight: Place = [
    width / 2 + (focalPx * dot(from, camera.right)) / depth,
    height / 2 + (focalPx * dot(from, camera.down)) / depth,
  ];
  return bulged(camera, straight);
}

/** Pixel of a lens without bulge → pixel of the photo (fixed-point steps; exact below a thousandth of a pixel). */
export function bulged({ width, height, bulge }: Camera, [x, y]: Place): [number, number] {
  const [cx, cy, half] = [width / 2, height / 2, Math.hypot(width, height) / 2];
  let [px, py] = [x, y];
  for (let n = 0; n < 12; n++) {
    const k = 1 + bulge * (((px - cx) / half) ** 2 + ((py - cy) / half) ** 2);
    [px, py] = [cx + (x - cx) / k, cy + (y - cy) / k];
  }
  return [px, py];
}

export function straightened({ width, height, bulge }: Camera, [x, y]: Place): [number, number] {
  const [cx, cy, half] = [width / 2, height / 2, Math.hypot(width, height) / 2];
  const k = 1 + bulge * (((x - cx) / half) ** 2 + ((y - cy) / half) ** 2);
  return [cx + (x - cx) * k, cy + (y - cy) * k];
}

/** Millimetres of deck for one pixel at a place: root of the area. */
export function mmPerPixel(camera: Camera, lie: Lie, x: number, y: number): number {
  const [p, a, b] = [
    see(camera, onDeck(lie, x, y)),
    see(camera, onDeck(lie, x + 1, y)),
    see(camera, onDeck(lie, x, y + 1)),
  ];
  return 1 / Math.sqrt(Math.abs((a[0] - p[0]) * (b[1] - p[1]) - (a[1] - p[1]) * (b[0] - p[0])));
}

const COARSEST_MM = 2.4;
const SIDES = [
  "low side",
  "low side",
  "product end",
  "low product corner",
  "high side",
  "high product corner",
  "low drive corner",
  "drive end",
] as const;
/** Direction of each side from the deck's middle, in deck x and y. */
const TOWARD: Record<Side, Place> = {
  "low side": [0, 1],
  "product end": [1, 0],
  "low product corner": [0.8, 0.8],
  "high side": [0, -1],
  "high product corner": [0.8, -0.8],
  "low drive corner": [-0.7, 0.9],
  "drive end": [-1, 0.15],
};

const TRIES = 400;

/** A stand from which the whole deck is in the picture, near enough and not too flat. Tries more pixels before it gives a side up. */
export function stand(dice: Dice, table: Table, lie: Lie): Camera {
  for (let round = 0; round < 20; round++) {
    const side = dice.pick(SIDES);
    const elevation = dice.between(20, 66);
    for (let n = 0; n < TRIES; n++) {
      const camera = tryStand(dice, table, lie, side, elevation, dice.whole(1600, 1650 + (750 * n) / TRIES));
      if (fits(camera, table, lie)) return camera;
    }
  }
  throw new Error(`no stand found for seed ${dice.seed}`);
}

function fits(camera: Camera, table: Table, lie: Lie): boolean {
  const corners = table.outline.map(([x, y]) => see(camera, onDeck(lie, x, y)));
  const edge = 0.012 * camera.width;
  const inside = corners.every(([x, y]) => x > edge && y > edge && x < camera.width - edge && y < camera.height - edge);
  if (!inside || table.outline.some(([x, y]) => mmPerPixel(camera, lie, x, y) > COARSEST_MM)) return false;
  let area = 0;
  corners.forEach(([x, y], i) => {
    const [u, v] = corners[(i + 1) % 4]!;
    area += (x * v - u * y) / 2;
  });
  return Math.abs(area) > 0.2 * camera.width * camera.height;
}

type Side = (typeof SIDES)[number];

function tryStand(dice: Dice, table: Table, lie: Lie, side: Side, degrees: number, long: number): Camera {
  const [tx, ty] = TOWARD[side];
  const turn = dice.normal() * 0.22;
  const [ux, uy] = [tx * Math.cos(turn) - ty * Math.sin(turn), tx * Math.sin(turn) + ty * Math.cos(turn)];
  const elevation = (degrees * Math.PI) / 180;
  const distanceMm = dice.between(800, 3000);
  const flat = unit(add(add([0, 0, 0], lie.x, ux), lie.y, uy));
  const target = onDeck(lie, table.lengthMm * dice.between(0.4, 0.6), table.widthMm * dice.between(0.4, 0.6));
  const at = add(add(target, flat, distanceMm * Math.cos(elevation)), lie.up, distanceMm * Math.sin(elevation));
  const upright = Math.abs(tx) === 1 ? dice.chance(0.5) : dice.chance(0.06);
  const short = Math.round(long * dice.pick([0.75, 0.75, 0.5625]));
  const [width, height] = upright ? [short, long] : [long, short];
  const forward = unit(add(add(target, at, -1), [dice.normal(), dice.normal(), dice.normal()], 0.03 * distanceMm));
  const level = unit(cross(forward, [0, 0, 1]));
  const roll = dice.normal() * 0.05;
  const rise = cross(level, forward);
  const right = unit(add(add([0, 0, 0], level, Math.cos(roll)), rise, Math.sin(roll)));
  return {
    width,
    height,
    at,
    forward,
    right,
    down: cross(forward, right),
    focalPx: long * dice.between(0.68, 0.84),
    bulge: dice.chance(0.5) ? 0 : dice.between(-0.012, 0.012),
    elevationDegrees: degrees,
    distanceMm,
    side,
  };
}
