import { Matrix, solve } from "ml-matrix";
import sharp from "sharp";
import { CELL_MM } from "./deck-shape.ts";
import type { Painted } from "./paint.ts";
import type { Point } from "./scenario.ts";
import { CLASS } from "./truth.ts";

/** Deck mm → photo pixels, from the outline's corners: least squares of the usual eight unknowns, deck in metres, photo in 1000 px. */
export function homography(deckMm: readonly Point[], photoPx: readonly Point[]): number[] {
  const [rows, right]: [number[][], number[]] = [[], []];
  deckMm.forEach((mm, i) => {
    const [x, y, u, v] = [...mm, ...photoPx[i]!].map((value) => value / 1000) as [number, number, number, number];
    rows.push([x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]);
    right.push(u, v);
  });
  return [...solve(new Matrix(rows), Matrix.columnVector(right)).to1DArray(), 1];
}
function project(h: readonly number[], [xMm, yMm]: Point): Point {
  const [x, y] = [xMm / 1000, yMm / 1000];
  const w = h[6]! * x + h[7]! * y + h[8]!;
  return [(1000 * (h[0]! * x + h[1]! * y + h[2]!)) / w, (1000 * (h[3]! * x + h[4]! * y + h[5]!)) / w];
}

/** Middle of a cell of the deck grid, mm. */
const middleOf = (n: number, columns: number): Point => [
  ((n % columns) + 0.5) * CELL_MM,
  (Math.floor(n / columns) + 0.5) * CELL_MM,
];

/** Cells hidden from the camera, out of the picture or burnt out become unseen. */
export async function markUnseen(
  painted: Painted,
  hidden: Uint8Array,
  toPhoto: number[],
  photo: string,
): Promise<void> {
  const { data, info } = await sharp(photo).blur(2).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  for (let n = 0; n < painted.truth.length; n++) {
    const [x, y] = project(toPhoto, middleOf(n, painted.columns)).map(Math.floor) as Point;
    const outside = x < 0 || y < 0 || x >= info.width || y >= info.height;
    const at = (y * info.width + x) * 3;
    const burntOut = Math.min(data[at]!, data[at + 1]!, data[at + 2]!) >= 249;
    if (outside || hidden[n] === 1 || burntOut) painted.truth[n] = CLASS.unseen;
  }
}

/** Colour of each class in the check picture, by its number. */
const TINTS = [
  [0, 0, 0],
  [90, 160, 255],
  [255, 40, 40],
  [255, 200, 0],
  [40, 220, 80],
  [255, 0, 255],
];

/** The photo laid flat on the deck grid, and below it the same with the truth's borders drawn in: to be looked at. */
export async function checkPicture(painted: Painted, toPhoto: number[], photo: string, file: string): Promise<void> {
  const { data, info } = await sharp(photo).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  const { columns, rows, truth } = painted;
  const picture = Buffer.alloc(columns * rows * 2 * 3);
  truth.forEach((id, n) => {
    const [px, py] = project(toPhoto, middleOf(n, columns));
    const x = Math.max(0, Math.min(info.width - 1, Math.floor(px)));
    const y = Math.max(0, Math.min(info.height - 1, Math.floor(py)));
    const isBorder = ((n + 1) % columns > 0 && id !== truth[n + 1]) || (truth[n + columns] ?? id) !== id;
    for (let c = 0; c < 3; c++) {
      const seen = data[(y * info.width + x) * 3 + c]!;
      const tint = TINTS[id]![c]!;
      picture[n * 3 + c] = seen;
      picture[(truth.length + n) * 3 + c] = isBorder ? tint : 0.82 * seen + 0.18 * tint;
    }
  });
  await sharp(picture, { raw: { width: columns, height: rows * 2, channels: 3 } })
    .jpeg({ quality: 90 })
    .toFile(file);
}
