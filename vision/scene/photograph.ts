import { straighten } from "../lens-bulge.ts";
import type { Photo } from "../stages.ts";
import { drawBody } from "./bodies.ts";
import type { Camera } from "./camera.ts";
import type { Looks } from "./looks.ts";
import type { Bed, Plan } from "./plan.ts";
import { between, chance, makeNoise, type Random } from "./random.ts";
import { develop } from "./sensor.ts";
import { FLOATS, type Surface } from "./surface.ts";
import { drawSurroundings } from "./surroundings.ts";
import { placeThings } from "./things.ts";

type Vector = readonly [number, number, number];

/** The photo, and 1 for each of its pixels where something stands before the deck. */
export interface Shot {
  readonly photo: Photo;
  readonly hidden: Uint8Array;
}

/** See the painted deck and what stands round it through the camera, glare included; then the sensor's doings. */
export function photograph(random: Random, plan: Plan, bed: Bed, surface: Surface, looks: Looks, camera: Camera): Shot {
  const { width, height, photoToDeck: h, at: eye } = camera;
  const size = width * height;
  const layers = {
    light: new Float32Array(size * 3),
    depth: new Float32Array(size),
    deck: new Uint8Array(size),
    hidden: new Uint8Array(size),
  };
  const { light } = layers;
  const around = drawSurroundings(random, plan, looks, camera);
  const texture = makeNoise(random);
  const far = between(random, 0.2, 1.5);
  const sky = drawSky(random);
  const { columns, rows, cellMm } = bed;
  const { planes } = surface;
  const seen = new Float64Array(FLOATS);
  const shine: [number, number, number] = [0, 0, 0];
  for (let py = 0, i = 0; py < height; py++) {
    for (let px = 0; px < width; px++, i++) {
      const [sx, sy] = straighten(camera, camera.lens, [px + 0.5, py + 0.5]);
      const w = h[6]! * sx + h[7]! * sy + h[8]!;
      const x = (h[0]! * sx + h[1]! * sy + h[2]!) / w;
      const y = (h[3]! * sx + h[4]! * sy + h[5]!) / w;
      // beyond the horizon the plane's points lie behind the camera
      const ahead = (x - eye[0]) ** 2 + (y - eye[1]) ** 2 < 4e8 && w > 0;
      const [u, v] = [x / cellMm - 0.5, y / cellMm - 0.5];
      const inBed = ahead && u > -0.5 && v > -0.5 && u < columns - 0.5 && v < rows - 0.5;
      const cell = inBed
        ? Math.min(rows - 1, Math.max(0, Math.round(v))) * columns + Math.min(columns - 1, Math.max(0, Math.round(u)))
        : -1;
      if (cell >= 0 && bed.inside[cell]) {
        sample(planes, columns, rows, u, v, cell, bed.inside, seen);
        reflect(eye, x, y, seen[3]!, seen[4]!, sky, shine);
        for (let k = 0; k < 3; k++) light[3 * i + k] = seen[k]! + seen[5]! * shine[k]!;
        layers.deck[i] = 1;
        layers.depth[i] = Math.hypot(x - eye[0], y - eye[1], eye[2]);
      } else {
        // on from the deck plane down to the floor, or off to nowhere
        const on = 1 - around.floorAt / eye[2];
        if (ahead) around.floor(eye[0] + on * (x - eye[0]), eye[1] + on * (y - eye[1]), shine);
        else shine.fill(far * 0.3);
        for (let k = 0; k < 3; k++) light[3 * i + k] = shine[k]!;
        layers.depth[i] = ahead ? on * Math.hypot(x - eye[0], y - eye[1], eye[2]) : 1e6;
      }
    }
  }
  for (const body of around.bodies) drawBody(body, camera, around.lamp, texture, layers);
  placeThings(random, plan, camera, light, layers.hidden);
  return { photo: develop(random, light, width, height, camera, plan), hidden: layers.hidden };
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
