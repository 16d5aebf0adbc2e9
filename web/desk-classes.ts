import { decode, encode } from "fast-png";
import type { DeskGrid } from "./desk-draft.ts";

/** Classes of cells ↔ PNG of one channel, 8 bits, as mark-ups are sent. */

export const classesPng = ({ columns, rows }: DeskGrid, cells: Uint8Array): Uint8Array =>
  encode({ width: columns, height: rows, data: cells, channels: 1, depth: 8 });

/** @returns null for what is no such picture of this size. */
export function cellsOf(png: Uint8Array, { columns, rows }: DeskGrid): Uint8Array | null {
  try {
    const { width, height, data, channels } = decode(png);
    return width === columns && height === rows && channels === 1 ? Uint8Array.from(data) : null;
  } catch {
    return null;
  }
}
