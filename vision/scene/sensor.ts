import { linearToSrgb } from "../colour.ts";
import type { Pair } from "../geometry.ts";
import type { Photo } from "../stages.ts";
import { type Camera, photoPlace } from "./camera.ts";
import type { Plan } from "./plan.ts";
import { bell, between, chance, type Random } from "./random.ts";

/** Exposure, white balance, blur, noise, tone: linear light → 8-bit sRGB. */
export function develop(
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
