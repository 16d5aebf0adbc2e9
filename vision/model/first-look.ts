import type { FlatDeck, Grid } from "../stages.ts";
import { loadNetwork, uNet, type WeightList } from "./network.ts";

/** Name of the weights beside this file; see its model card. */
const MODEL = "classes 8";
/** Cells of the deck's bounding box it takes, and gives. */
const ROWS = 288;
const COLUMNS = 576;
const GIVEN_ROWS = ROWS / 2;
const GIVEN_COLUMNS = COLUMNS / 2;

/** What the network makes of a deck, plane by plane over the bounding box. */
export interface FirstLook {
  readonly rows: number;
  readonly columns: number;
  /** Probabilities of bare, dense, middling, light, dry, and of no deck to be seen: something before it, or glare. */
  readonly planes: Float32Array;
  /** Which weights said so. */
  readonly model: string;
}
export const CLASSES_INTAKE = { rows: ROWS, columns: COLUMNS, channels: 6 };
export const CLASSES_BODY = uNet([32, 64, 128, 256], 2, true);
export type Look = (flat: FlatDeck) => FirstLook;

/**
 * Build the classes network once; then look at decks with it, synchronously, on whatever backend TensorFlow.js has ready.
 *
 * @param weights  float16 numbers in the list's order.
 */
export function loadFirstLook(list: WeightList, weights: Uint16Array): Look {
  const network = loadNetwork(CLASSES_INTAKE, CLASSES_BODY, list, weights);
  return (flat) => ({
    rows: GIVEN_ROWS,
    columns: GIVEN_COLUMNS,
    planes: softmaxPlanes(network(inputOf(flat))),
    model: MODEL,
  });
}

/** Logits, class by class within each cell → probabilities, plane by plane (the backend's softmax and transpose are slower). */
function softmaxPlanes(logits: Float32Array): Float32Array {
  const cells = GIVEN_ROWS * GIVEN_COLUMNS;
  const outputs = logits.length / cells;
  const planes = new Float32Array(outputs * cells);
  for (let i = 0; i < cells; i++) {
    let [most, sum] = [Number.NEGATIVE_INFINITY, 0];
    for (let k = 0; k < outputs; k++) most = Math.max(most, logits[outputs * i + k]!);
    for (let k = 0; k < outputs; k++) sum += planes[k * cells + i] = Math.exp(logits[outputs * i + k]! - most);
    for (let k = 0; k < outputs; k++) planes[k * cells + i]! /= sum;
  }
  return planes;
}

/** Plane k of a look, bilinear, at the cells of a grid over the same bounding box. */
export function planeOn({ rows, columns, planes }: FirstLook, k: number, grid: Grid): Float32Array {
  const out = new Float32Array(grid.rows * grid.columns);
  const from = k * rows * columns;
  const places = Array.from({ length: grid.columns }, (_, column) =>
    Math.min(columns - 1.001, Math.max(0, ((column + 0.5) / grid.columns) * columns - 0.5)),
  );
  for (let row = 0, i = 0; row < grid.rows; row++) {
    const y = Math.min(rows - 1.001, Math.max(0, ((row + 0.5) / grid.rows) * rows - 0.5));
    const top = from + Math.floor(y) * columns;
    const v = y - Math.floor(y);
    for (const x of places) {
      const j = top + Math.floor(x);
      const u = x - Math.floor(x);
      const high = planes[j]! * (1 - u) + planes[j + 1]! * u;
      const low = planes[j + columns]! * (1 - u) + planes[j + columns + 1]! * u;
      out[i++] = high + (low - high) * v;
    }
  }
  return out;
}

/** Red, green, blue less a half; seen; x; y: means of the deck's cells, `rows × columns × 6`. */
function inputOf({ rgba, grid }: FlatDeck): Float32Array {
  const input = new Float32Array(ROWS * COLUMNS * 6);
  const sum = [0, 0, 0];
  for (let row = 0, i = 0; row < ROWS; row++) {
    const [top, bottom] = span(row, ROWS, grid.rows);
    for (let column = 0; column < COLUMNS; column++, i += 6) {
      const [left, right] = span(column, COLUMNS, grid.columns);
      let seen = 0;
      sum.fill(0);
      for (let y = top; y < bottom; y++) {
        for (let x = left; x < right; x++) {
          const j = 4 * (y * grid.columns + x);
          if (!rgba[j + 3]) continue;
          seen++;
          for (let k = 0; k < 3; k++) sum[k]! += rgba[j + k]!;
        }
      }
      if (2 * seen >= (bottom - top) * (right - left)) {
        for (let k = 0; k < 3; k++) input[i + k] = sum[k]! / seen / 255 - 0.5;
        input[i + 3] = 1;
      }
      input[i + 4] = (column + 0.5) / COLUMNS;
      input[i + 5] = (row + 0.5) / ROWS;
    }
  }
  return input;
}

/** Deck cells that lie under one of the network's, at least one. */
function span(at: number, count: number, cells: number): [number, number] {
  const from = Math.min(cells - 1, Math.round((at / count) * cells));
  return [from, Math.max(from + 1, Math.min(cells, Math.round(((at + 1) / count) * cells)))];
}
