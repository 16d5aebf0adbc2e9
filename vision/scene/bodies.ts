import type { Pair } from "../geometry.ts";
import { straighten } from "../lens-bulge.ts";
import type { Camera } from "./camera.ts";
import type { Albedo } from "./looks.ts";
import type { Noise } from "./random.ts";

/** An upright prism: a convex footprint in deck coordinates (mm, either turn) between two heights above the deck plane. */
export interface Body {
  readonly foot: readonly Pair[];
  readonly low: number;
  readonly high: number;
  readonly colour: Albedo;
  /** How uneven its colour is, 0 even; and the size of its patches, mm. */
  readonly uneven: number;
  readonly patchMm: number;
}

/** Which way most of the light comes from, and how much of it comes from there; the rest comes from all round. */
export interface Lamp {
  readonly towards: readonly [number, number, number];
  readonly share: number;
}

interface Side {
  readonly nx: number;
  readonly ny: number;
  readonly c: number;
}

/**
 * Draw a body where it is nearer than what is there: `depth` holds how far off that is (mm), pixel by pixel.
 *
 * @param hidden  set to 1 where the body comes before the deck (`deck` is 1 there).
 */
export function drawBody(
  body: Body,
  camera: Camera,
  lamp: Lamp,
  noise: Noise,
  { light, depth, deck, hidden }: Layers,
): void {
  const { width, photoToDeck: h, at: eye } = camera;
  const box = boxOf(body, camera);
  const sides = sidesOf(body.foot);
  for (let py = box.top; py < box.bottom; py++) {
    for (let px = box.left; px < box.right; px++) {
      const i = py * width + px;
      const [sx, sy] = straighten(camera, camera.lens, [px + 0.5, py + 0.5]);
      const w = h[6]! * sx + h[7]! * sy + h[8]!;
      const sign = w > 0 ? 1 : -1;
      let dx = sign * ((h[0]! * sx + h[1]! * sy + h[2]!) / w - eye[0]);
      let dy = sign * ((h[3]! * sx + h[4]! * sy + h[5]!) / w - eye[1]);
      let dz = -sign * eye[2];
      const size = Math.hypot(dx, dy, dz);
      dx /= size;
      dy /= size;
      dz /= size;
      // clip the ray to the prism
      let [enter, leave] = [1, depth[i]!];
      let [nx, ny, nz] = [0, 0, 0];
      const topAt = ((dz < 0 ? body.high : body.low) - eye[2]) / dz;
      const bottomAt = ((dz < 0 ? body.low : body.high) - eye[2]) / dz;
      if (topAt > enter) [enter, nz] = [topAt, dz < 0 ? 1 : -1];
      leave = Math.min(leave, bottomAt);
      for (const side of sides) {
        const away = side.nx * eye[0] + side.ny * eye[1] - side.c;
        const closing = side.nx * dx + side.ny * dy;
        const t = -away / closing;
        if (closing < 0) {
          if (t > enter) [enter, nx, ny, nz] = [t, side.nx, side.ny, 0];
        } else if (closing > 0) leave = Math.min(leave, t);
        else if (away > 0) leave = -1;
      }
      if (enter >= leave || enter <= 1) continue;
      const [x, y, z] = [eye[0] + enter * dx, eye[1] + enter * dy, eye[2] + enter * dz];
      const facing = Math.max(0, nx * lamp.towards[0] + ny * lamp.towards[1] + nz * lamp.towards[2]);
      const lit = 1 - lamp.share + 1.6 * lamp.share * facing - (nz < 0 ? 0.4 : 0);
      const [u, v] = nz === 0 ? [(x + y) / body.patchMm, z / body.patchMm] : [x / body.patchMm, y / body.patchMm];
      const gain = Math.max(0.02, lit * (1 + body.uneven * (noise(u, v) + 0.5 * noise(4 * u, 4 * v))));
      for (let k = 0; k < 3; k++) light[3 * i + k] = body.colour[k]! * gain;
      depth[i] = enter;
      if (deck[i]) hidden[i] = 1;
    }
  }
}

/** Planes over the photo: light (× 3), how far off, 1 where the deck shows, 1 where something stands before it. */
export interface Layers {
  readonly light: Float32Array;
  readonly depth: Float32Array;
  readonly deck: Uint8Array;
  readonly hidden: Uint8Array;
}

function sidesOf(foot: readonly Pair[]): Side[] {
  let twice = 0;
  foot.forEach(([x, y], k) => {
    const [nextX, nextY] = foot[(k + 1) % foot.length]!;
    twice += x * nextY - nextX * y;
  });
  const turn = twice > 0 ? 1 : -1;
  return foot.map(([x, y], k) => {
    const [nextX, nextY] = foot[(k + 1) % foot.length]!;
    const size = Math.hypot(nextX - x, nextY - y) * turn;
    const [nx, ny] = [(nextY - y) / size, (x - nextX) / size];
    return { nx, ny, c: nx * x + ny * y };
  });
}

/** The part of the photo a body can show in; all of it when some corner is near or behind the camera. */
function boxOf({ foot, low, high }: Body, camera: Camera) {
  const { width, height } = camera;
  const points = foot.flatMap(([x, y]) => [camera.see([x, y, low]), camera.see([x, y, high])]);
  if (foot.some(([x, y]) => [low, high].some((z) => camera.depthOf([x, y, z]) < 50))) {
    return { left: 0, top: 0, right: width, bottom: height };
  }
  const [xs, ys] = [points.map((p) => p[0]), points.map((p) => p[1])];
  const [spareX, spareY] = [0.06 * width, 0.06 * height]; // the lens bends
  const clip = (value: number, end: number) => Math.max(0, Math.min(end, Math.round(value)));
  return {
    left: clip(Math.min(...xs) - spareX, width),
    right: clip(Math.max(...xs) + spareX, width),
    top: clip(Math.min(...ys) - spareY, height),
    bottom: clip(Math.max(...ys) + spareY, height),
  };
}
