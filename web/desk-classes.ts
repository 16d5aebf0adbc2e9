import { decode, encode } from "fast-png";
import type { DeskGrid } from "./desk-draft.ts";

/** Classes of cells ↔ PNG of one channel, 8 bits, as mark-ups are sent; in text as base64. */

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

export function toBase64(bytes: Uint8Array): string {
  let text = "";
  for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
  return btoa(text);
}
export const fromBase64 = (text: string): Uint8Array => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
