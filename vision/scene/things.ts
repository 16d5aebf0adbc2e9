import type { Pair } from "../geometry.ts";
import type { Camera } from "./camera.ts";
import { type Albedo, albedoOf } from "./looks.ts";
import type { Plan } from "./plan.ts";
import { bell, between, chance, type Random } from "./random.ts";

type Vector = readonly [number, number, number];

/** Wash pipe, hoses, rails, hands and tools before the deck. */
export function placeThings(random: Random, plan: Plan, camera: Camera, light: Float32Array, hidden: Uint8Array) {
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
