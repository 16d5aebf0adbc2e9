import type { Pair } from "../geometry.ts";
import type { Body, Lamp } from "./bodies.ts";
import type { Camera } from "./camera.ts";
import { type Albedo, albedoOf, type Lab, type Looks } from "./looks.ts";
import type { Plan } from "./plan.ts";
import { bell, between, chance, fractal, makeNoise, type Random } from "./random.ts";

/** What stands round and under the deck, the floor, and the lamp that models them. */
export interface Surroundings {
  readonly bodies: readonly Body[];
  readonly lamp: Lamp;
  readonly floorAt: number;
  /** Linear RGB of the floor at a place, written to `out`. */
  readonly floor: (x: number, y: number, out: [number, number, number]) => void;
}

/** Rims, skirt, launders, frame, legs, drive and feed box as plants have them; things and walls about; a floor. */
export function drawSurroundings(random: Random, plan: Plan, looks: Looks, camera: Camera): Surroundings {
  const { lengthMm, widthMm } = plan;
  const floorAt = -between(random, 350, 1100);
  const colour = (low = 8, high = 80, tint = 12): Albedo =>
    albedoOf([between(random, low, high), bell(random) * tint, bell(random) * tint + 4]);
  const body = (foot: readonly Pair[], low: number, high: number, paint = colour()): Body => ({
    foot,
    low,
    high,
    colour: paint,
    uneven: between(random, 0, 0.35),
    patchMm: between(random, 20, 300),
  });
  const bodies: Body[] = [
    ...drawRims(random, plan, looks, colour, body),
    ...(chance(random, 0.85) ? drawLaunders(random, plan, looks, colour, body) : []),
    ...drawFrame(random, plan, floorAt, body),
    ...(chance(random, 0.85) ? drawDrive(random, plan, floorAt, colour, body) : []),
    ...(chance(random, 0.8) ? drawFeedBox(random, plan, colour, body) : []),
    ...drawClutter(random, plan, camera, floorAt, colour, body),
  ];
  const turn = between(random, 0, 2 * Math.PI);
  const up = between(random, 0.3, 1);
  const flat = Math.sqrt(1 - up * up);
  const lamp: Lamp = { towards: [flat * Math.cos(turn), flat * Math.sin(turn), up], share: between(random, 0.2, 0.8) };
  const tiles = [colour(12, 70, 4), colour(12, 70, 6)] as const;
  const [rough, fine] = [makeNoise(random), makeNoise(random)];
  const [scale, contrast] = [between(random, 60, 700), between(random, 0.1, 0.9)];
  const brightness = between(random, 0.35, 1.2);
  const under = between(random, 0.15, 0.8);
  const soft = between(random, 60, 400);
  return {
    bodies,
    lamp,
    floorAt,
    floor(x, y, out) {
      // the table's own shadow
      const away = Math.max(-x, x - lengthMm, -y, y - widthMm);
      const shade = 1 - under * Math.max(0, Math.min(1, 0.5 - away / soft));
      const t = Math.max(0, Math.min(1, 0.5 + contrast * fractal(rough, x / scale, y / scale, 3)));
      const grain = (1 + 0.12 * fine(x / 9, y / 9) + 0.15 * rough(x / 130, y / 90)) * brightness * shade;
      for (let k = 0; k < 3; k++) out[k] = Math.max(0.002, (tiles[0][k]! * (1 - t) + tiles[1][k]! * t) * grain);
    },
  };
}

type Colour = (low?: number, high?: number, tint?: number) => Albedo;
type MakeBody = (foot: readonly Pair[], low: number, high: number, paint?: Albedo) => Body;

/** A strip along one side of the deck, from `near` to `far` mm outside it. */
function strip({ edge }: Plan, side: number, near: number, far: number): Pair[] {
  const [a, b] = [edge[side]!, edge[(side + 1) % edge.length]!];
  const size = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const [nx, ny] = [(b[1] - a[1]) / size, (a[0] - b[0]) / size];
  const out = ([x, y]: Pair, by: number): Pair => [x + nx * by, y + ny * by];
  return [out(a, near), out(b, near), out(b, far), out(a, far)];
}
const oblong = (x: number, y: number, long: number, wide: number, turn = 0): Pair[] => {
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  return (
    [
      [-0.5, -0.5],
      [0.5, -0.5],
      [0.5, 0.5],
      [-0.5, 0.5],
    ] as const
  ).map(([u, v]): Pair => [x + c * u * long - s * v * wide, y + s * u * long + c * v * wide]);
};
const round = (x: number, y: number, radius: number): Pair[] =>
  Array.from(
    { length: 10 },
    (_, k): Pair => [x + radius * Math.cos((k * Math.PI) / 5), y + radius * Math.sin((k * Math.PI) / 5)],
  );

/** Sides of a deck: first the high one, last the drive end. Product leaves over those between, so they seldom have a lip. */
function drawRims(random: Random, plan: Plan, looks: Looks, colour: Colour, body: MakeBody): Body[] {
  const thick = between(random, 25, 160);
  const same = chance(random, 0.7) ? (chance(random, 0.4) ? albedoOf(shaded(random, looks.deck)) : colour()) : null;
  return plan.edge.flatMap((_, side) => {
    const outlet = side > 0 && side < plan.edge.length - 1;
    const lip = chance(random, outlet ? 0.12 : 0.65) ? between(random, 5, 60) : between(random, -6, 1);
    const wide = chance(random, outlet ? 0.5 : 0.2) ? between(random, 1, 8) : between(random, 8, 80);
    // a rim of the deck's own stuff, low and broad, shows only by its edge
    const own = !outlet && chance(random, 0.25);
    const rim = own
      ? body(strip(plan, side, 0, between(random, 15, 70)), -thick, between(random, 1, 20), albedoOf(looks.deck))
      : body(strip(plan, side, 0, wide), -thick, lip, same ?? colour());
    // solids and water run down an outlet side and stain it
    const wet = outlet && chance(random, 0.6);
    const lab = chance(random, 0.6) ? looks.light : chance(random, 0.5) ? looks.middling : looks.deck;
    return wet
      ? [rim, body(strip(plan, side, wide, wide + 2), -thick, Math.min(lip, -1), albedoOf(shaded(random, lab)))]
      : [rim];
  });
}

const shaded = (random: Random, lab: Lab): Lab => [Math.max(4, lab[0] * between(random, 0.5, 1.1)), lab[1], lab[2]];

/** Troughs below the product end and the low side: floor and outer wall. */
function drawLaunders(random: Random, plan: Plan, looks: Looks, colour: Colour, body: MakeBody): Body[] {
  const paint = colour(8, 60);
  const [deep, gap, wide, wall] = [
    between(random, 40, 260),
    between(random, 0, 70),
    between(random, 60, 280),
    between(random, 6, 30),
  ];
  return plan.edge.slice(1, -1).flatMap((_, k) => {
    if (chance(random, 0.1)) return [];
    const side = k + 1;
    const lab = chance(random, 0.5) ? looks.light : chance(random, 0.5) ? looks.deck : looks.dense;
    const wet = chance(random, 0.6) ? albedoOf(shaded(random, lab)) : colour(5, 50);
    const far = gap + wide;
    return [
      body(strip(plan, side, gap, far), -deep - 120, -deep, wet),
      body(strip(plan, side, far, far + wall), -deep - 120, -deep + between(random, 20, 0.9 * deep + 40), paint),
    ];
  });
}

function drawFrame(random: Random, { lengthMm, widthMm }: Plan, floorAt: number, body: MakeBody): Body[] {
  const at = (x: number, y: number) => oblong(x * lengthMm, y * widthMm, between(random, 50, 140), 90);
  const one = body(
    oblong(0.5 * lengthMm, 0.5 * widthMm, 0.75 * lengthMm, 0.6 * widthMm),
    -between(random, 200, 340),
    -150,
  );
  const legs = [at(0.2, 0.25), at(0.8, 0.25), at(0.8, 0.75), at(0.2, 0.75)];
  return [one, ...legs.map((foot) => body(foot, floorAt, -150, one.colour))];
}

/** The box that shakes the deck, beyond its drive end, with the rod between and perhaps a guard and a motor. */
function drawDrive(
  random: Random,
  { lengthMm, widthMm, outline }: Plan,
  floorAt: number,
  colour: Colour,
  body: MakeBody,
): Body[] {
  const end = Math.min(outline[0]![0], outline[3]![0]) - between(random, 40, 260);
  const long = between(random, 0.12, 0.4) * lengthMm;
  const [y, wide] = [between(random, 0.25, 0.75) * widthMm, between(random, 0.15, 0.6) * widthMm];
  const top = between(random, -180, 260);
  const bodies = [
    body(oblong(end - long / 2, y, long, wide), chance(random, 0.5) ? floorAt : -320, top),
    body(oblong(end / 2 + 20, y, Math.abs(end) + 80, between(random, 25, 110)), -110, -40),
  ];
  if (chance(random, 0.6)) {
    const [shift, tall] = [between(random, -0.3, 0.3) * wide, between(random, 60, 350)];
    bodies.push(
      body(oblong(end - long * between(random, 0.3, 0.8), y + shift, 0.35 * long, 0.3 * wide), top, top + tall),
    );
  }
  if (chance(random, 0.5)) {
    const guard = colour(30, 85, 30);
    bodies.push(body(oblong(end - 0.2 * long, y - 0.6 * wide, 0.3 * long, 40), top - 200, top + 250, guard));
  }
  return bodies;
}

/** A box or trough over the high side near the drive end, fed from above. */
function drawFeedBox(random: Random, { feed, outline }: Plan, colour: Colour, body: MakeBody): Body[] {
  const paint = colour();
  const y = outline[0]![1];
  const [low, tall] = [between(random, 8, 120), between(random, 40, 220)];
  const [near, deep] = [between(random, -25, 45), between(random, 60, 260)];
  const foot: Pair[] = [
    [feed[0], y + near - deep],
    [feed[1], y + near - deep],
    [feed[1], y + near],
    [feed[0], y + near],
  ];
  const box = body(foot, low, low + tall, paint);
  const pipe = between(random, 20, 70);
  const x = between(random, feed[0], feed[1]);
  return [
    box,
    ...(chance(random, 0.35) ? [body(round(x, y + near - deep / 2, pipe), low + tall, 2500)] : []),
    ...(chance(random, 0.5) ? [body(oblong(x, y - deep, 60, 60), -500, low)] : []),
  ];
}

/** Boxes, drums, posts and walls about, never between the camera and the deck unless low. */
function drawClutter(
  random: Random,
  { lengthMm, widthMm }: Plan,
  camera: Camera,
  floorAt: number,
  colour: Colour,
  body: MakeBody,
): Body[] {
  const bodies: Body[] = [];
  const [mx, my] = [lengthMm / 2, widthMm / 2];
  const [ex, ey] = [camera.at[0] - mx, camera.at[1] - my];
  for (let n = Math.floor(between(random, 0, 16)); n > 0; n--) {
    const [x, y] = [between(random, -1, 2) * lengthMm, between(random, -1.6, 2.6) * widthMm];
    const [long, wide] = [between(random, 60, 700), between(random, 60, 500)];
    const spare = 0.6 * Math.hypot(long, wide) + 320;
    if (x > -spare && x < lengthMm + spare && y > -spare && y < widthMm + spare) continue;
    const towards = ((x - mx) * ex + (y - my) * ey) / (Math.hypot(x - mx, y - my) * Math.hypot(ex, ey) + 1);
    const post = chance(random, 0.2);
    const high = towards > 0.2 ? floorAt + between(random, 30, 250) : floorAt + between(random, 60, post ? 3500 : 1300);
    const foot = post
      ? oblong(x, y, 90, 120)
      : chance(random, 0.35)
        ? round(x, y, long / 2)
        : oblong(x, y, long, wide, between(random, 0, 3.14));
    bodies.push(body(foot, floorAt, high, colour(6, 88, 20)));
  }
  if (chance(random, 0.6)) {
    // a wall behind
    const size = Math.hypot(ex, ey) + 1;
    const off = between(random, 0.8, 2) * lengthMm + 300;
    const turn = Math.atan2(ey, ex) + Math.PI / 2 + between(random, -0.5, 0.5);
    bodies.push(body(oblong(mx - (ex / size) * off, my - (ey / size) * off, 30000, 100, turn), floorAt, 6000));
  }
  return bodies;
}
