/** Cover → class ids on the 2 mm grid, and what the photo hides. */
import { type Cover, MM_PER_CELL } from "./cover.ts";
import { blank, type Field } from "./fields.ts";
import { isOnDeck, type Table } from "./tables.ts";

export const UNSEEN = 0;
export const BARE = 1;
export const DRY = 5;
const DISC_MM = 20;
const LEAST_COVER = 1 / 3;

/**
 * Class of each cell: dry where more than half the film is broken; else the solid with the largest share where solids cover at
 * least a third of the 20 mm disc around it, else bare; unseen where the cell's middle is off the deck.
 */
export function classesOf(cover: Cover, table: Table): Uint8Array {
  const { columns, rows } = cover;
  const inside = new Uint8Array(columns * rows);
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      inside[y * columns + x] = isOnDeck(table, (x + 0.5) * MM_PER_CELL, (y + 0.5) * MM_PER_CELL) ? 1 : 0;
    }
  }
  const means = cover.solids.map((solid) => discMean(solid, inside, DISC_MM / 2 / MM_PER_CELL));
  const ids = new Uint8Array(columns * rows);
  for (let i = 0; i < ids.length; i++) {
    if (!inside[i]) continue;
    if (cover.broken.data[i]! > 0.5) {
      ids[i] = DRY;
      continue;
    }
    const shares = means.map((m) => m.data[i]!);
    const all = shares[0]! + shares[1]! + shares[2]!;
    ids[i] = all < LEAST_COVER ? BARE : 2 + shares.indexOf(Math.max(...shares));
  }
  return ids;
}

/** Mean over the cells of the deck whose middles lie within `radius` cells. */
export function discMean(field: Field, inside: Uint8Array, radius: number): Field {
  const { columns, rows, data } = field;
  const out = blank(columns, rows);
  const reach = Math.floor(radius);
  const halves = Array.from({ length: 2 * reach + 1 }, (_, k) => Math.floor(Math.sqrt(radius ** 2 - (k - reach) ** 2)));
  // running sums along each row, of values and of cells on the deck
  const wide = columns + 1;
  const sums = new Float64Array(wide * rows);
  const counts = new Float64Array(wide * rows);
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      const on = inside[y * columns + x]!;
      sums[y * wide + x + 1] = sums[y * wide + x]! + on * data[y * columns + x]!;
      counts[y * wide + x + 1] = counts[y * wide + x]! + on;
    }
  }
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      if (!inside[y * columns + x]) continue;
      let [sum, count] = [0, 0];
      for (let k = -reach; k <= reach; k++) {
        const row = y + k;
        if (row < 0 || row >= rows) continue;
        const half = halves[k + reach]!;
        const [a, b] = [row * wide + Math.max(0, x - half), row * wide + Math.min(columns, x + half + 1)];
        sum += sums[b]! - sums[a]!;
        count += counts[b]! - counts[a]!;
      }
      out.data[y * columns + x] = sum / count;
    }
  }
  return out;
}

/** An 8-bit picture, three channels a pixel. */
export interface Picture {
  readonly width: number;
  readonly height: number;
  readonly rgb: Uint8Array;
}

const BURNT = 250;

/**
 * Class ids with the cells set to unseen that the photo does not show: out of the frame, behind something, or burnt out.
 *
 * @param toPhoto  deck mm → pixels of the final photo.
 * @param deckInFront  true where the deck itself is what is seen at that pixel.
 */
export function seenIn(
  ids: Uint8Array,
  columns: number,
  photo: Picture,
  toPhoto: (x: number, y: number) => readonly [number, number],
  deckInFront: (px: number, py: number) => boolean,
): Uint8Array {
  return ids.map((id, i) => {
    if (id === UNSEEN) return id;
    const [px, py] = toPhoto(((i % columns) + 0.5) * MM_PER_CELL, (Math.floor(i / columns) + 0.5) * MM_PER_CELL);
    if (!(px >= 0 && py >= 0 && px < photo.width && py < photo.height) || !deckInFront(px, py)) return UNSEEN;
    const at = 3 * (Math.floor(py) * photo.width + Math.floor(px));
    return Math.min(photo.rgb[at]!, photo.rgb[at + 1]!, photo.rgb[at + 2]!) >= BURNT ? UNSEEN : id;
  });
}
