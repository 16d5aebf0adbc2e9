import { linearToSrgb } from "../colour.ts";
import type { Pair } from "../geometry.ts";
import type { Photo } from "../stages.ts";
import { type Camera, photoPlace, straighten } from "./camera.ts";
import { type Albedo, albedoOf } from "./looks.ts";
import type { Bed, Plan } from "./plan.ts";
import { bell, between, chance, fractal, makeNoise, type Random, ramp } from "./random.ts";
import { FLOATS, type Surface } from "./surface.ts";

type Vector = readonly [number, number, number];

/** The photo, and 1 for each of its pixels where something stands before the deck. */
export interface Shot {
  readonly photo: Photo;
  readonly hidden: Uint8Array;
}

/** See the painted deck and what stands round it through the camera, glare included; then the sensor's doings. */
export function photograph(random: Random, plan: Plan, bed: Bed, surface: Surface, camera: Camera): Shot {
  const { width, height, photoToDeck: h, at: eye } = camera;
  const light = new Float32Array(width * height * 3);
  const around = drawSurroundings(random, plan);
  const sky = drawSky(random);
  const { columns, rows, cellMm } = bed;
  const { planes } = surface;
  const seen = new Float64Array(FLOATS);
  const shine: [number, number, number] = [0, 0, 0];
  for (let py = 0, i = 0; py < height; py++) {
    for (let px = 0; px < width; px++, i++) {
      const [sx, sy] = straighten(camera, [px + 0.5, py + 0.5]);
      const w = h[6]! * sx + h[7]! * sy + h[8]!;
      const x = (h[0]! * sx + h[1]! * sy + h[2]!) / w;
      const y = (h[3]! * sx + h[4]! * sy + h[5]!) / w;
      // beyond the horizon the plane's points lie behind the camera
      const ahead = (x - eye[0]) ** 2 + (y - eye[1]) ** 2 < 4e8 && w * h[8]! > 0;
      const [u, v] = [x / cellMm - 0.5, y / cellMm - 0.5];
      const inBed = ahead && u > -0.5 && v > -0.5 && u < columns - 0.5 && v < rows - 0.5;
      const cell = inBed
        ? Math.min(rows - 1, Math.max(0, Math.round(v))) * columns + Math.min(columns - 1, Math.max(0, Math.round(u)))
        : -1;
      if (cell >= 0 && bed.inside[cell]) {
        sample(planes, columns, rows, u, v, cell, bed.inside, seen);
        reflect(eye, x, y, seen[3]!, seen[4]!, sky, shine);
        for (let k = 0; k < 3; k++) light[3 * i + k] = seen[k]! + seen[5]! * shine[k]!;
      } else {
        if (ahead) around.ground(x, y, shine);
        else around.wall(px / width, py / height, shine);
        for (let k = 0; k < 3; k++) light[3 * i + k] = shine[k]!;
      }
    }
  }
  const hidden = new Uint8Array(width * height);
  placeThings(random, plan, camera, light, hidden);
  return { photo: develop(random, light, width, height, camera, plan), hidden };
}

function sample(
  planes: Float32Array,
  columns: number,
  rows: number,
  u: number,
  v: number,
  nearest: number,
  inside: Uint8Array,
  out: Float64Array,
) {
  const column = Math.min(columns - 2, Math.max(0, Math.floor(u)));
  const row = Math.min(rows - 2, Math.max(0, Math.floor(v)));
  const [fu, fv] = [Math.min(1, Math.max(0, u - column)), Math.min(1, Math.max(0, v - row))];
  const i = row * columns + column;
  if (!(inside[i] && inside[i + 1] && inside[i + columns] && inside[i + columns + 1])) {
    for (let k = 0; k < FLOATS; k++) out[k] = planes[nearest * FLOATS + k]!;
    return;
  }
  const [a, b, c, d] = [i * FLOATS, (i + 1) * FLOATS, (i + columns) * FLOATS, (i + columns + 1) * FLOATS];
  for (let k = 0; k < FLOATS; k++) {
    const top = planes[a + k]! * (1 - fu) + planes[b + k]! * fu;
    out[k] = top * (1 - fv) + (planes[c + k]! * (1 - fu) + planes[d + k]! * fu) * fv;
  }
}

/** Light that the water's surface mirrors toward the eye. Fresnel by C. Schlick (1994), Computer Graphics Forum 13 (3). */
function reflect(
  eye: Vector,
  x: number,
  y: number,
  slopeX: number,
  slopeY: number,
  sky: Sky,
  out: [number, number, number],
) {
  let [vx, vy, vz] = [eye[0] - x, eye[1] - y, eye[2]];
  const far = 1 / Math.hypot(vx, vy, vz);
  vx *= far;
  vy *= far;
  vz *= far;
  const n = 1 / Math.sqrt(1 + slopeX * slopeX + slopeY * slopeY);
  const [nx, ny, nz] = [-slopeX * n, -slopeY * n, n];
  const facing = Math.max(0.02, vx * nx + vy * ny + vz * nz);
  const fresnel = 0.02 + 0.98 * (1 - facing) ** 5;
  sky(2 * facing * nx - vx, 2 * facing * ny - vy, 2 * facing * nz - vz, out);
  for (let k = 0; k < 3; k++) out[k]! *= fresnel;
}

type Sky = (x: number, y: number, z: number, out: [number, number, number]) => void;
/** What the water mirrors: open sky or ceiling, windows or tubes, sun or lamp. */
function drawSky(random: Random): Sky {
  const [zenith, horizon] = [between(random, 0.1, 2.5), between(random, 0.1, 3.5)];
  const cold = between(random, -0.25, 0.35);
  const patches = makeNoise(random);
  const uneven = between(random, 0, 0.8);
  const lamps = Array.from({ length: Math.floor(between(random, 0, 5)) }, () => {
    const [turn, high] = [between(random, 0, 2 * Math.PI), between(random, 0.25, 1.5)];
    const tube = chance(random, 0.35);
    const sharp = tube
      ? between(random, 60, 400)
      : chance(random, 0.5)
        ? between(random, 400, 4000)
        : between(random, 8, 120);
    const along = between(random, 0, Math.PI);
    return {
      x: Math.cos(turn) * Math.cos(high),
      y: Math.sin(turn) * Math.cos(high),
      z: Math.sin(high),
      sharp,
      strength: between(random, 2, sharp > 300 ? 200 : 25),
      alongX: tube ? Math.cos(along) : 0,
      alongY: tube ? Math.sin(along) : 0,
      stretch: tube ? between(random, 0.8, 0.97) : 0,
      warm: between(random, -0.2, 0.2),
    };
  });
  return (x, y, z, out) => {
    const base = Math.max(
      0.02,
      (horizon + (zenith - horizon) * Math.max(0, z)) * (1 + uneven * patches(x * 5 + 9, y * 5 + 9)),
    );
    out[0] = base * (1 - 0.5 * cold);
    out[1] = base;
    out[2] = base * (1 + 0.5 * cold);
    for (const lamp of lamps) {
      const [dx, dy, dz] = [x - lamp.x, y - lamp.y, z - lamp.z];
      const run = dx * lamp.alongX + dy * lamp.alongY;
      const off = dx * dx + dy * dy + dz * dz - lamp.stretch * run * run;
      if (off * lamp.sharp > 12) continue;
      const glow = lamp.strength * Math.exp(-off * lamp.sharp);
      out[0] += glow * (1 + lamp.warm);
      out[1] += glow;
      out[2] += glow * (1 - lamp.warm);
    }
  };
}

/** Frame, launders, floor and clutter round the deck, in its plane; a wall beyond the horizon. */
function drawSurroundings(random: Random, { outline, lengthMm, widthMm }: Plan) {
  const edges = outline.map((from, k): [number, number, number] => {
    const to = outline[(k + 1) % outline.length]!;
    const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    const size = Math.hypot(dx, dy);
    return [dy / size, -dx / size, (dy * from[0] - dx * from[1]) / size]; // outward for the clockwise outline (y down)
  });
  const colour = (low = 10, high = 80, tint = 12): Albedo =>
    albedoOf([between(random, low, high), bell(random) * tint, bell(random) * tint + 4]);
  const rims = edges.map(() => ({ wide: between(random, 6, 90), colour: colour(), high: between(random, 0.7, 1.3) }));
  const rimSame = chance(random, 0.7);
  const launder = { wide: between(random, 30, 160), colour: colour(5, 45), wet: colour(20, 70) };
  const floor = [colour(15, 70, 4), colour(15, 70, 6)] as const;
  const [rough, fine] = [makeNoise(random), makeNoise(random)];
  const [scale, contrast] = [between(random, 60, 500), between(random, 0.1, 0.7)];
  const brightness = between(random, 0.35, 1.2);
  const things = Array.from({ length: Math.floor(between(random, 0, 9)) }, () => {
    const turn = between(random, 0, Math.PI);
    return {
      x: between(random, -0.9, 1.9) * lengthMm,
      y: between(random, -1.2, 2.2) * widthMm,
      w: between(random, 30, 0.5 * lengthMm),
      h: between(random, 20, 0.4 * widthMm),
      c: Math.cos(turn),
      s: Math.sin(turn),
      colour: colour(5, 88, 18),
    };
  });
  const gap = between(random, 0, 25);
  return {
    /** Linear RGB at a place of the deck's plane, written to `out`. */
    ground(x: number, y: number, out: [number, number, number]) {
      let [away, side] = [-1e9, 0];
      for (let k = 0; k < edges.length; k++) {
        const [nx, ny, c] = edges[k]!;
        const d = nx * x + ny * y - c;
        if (d > away) [away, side] = [d, k];
      }
      const grain = 1 + 0.12 * fine(x / 9, y / 9) + 0.15 * rough(x / 130, y / 90);
      const rim = rims[rimSame ? 0 : side]!;
      const past = away - rim.wide;
      if (past < 0) {
        const lip = 1 + 0.35 * (0.5 - away / rim.wide) * (rim.high - 0.8);
        mix(rim.colour, rim.colour, 0, grain * lip * rims[side]!.high, out);
      } else if ((side === 1 || side === 2) && past > gap && past < gap + launder.wide) {
        mix(launder.colour, launder.wet, ramp(0.2, 0.8, rough(x / 80, y / 80) + 0.5), grain, out);
      } else {
        const thing = things.find((it) => {
          const [dx, dy] = [x - it.x, y - it.y];
          return Math.abs(it.c * dx + it.s * dy) < it.w / 2 && Math.abs(it.c * dy - it.s * dx) < it.h / 2;
        });
        if (thing) mix(thing.colour, thing.colour, 0, grain, out);
        else mix(floor[0], floor[1], 0.5 + contrast * fractal(rough, x / scale, y / scale, 3), grain * brightness, out);
      }
    },
    wall(u: number, v: number, out: [number, number, number]) {
      mix(floor[1], floor[0], 0.5 + contrast * fractal(rough, u * 6, v * 6, 3), brightness, out);
    },
  };
}

function mix(a: Albedo, b: Albedo, t: number, gain: number, out: [number, number, number]) {
  for (let k = 0; k < 3; k++) out[k] = Math.max(0.002, (a[k]! + (b[k]! - a[k]!) * t) * gain);
}

/** Feed box, wash pipe, hoses, rails, hands and tools before the deck. */
function placeThings(random: Random, plan: Plan, camera: Camera, light: Float32Array, hidden: Uint8Array) {
  const { lengthMm, widthMm, feed } = plan;
  const any = (): Albedo => albedoOf([between(random, 8, 85), bell(random) * 12, bell(random) * 14]);
  const tube = (from: Vector, to: Vector, thick: number, colour: Albedo) => {
    const [a, b] = [camera.see(from), camera.see(to)];
    const size = (p: Vector, q: Pair) => {
      const [qx, qy] = camera.see([p[0], p[1], p[2] + thick]);
      const [rx, ry] = camera.see([p[0], p[1] + thick, p[2]]);
      return Math.max(1, 0.5 * Math.max(Math.hypot(qx - q[0], qy - q[1]), Math.hypot(rx - q[0], ry - q[1])));
    };
    fillTube(camera, a, b, size(from, a), size(to, b), colour, light, hidden);
  };
  if (chance(random, 0.75)) {
    const [z, y, colour] = [between(random, 15, 160), between(random, -50, 25), any()];
    tube(
      [feed[1] + between(random, -0.3, 0.1) * lengthMm, y, z],
      [lengthMm * between(random, 0.8, 1.05), y, z],
      between(random, 12, 60),
      colour,
    );
  }
  if (chance(random, 0.75)) {
    const [z, colour] = [between(random, 20, 200), any()];
    const deep = between(random, -60, 40);
    for (let k = 0; k < 3; k++)
      tube([feed[0], deep - 25 * k, z], [feed[1], deep - 25 * k, z], between(random, 40, 90), colour);
  }
  if (chance(random, 0.3)) {
    const z = between(random, 40, 400);
    const across = chance(random, 0.5);
    const [p, q]: [Vector, Vector] = across
      ? [
          [between(random, 0, lengthMm), -200, z],
          [between(random, 0, lengthMm), widthMm + 200, z],
        ]
      : [
          [-200, between(random, 0, widthMm), z],
          [lengthMm + 200, between(random, 0, widthMm), z],
        ];
    tube(p, q, between(random, 10, 55), any());
  }
  if (chance(random, 0.2)) {
    // a hose, an arm or a tool reaching in from outside
    const colour = chance(random, 0.5)
      ? albedoOf([between(random, 30, 75), between(random, 8, 18), between(random, 12, 26)])
      : any();
    const end: Vector = [between(random, 0.1, 1) * lengthMm, between(random, 0.1, 1) * widthMm, between(random, 5, 60)];
    const start: Vector = [end[0] + bell(random) * 300, widthMm + 500, between(random, 100, 400)];
    const thick = between(random, 15, 90);
    tube(start, end, thick, colour);
    if (thick > 50) for (let k = 0; k < 4; k++) tube(end, [end[0] + (k - 1.5) * 28, end[1] - 90, 10], 18, colour);
  }
}

function fillTube(
  camera: Camera,
  a: Pair,
  b: Pair,
  ra: number,
  rb: number,
  colour: Albedo,
  light: Float32Array,
  hidden: Uint8Array,
) {
  const { width, height } = camera;
  const r = Math.max(ra, rb);
  if (r > width) return;
  const clip = (value: number, end: number) => Math.max(0, Math.min(end, Math.round(value)));
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const size = Math.max(1e-6, dx * dx + dy * dy);
  for (let py = clip(Math.min(a[1], b[1]) - r, height); py < clip(Math.max(a[1], b[1]) + r, height); py++) {
    for (let px = clip(Math.min(a[0], b[0]) - r, width); px < clip(Math.max(a[0], b[0]) + r, width); px++) {
      const t = Math.min(1, Math.max(0, ((px - a[0]) * dx + (py - a[1]) * dy) / size));
      const off = (px - a[0] - t * dx) * -dy + (py - a[1] - t * dy) * dx;
      const away = Math.hypot(px - a[0] - t * dx, py - a[1] - t * dy) / (ra + (rb - ra) * t);
      if (away > 1) continue;
      const i = py * width + px;
      hidden[i] = 1;
      const round = 0.35 + 0.75 * Math.sqrt(1 - away * away) + (off > 0 ? 0.12 : -0.12) * away;
      for (let k = 0; k < 3; k++) light[3 * i + k] = colour[k]! * round;
    }
  }
}

/** Exposure, white balance, blur, noise, tone: linear light → 8-bit sRGB. */
function develop(
  random: Random,
  light: Float32Array,
  width: number,
  height: number,
  camera: Camera,
  plan: Plan,
): Photo {
  const warm = bell(random) * 0.16;
  const green = bell(random) * 0.05;
  const gains = [1 + warm, 1 + green, 1 - warm];
  if (chance(random, 0.3)) blur(light, width, height, [between(random, 0.3, 1.6), 0]);
  if (chance(random, 0.25)) {
    const [a, b] = [
      photoPlace(camera, [plan.lengthMm / 2 - 1, plan.widthMm / 2]),
      photoPlace(camera, [plan.lengthMm / 2 + 1, plan.widthMm / 2]),
    ];
    const shake = between(random, 1, 8) / 4;
    blur(light, width, height, [(b[0] - a[0]) * shake, (b[1] - a[1]) * shake]);
  }
  let mean = 0;
  let count = 0;
  // metered over the middle of the picture, as phones do
  for (let py = Math.round(0.25 * height); py < 0.75 * height; py += 3) {
    for (let px = Math.round(0.25 * width); px < 0.75 * width; px += 3, count++)
      mean += Math.min(1.2, light[3 * (py * width + px) + 1]!);
  }
  mean /= count;
  const exposure = (between(random, 0.14, 0.34) * Math.exp(0.25 * bell(random))) / Math.max(0.01, mean);
  const [shot, read] = [between(random, 0.002, 0.03), between(random, 0.001, 0.012)];
  const contrast = between(random, -0.15, 0.45);
  const vivid = between(random, 0.75, 1.3);
  const corners = between(random, 0, 0.35);
  const tone = Uint8Array.from({ length: 4096 }, (_, k) => {
    const v = linearToSrgb(k / 4095) / 255;
    return Math.round(255 * Math.min(1, Math.max(0, v + contrast * (v * v * (3 - 2 * v) - v))));
  });
  const rgba = new Uint8ClampedArray(width * height * 4);
  const value = [0, 0, 0];
  for (let py = 0, i = 0; py < height; py++) {
    for (let px = 0; px < width; px++, i++) {
      const r2 = ((px / width - 0.5) ** 2 + (py / height - 0.5) ** 2) * 2;
      const gain = exposure * (1 - corners * r2);
      for (let k = 0; k < 3; k++) {
        const v = light[3 * i + k]! * gain * gains[k]!;
        value[k] = v + (random() + random() - 1) * 1.7 * (shot * Math.sqrt(Math.max(0, v)) + read);
      }
      const grey = 0.3 * value[0]! + 0.59 * value[1]! + 0.11 * value[2]!;
      for (let k = 0; k < 3; k++) {
        const v = grey + vivid * (value[k]! - grey);
        rgba[4 * i + k] = tone[Math.max(0, Math.min(4095, Math.round(v * 4095)))]!;
      }
      rgba[4 * i + 3] = 255;
    }
  }
  return { width, height, rgba };
}

/** Mean of seven samples along a line (both axes when it has no second part: out of focus). */
function blur(light: Float32Array, width: number, height: number, [dx, dy]: Pair) {
  const lines: Pair[] =
    dy === 0
      ? [
          [dx, 0],
          [0, dx],
        ]
      : [[dx, dy]];
  for (const [lx, ly] of lines) {
    const from = light.map((value) => Math.min(4, value) / 7);
    light.fill(0);
    for (let n = -3; n <= 3; n++) {
      const [ox, oy] = [Math.round((lx * n) / 2), Math.round((ly * n) / 2)];
      for (let py = 0; py < height; py++) {
        const row = Math.max(0, Math.min(height - 1, py + oy)) * width;
        for (let px = 0, i = 3 * py * width; px < width; px++, i += 3) {
          const j = 3 * (row + Math.max(0, Math.min(width - 1, px + ox)));
          light[i]! += from[j]!;
          light[i + 1]! += from[j + 1]!;
          light[i + 2]! += from[j + 2]!;
        }
      }
    }
  }
}
