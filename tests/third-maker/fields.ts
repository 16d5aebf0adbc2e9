import type { Dice } from "./dice.ts";

/** One number a cell, row by row, row 0 at deck y = 0. */
export interface Field {
  readonly columns: number;
  readonly rows: number;
  readonly data: Float32Array;
}

export const blank = (columns: number, rows: number): Field => ({
  columns,
  rows,
  data: new Float32Array(columns * rows),
});

/** Smooth noise, about -1 to 1, with lumps of `alongCells` by `acrossCells`; each further octave is half as large and strong. */
export function lumps(
  dice: Dice,
  columns: number,
  rows: number,
  alongCells: number,
  acrossCells: number,
  octaves = 1,
): Field {
  const out = blank(columns, rows);
  let [strength, total] = [1, 0];
  for (let octave = 0; octave < octaves; octave++, strength /= 2) {
    const [sx, sy] = [Math.max(1, alongCells / 2 ** octave), Math.max(1, acrossCells / 2 ** octave)];
    addLattice(dice, out, sx, sy, strength);
    total += strength ** 2;
  }
  const scale = 1 / Math.sqrt(total);
  for (let i = 0; i < out.data.length; i++) out.data[i]! *= scale;
  return out;
}

function addLattice(dice: Dice, out: Field, sx: number, sy: number, strength: number): void {
  const [nx, ny] = [Math.ceil(out.columns / sx) + 3, Math.ceil(out.rows / sy) + 3];
  const lattice = Float32Array.from({ length: nx * ny }, () => 2 * dice.unit() - 1);
  const [offX, offY] = [dice.unit(), dice.unit()];
  const ease = (t: number) => t * t * (3 - 2 * t);
  const left = new Int32Array(out.columns);
  const part = new Float32Array(out.columns);
  for (let x = 0; x < out.columns; x++) {
    const at = x / sx + offX;
    left[x] = Math.floor(at);
    part[x] = ease(at - left[x]!);
  }
  for (let y = 0; y < out.rows; y++) {
    const at = y / sy + offY;
    const top = Math.floor(at);
    const v = ease(at - top);
    for (let x = 0; x < out.columns; x++) {
      const i = top * nx + left[x]!;
      const u = part[x]!;
      const upper = lattice[i]! + (lattice[i + 1]! - lattice[i]!) * u;
      const lower = lattice[i + nx]! + (lattice[i + nx + 1]! - lattice[i + nx]!) * u;
      out.data[y * out.columns + x]! += strength * (upper + (lower - upper) * v) * 1.6;
    }
  }
}

/** Mean over a window of (2·rx + 1) by (2·ry + 1) cells, `times` times over: three times is nearly Gaussian. */
export function smooth(field: Field, rx: number, ry: number, times = 1): Field {
  let { data } = field;
  const { columns, rows } = field;
  for (let n = 0; n < times; n++) {
    if (rx > 0) data = runningMean(data, rows, columns, columns, 1, rx);
    if (ry > 0) data = runningMean(data, columns, rows, 1, columns, ry);
  }
  return { columns, rows, data };
}

function runningMean(data: Float32Array, lines: number, length: number, lineStep: number, step: number, r: number) {
  const out = new Float32Array(data.length);
  for (let line = 0; line < lines; line++) {
    const start = line * lineStep;
    let [sum, count] = [0, 0];
    for (let k = 0; k < Math.min(r, length); k++, count++) sum += data[start + k * step]!;
    for (let k = 0; k < length; k++) {
      if (k + r < length) {
        sum += data[start + (k + r) * step]!;
        count++;
      }
      if (k - r - 1 >= 0) {
        sum -= data[start + (k - r - 1) * step]!;
        count--;
      }
      out[start + k * step] = sum / count;
    }
  }
  return out;
}

/** Value at a place given in cells, between cell centres by straight lines; the border value beyond the border. */
export function sample({ columns, rows, data }: Field, x: number, y: number): number {
  const cx = Math.min(columns - 1, Math.max(0, x - 0.5));
  const cy = Math.min(rows - 1, Math.max(0, y - 0.5));
  const [x0, y0] = [Math.floor(cx), Math.floor(cy)];
  const [x1, y1] = [Math.min(columns - 1, x0 + 1), Math.min(rows - 1, y0 + 1)];
  const [u, v] = [cx - x0, cy - y0];
  const top = data[y0 * columns + x0]! * (1 - u) + data[y0 * columns + x1]! * u;
  const low = data[y1 * columns + x0]! * (1 - u) + data[y1 * columns + x1]! * u;
  return top * (1 - v) + low * v;
}

/** 0 below `from`, 1 above `to`, smooth between. */
export function ramp(from: number, to: number, value: number): number {
  const t = Math.min(1, Math.max(0, (value - from) / (to - from)));
  return t * t * (3 - 2 * t);
}
