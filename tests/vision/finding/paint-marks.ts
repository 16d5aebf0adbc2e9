import { MARK_CELLS, markCells } from "../../../vision/finding/markers.ts";
import type { Pair } from "../../../vision/geometry.ts";
import { invert, project } from "../../../vision/homography.ts";
import { bend, straighten } from "../../../vision/lens-bulge.ts";
import type { Deck, Photo } from "../../../vision/stages.ts";

/** Repeatable noise, 0 to 1 (mulberry32, public domain). */
export function randomFrom(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}
export const normalFrom = (random: () => number) => () =>
  Math.sqrt(-2 * Math.log(random() + 1e-12)) * Math.cos(2 * Math.PI * random());

export interface Paint {
  readonly deckToPhoto: readonly number[];
  readonly lens?: number;
  /** Grey of ink and paper. */
  readonly ink?: number;
  readonly paper?: number;
  /** Grey at a place of the print in mm from its centre, over the print: dirt, a hose. Undefined: the print shows. */
  readonly cover?: (id: number, at: Pair) => number | undefined;
}

/** Print the deck file's marks into the photo, with one cell of white round each, 4 × 4 samples a pixel. */
export function paintMarks(
  photo: Photo,
  deck: Deck,
  { deckToPhoto, lens = 0, ink = 30, paper = 215, cover }: Paint,
): Photo {
  const rgba = new Uint8ClampedArray(photo.rgba);
  const toDeck = invert(deckToPhoto);
  for (const { id, centre, sizeMm, turnDegrees } of deck.file.marks?.items ?? []) {
    const cells = markCells(id);
    const cell = sizeMm / MARK_CELLS;
    const half = sizeMm / 2 + cell;
    const turn = (-turnDegrees * Math.PI) / 180;
    const mirror = deck.hand === "right" ? 1 : -1;
    const reach = 1.5 * half;
    const box = [
      [-reach, -reach],
      [reach, -reach],
      [reach, reach],
      [-reach, reach],
    ].map(([x, y]) => bend(photo, lens, project(deckToPhoto, [centre[0] + x!, centre[1] + y!])));
    const [left, right] = [Math.min(...box.map((p) => p[0])), Math.max(...box.map((p) => p[0]))];
    const [top, bottom] = [Math.min(...box.map((p) => p[1])), Math.max(...box.map((p) => p[1]))];
    for (let j = Math.max(0, Math.floor(top)); j < Math.min(photo.height, bottom); j++) {
      for (let i = Math.max(0, Math.floor(left)); i < Math.min(photo.width, right); i++) {
        let [sum, count] = [0, 0];
        for (let s = 0; s < 16; s++) {
          const pixel: Pair = [i + ((s % 4) + 0.5) / 4, j + (Math.floor(s / 4) + 0.5) / 4];
          const [x, y] = project(toDeck, straighten(photo, lens, pixel));
          const [dx, dy] = [mirror * (x - centre[0]), y - centre[1]];
          const [u, v] = [dx * Math.cos(turn) - dy * Math.sin(turn), dx * Math.sin(turn) + dy * Math.cos(turn)];
          if (Math.abs(u) > half || Math.abs(v) > half) continue;
          const [column, row] = [Math.floor((u + sizeMm / 2) / cell), Math.floor((v + sizeMm / 2) / cell)];
          const out = column < 0 || row < 0 || column >= MARK_CELLS || row >= MARK_CELLS;
          sum += cover?.(id, [u, v]) ?? (out || cells[row * MARK_CELLS + column] ? paper : ink);
          count++;
        }
        const k = 4 * (j * photo.width + i);
        for (let c = 0; c < 3; c++) rgba[k + c] = (sum + (16 - count) * rgba[k + c]!) / 16;
      }
    }
  }
  return { ...photo, rgba };
}

/** Grey noise over everything, and a box blur of 3 px when wanted: a phone in poor light. */
export function roughen(photo: Photo, sigma: number, seed: number, blur = true): Photo {
  const normal = normalFrom(randomFrom(seed));
  const from = photo.rgba;
  const rgba = new Uint8ClampedArray(from);
  const { width, height } = photo;
  for (let j = 1; j < height - 1; j++) {
    for (let i = 1; i < width - 1; i++) {
      const k = 4 * (j * width + i);
      const noise = sigma * normal();
      for (let c = 0; c < 3; c++) {
        let sum = 0;
        for (let dj = -1; dj <= 1; dj++) for (let di = -1; di <= 1; di++) sum += from[k + 4 * (dj * width + di) + c]!;
        rgba[k + c] = (blur ? sum / 9 : from[k + c]!) + noise;
      }
    }
  }
  return { width, height, rgba };
}

/** A dull floor with soft blotches. */
export function floorPhoto(width: number, height: number): Photo {
  const rgba = new Uint8ClampedArray(width * height * 4);
  for (let j = 0; j < height; j++) {
    for (let i = 0; i < width; i++) {
      const grey = 105 + 25 * Math.sin(i / 61) * Math.cos(j / 47) + 12 * Math.sin((i + 2 * j) / 19);
      rgba.set([grey, grey * 0.97, grey * 0.9, 255], 4 * (j * width + i));
    }
  }
  return { width, height, rgba };
}
