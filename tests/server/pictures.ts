import sharp, { type Sharp } from "sharp";
import type { Photo } from "../../vision/index.ts";

/** An invented photo: four coloured quarters, upright, RGB. Wide, so that a turn shows; odd halves, so that a slip shows. */
export const WIDTH = 400;
export const HEIGHT = 330;
export type Colour = readonly [number, number, number];
export const QUARTERS: readonly Colour[] = [
  [176, 64, 64],
  [64, 176, 64],
  [64, 64, 176],
  [192, 192, 192],
];

const colourAt = (x: number, y: number) => QUARTERS[(y < HEIGHT / 2 ? 0 : 2) + (x < WIDTH / 2 ? 0 : 1)] ?? [0, 0, 0];

/** The quarters as a picture of `width × height`, its pixel (column, row) taken from the upright place that `from` gives. */
export function quarters(
  from: (column: number, row: number) => readonly [x: number, y: number] = (x, y) => [x, y],
  [width, height] = [WIDTH, HEIGHT],
): Sharp {
  const rgb = Buffer.alloc(width * height * 3);
  for (let row = 0; row < height; row++) {
    for (let column = 0; column < width; column++) rgb.set(colourAt(...from(column, row)), (row * width + column) * 3);
  }
  return sharp(rgb, { raw: { width, height, channels: 3 } });
}

/** The colour in the middle of each quarter of a decoded photo. */
export function quarterColours({ width, height, rgba }: Photo): Colour[] {
  return [0, 1, 2, 3].map((quarter) => {
    const x = Math.round(width * (quarter % 2 ? 0.75 : 0.25));
    const y = Math.round(height * (quarter > 1 ? 0.75 : 0.25));
    const [r = 0, g = 0, b = 0] = rgba.subarray((y * width + x) * 4);
    return [r, g, b];
  });
}

/** Largest difference between two lists of colours, levels. */
export const farthest = (a: readonly Colour[], b: readonly Colour[]) =>
  Math.max(...a.flatMap((colour, i) => colour.map((level, k) => Math.abs(level - (b[i]?.[k] ?? 0)))));
