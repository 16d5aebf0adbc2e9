import { decode, encode } from "fast-png";
import { type Grid, MarksError } from "../vision/index.ts";

/** Masks of classes as PNG with a palette: one cell a pixel, row 0 at y = 0, the number is the class. */

/** Unseen, bare, dense, middling, light, dry: the colours of the drawn picture, so that any viewer shows something. */
const PALETTE = [
  [0, 0, 0],
  [120, 120, 120],
  [58, 31, 214],
  [255, 149, 0],
  [189, 246, 255],
  [230, 0, 122],
];

export const markedPng = ({ grid, labels }: { readonly grid: Grid; readonly labels: Uint8Array }): Uint8Array =>
  encode({ width: grid.columns, height: grid.rows, data: labels, channels: 1, depth: 8, palette: PALETTE });

/**
 * A mask that someone sends: a PNG with a palette, or grey, one class number a pixel.
 *
 * @param grid  What it must be the size of; null: the reading it is laid over has none.
 * @throws {MarksError} when it is no such picture.
 */
export function readMarkedPng(bytes: Uint8Array, grid: Grid | null): { grid: Grid; labels: Uint8Array } {
  if (!grid)
    throw new MarksError(
      "marks-file",
      "Nothing was read in this photo: no areas can be laid over it. Choose a photo that was read.",
    );
  const size = headSize(bytes);
  if (!size || size.width !== grid.columns || size.height !== grid.rows) {
    const found = size ? `${size.width} × ${size.height}` : "no PNG";
    throw new MarksError(
      "marks-file",
      `The picture of areas must be a PNG of ${grid.columns} × ${grid.rows} pixels, one deck cell each; this is ${found}. Export it anew in that size.`,
    );
  }
  const png = decoded(bytes);
  if (png?.channels !== 1 || png.depth > 8)
    throw new MarksError("marks-file", "The picture of areas must have one channel: export it grey or with a palette.");
  const labels = png.depth === 8 ? Uint8Array.from(png.data) : unpack(png.data, png.depth, grid);
  if (labels.some((label) => label > 5))
    throw new MarksError(
      "marks-file",
      "The picture of areas holds numbers above 5. Use 0 unseen, 1 bare, 2 dense, 3 middling, 4 light, 5 dry.",
    );
  return { grid, labels };
}

/** The same of any size up to this many cells. @throws {MarksError} */
export function readAnyMarkedPng(bytes: Uint8Array, mostCells: number): { grid: Grid; labels: Uint8Array } {
  const size = headSize(bytes);
  if (!size || size.width * size.height > mostCells)
    throw new MarksError("marks-file", `A picture of areas must be a PNG of at most ${mostCells} pixels.`);
  return readMarkedPng(bytes, { mmPerCell: 1, columns: size.width, rows: size.height });
}

function decoded(bytes: Uint8Array) {
  try {
    return decode(bytes);
  } catch {
    throw new MarksError("marks-file", "The picture of areas is damaged. Export it again.");
  }
}

/** Width and height as a PNG's head says them, before anything is unpacked. */
function headSize(bytes: Uint8Array): { width: number; height: number } | null {
  const isPng = [137, 80, 78, 71, 13, 10, 26, 10].every((byte, n) => bytes[n] === byte);
  if (!isPng || bytes.length < 33) return null;
  const head = new DataView(bytes.buffer, bytes.byteOffset);
  return { width: head.getUint32(16), height: head.getUint32(20) };
}

/** Pixels of 1, 2 or 4 bits, each row begun at a byte of its own. */
function unpack(data: ArrayLike<number>, depth: number, { columns, rows }: Grid): Uint8Array {
  const labels = new Uint8Array(columns * rows);
  const rowBytes = Math.ceil((columns * depth) / 8);
  for (let i = 0; i < labels.length; i++) {
    const bit = (i % columns) * depth;
    const byte = data[Math.floor(i / columns) * rowBytes + (bit >> 3)]!;
    labels[i] = (byte >> (8 - depth - (bit & 7))) & ((1 << depth) - 1);
  }
  return labels;
}
