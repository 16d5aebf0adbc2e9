/** Pictures for the eye: the photo laid flat with the borders of the truth on it, and the photo with its corners. */
import sharp from "sharp";
import { MM_PER_CELL } from "./cover.ts";
import type { Picture } from "./truth.ts";

const COLOURS = [
  [0, 0, 0],
  [120, 120, 120],
  [255, 40, 40],
  [255, 190, 0],
  [255, 255, 255],
  [40, 140, 255],
];

export async function checkPicture(
  path: string,
  photo: Picture,
  truth: Uint8Array,
  columns: number,
  rows: number,
  toPhoto: (x: number, y: number) => readonly [number, number],
): Promise<void> {
  const flat = Buffer.alloc(columns * rows * 3);
  const marked = Buffer.alloc(columns * rows * 3);
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      const i = y * columns + x;
      const [px, py] = toPhoto((x + 0.5) * MM_PER_CELL, (y + 0.5) * MM_PER_CELL);
      const inside = px >= 0 && py >= 0 && px < photo.width && py < photo.height;
      const at = 3 * (Math.floor(py) * photo.width + Math.floor(px));
      const id = truth[i]!;
      const border = (x > 0 && truth[i - 1] !== id) || (y > 0 && truth[i - columns] !== id);
      for (let k = 0; k < 3; k++) {
        flat[3 * i + k] = inside ? photo.rgb[at + k]! : 0;
        marked[3 * i + k] = border ? COLOURS[id]![k]! : flat[3 * i + k]!;
      }
    }
  }
  const raw = { width: columns, height: rows, channels: 3 as const };
  await sharp({ create: { width: columns, height: 2 * rows, channels: 3, background: "black" } })
    .composite([
      { input: flat, raw, left: 0, top: 0 },
      { input: marked, raw, left: 0, top: rows },
    ])
    .jpeg({ quality: 88 })
    .toFile(`${path}.jpg`);
}
