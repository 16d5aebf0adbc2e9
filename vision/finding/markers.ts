import engine from "js-aruco2";
import { NotesError } from "../errors.ts";
import type { Pair } from "../geometry.ts";
import { project, squareTo } from "../homography.ts";
import { type OpenCv, withMats } from "../opencv.ts";
import { said } from "../said.ts";
import type { Photo } from "../stages.ts";

import { crossing, type EdgeLine, fitEdge } from "./edge-line.ts";
import { greyAt, shrink } from "./pixels.ts";

/**
 * The open dictionary of the printed marks: 250 codes of 6 × 6 bits, at least 12 bits apart in any turn.
 * Source: Garrido-Jurado, Muñoz-Salinas, Madrid-Cuevas & Medina-Carnicer (2016), Pattern Recognition 51, 481-491.
 */
export const DICTIONARY = "ARUCO_MIP_36h12";
const SIZE_BITS = 6;
/** Cells along a side of a mark: the bits and a black border of one cell. */
export const MARK_CELLS = SIZE_BITS + 2;
/** Wrong bits forgiven: fewer than half of the 12 that part two codes, so a dirty print is never taken for another. */
const WRONG_BITS = 4;
/** Where the other marks have told place and number, this many of the 64 cells may look wrong (chance: below 1 in 10 million). */
const WRONG_CELLS = 10;
/** Longest side of the pictures searched, px: the smaller is quick, the larger sees small marks. */
const SEARCH_PX = [1600, 3200] as const;
/** Places shown to the library, the largest first. */
const MOST_PLACES = 60;
/** A mark whose sides are shorter than this is not trusted, px. */
const LEAST_SIDE_PX = 12;

/** A mark seen in the photo. Corners in photo pixels: the print's own top-left first, then clockwise on the print. */
export interface FoundMark {
  readonly id: number;
  readonly corners: readonly [Pair, Pair, Pair, Pair];
  /** One standard error of each corner's coordinates. */
  readonly errorPx: readonly [number, number, number, number];
  readonly wrongBits: number;
}

const codes = new engine.AR.Dictionary(DICTIONARY).codeList;
/** How many different marks there are. */
export const MARK_COUNT = codes.length;

/** Cells of a mark, `MARK_CELLS × MARK_CELLS`, row by row, true where white. @throws {NotesError} for a number that is not there. */
export function markCells(id: number): boolean[] {
  const code = codes[id];
  if (code === undefined) {
    throw new NotesError("deck-file", said("said.refused.noSuchMark", { id, most: MARK_COUNT - 1 }));
  }
  return Array.from({ length: MARK_CELLS ** 2 }, (_, cell) => {
    const [row, column] = [Math.floor(cell / MARK_CELLS) - 1, (cell % MARK_CELLS) - 1];
    const within = row >= 0 && column >= 0 && row < SIZE_BITS && column < SIZE_BITS;
    return within && code[row * SIZE_BITS + column] === "1";
  });
}

/**
 * All marks with one of these numbers.
 *
 * Dark four-sided shapes are looked for, the library reads those; then a line is fitted to each side of the black square and the lines are crossed,
 * so a corner under a splash of sand is still placed. Of two marks with one number the larger is kept.
 */
export function findMarks(cv: OpenCv, photo: Photo, ids: readonly number[]): FoundMark[] {
  const wanted = new Set(ids);
  const found = new Map<number, FoundMark>();
  for (const longest of SEARCH_PX) {
    for (const mark of searchAt(cv, photo, longest)) {
      if (!wanted.has(mark.id)) continue;
      const held = found.get(mark.id);
      if (!held || sideOf(mark.corners) > 1.2 * sideOf(held.corners)) found.set(mark.id, mark);
    }
    // two tell where the others must lie, and those are then looked for there
    if (found.size >= 2 || Math.max(photo.width, photo.height) <= longest) break;
  }
  return [...found.values()].sort((a, b) => a.id - b.id);
}

function searchAt(cv: OpenCv, photo: Photo, longest: number): FoundMark[] {
  const small = shrink(cv, photo, longest);
  const detector = new engine.AR.Detector({ dictionaryName: DICTIONARY, maxHammingDistance: WRONG_BITS + 1 });
  // the library follows every speck of sand in a whole photo, which takes seconds: it is shown likely places only
  return likelyPlaces(cv, small).flatMap(({ left, top, width, height, rgba }) =>
    detector.detectImage(width, height, rgba).flatMap(({ id, corners, hammingDistance }) => {
      const rough = corners.map(({ x, y }): Pair => [(left + x + 0.5) * small.scale, (top + y + 0.5) * small.scale]);
      const mark = refineMark(photo, rough, 2 * small.scale);
      return mark ? [{ id, ...mark, wrongBits: hammingDistance }] : [];
    }),
  );
}

/** Parts of the photo that hold a dark four-sided shape on a paler ground, with some room round them. */
function likelyPlaces(cv: OpenCv, { width, height, rgba }: Photo): (Photo & { left: number; top: number })[] {
  const boxes = withMats(cv, (own) => {
    const colour = own(new cv.Mat(height, width, cv.CV_8UC4));
    colour.data.set(rgba);
    const [grey, dark] = [own(new cv.Mat()), own(new cv.Mat())];
    cv.cvtColor(colour, grey, cv.COLOR_RGBA2GRAY);
    cv.adaptiveThreshold(
      grey,
      dark,
      255,
      cv.ADAPTIVE_THRESH_MEAN_C,
      cv.THRESH_BINARY_INV,
      2 * Math.round(width / 90) + 1,
      12,
    );
    const contours = own(new cv.MatVector());
    const hierarchy = own(new cv.Mat());
    cv.findContours(dark, contours, hierarchy, cv.RETR_LIST, cv.CHAIN_APPROX_SIMPLE);
    const found: { left: number; top: number; right: number; bottom: number }[] = [];
    const corners = own(new cv.Mat());
    for (let i = 0; i < contours.size(); i++) {
      const contour = own(contours.get(i));
      if (contour.rows < 4 || cv.contourArea(contour) < LEAST_SIDE_PX ** 2 / 2) continue;
      cv.approxPolyDP(contour, corners, 0.06 * cv.arcLength(contour, true), true);
      if (corners.rows !== 4 || !cv.isContourConvex(corners)) continue;
      const xs = [0, 1, 2, 3].map((k) => corners.data32S[2 * k] as number);
      const ys = [0, 1, 2, 3].map((k) => corners.data32S[2 * k + 1] as number);
      found.push({ left: Math.min(...xs), top: Math.min(...ys), right: Math.max(...xs), bottom: Math.max(...ys) });
    }
    return found;
  });
  const kept: typeof boxes = [];
  for (const box of boxes.sort((a, b) => b.right - b.left - (a.right - a.left))) {
    const [x, y, size] = [(box.left + box.right) / 2, (box.top + box.bottom) / 2, box.right - box.left];
    const same = (k: typeof box) =>
      Math.hypot((k.left + k.right) / 2 - x, (k.top + k.bottom) / 2 - y) < 0.15 * size &&
      size > 0.6 * (k.right - k.left);
    if (!kept.some(same)) kept.push(box);
  }
  return kept.slice(0, MOST_PLACES).map((box) => cut({ width, height, rgba }, box));
}

function cut({ width, height, rgba }: Photo, box: { left: number; top: number; right: number; bottom: number }) {
  const room = 6 + Math.round(0.3 * Math.max(box.right - box.left, box.bottom - box.top));
  const [left, top] = [Math.max(0, box.left - room), Math.max(0, box.top - room)];
  const [w, h] = [Math.min(width, box.right + room) - left, Math.min(height, box.bottom + room) - top];
  const part = new Uint8ClampedArray(w * h * 4);
  for (let row = 0; row < h; row++) {
    const start = ((top + row) * width + left) * 4;
    part.set(rgba.subarray(start, start + w * 4), row * w * 4);
  }
  return { left, top, width: w, height: h, rgba: part };
}

/** The four sides as lines, crossed. Null when a side cannot be seen at all. */
function refineMark(photo: Photo, rough: readonly Pair[], roughErrorPx: number) {
  if (sideOf(rough) < LEAST_SIDE_PX) return null;
  const lines: EdgeLine[] = [];
  for (let i = 0; i < 4; i++) {
    const [from, to] = [rough[i]!, rough[(i + 1) % 4]!];
    const side = Math.hypot(to[0] - from[0], to[1] - from[1]);
    // clockwise: the white margin lies to the left of travel; no farther than the border's own width, or bits are met
    const reachPx = Math.max(2, Math.min(2 * roughErrorPx, (0.9 * side) / MARK_CELLS));
    const line = fitEdge(photo, from, to, { reachPx, polarity: -1, trim: 0.08, everyPx: 1 });
    if (!line) return null;
    lines.push(line);
  }
  const corners: Pair[] = [];
  const errors: number[] = [];
  for (let i = 0; i < 4; i++) {
    const corner = crossing(lines[(i + 3) % 4]!, lines[i]!);
    if (!corner || Math.hypot(corner.at[0] - rough[i]![0], corner.at[1] - rough[i]![1]) > 4 * roughErrorPx + 4)
      return null;
    corners.push(corner.at);
    errors.push(corner.errorPx);
  }
  return {
    corners: corners as unknown as FoundMark["corners"],
    errorPx: errors as unknown as FoundMark["errorPx"],
  };
}

/**
 * Look for one mark where it must lie, when the others have told that: finds marks whose outline is broken by a hose or a
 * heap of sand. *
 * @param mmToPx   Mark mm (origin at its centre, x right and y down on the print) → photo pixel.
 */
export function findMarkAt(
  photo: Photo,
  id: number,
  sizeMm: number,
  mmToPx: (mm: Pair) => Pair,
  roughErrorPx: number,
): FoundMark | null {
  const half = sizeMm / 2;
  const rough = (
    [
      [-half, -half],
      [half, -half],
      [half, half],
      [-half, half],
    ] as Pair[]
  ).map(mmToPx);
  if (rough.some(([x, y]) => x < 0 || y < 0 || x > photo.width || y > photo.height)) return null;
  const clockwise = turnOf(rough) > 0;
  if (!clockwise) return null;
  const mark = refineMark(photo, rough, roughErrorPx);
  if (!mark) return null;
  const wrongBits = wrongBitsOf(photo, id, mark.corners);
  return wrongBits <= WRONG_CELLS ? { id, ...mark, wrongBits } : null;
}

/** Cells that do not look as the print says, out of 36 bits and the border. */
function wrongBitsOf(photo: Photo, id: number, corners: readonly Pair[]): number {
  const cells = markCells(id);
  const toPx = squareTo(corners);
  const grey = cells.map((_, i) => {
    const [row, column] = [Math.floor(i / MARK_CELLS), i % MARK_CELLS];
    let sum = 0;
    for (const dy of [0.3, 0.5, 0.7]) {
      for (const dx of [0.3, 0.5, 0.7]) {
        const [x, y] = project(toPx, [(column + dx) / MARK_CELLS, (row + dy) / MARK_CELLS]);
        sum += greyAt(photo, x, y);
      }
    }
    return sum / 9;
  });
  const mean = (white: boolean) => {
    const those = grey.filter((_, i) => cells[i] === white);
    return those.reduce((s, g) => s + g, 0) / those.length;
  };
  const [black, white] = [mean(false), mean(true)];
  if (white - black < 20) return cells.length;
  const limit = (black + white) / 2;
  return grey.filter((g, i) => g > limit !== cells[i]).length;
}

const sideOf = (corners: readonly Pair[]) =>
  Math.min(...corners.map((p, i) => Math.hypot(corners[(i + 1) % 4]![0] - p[0], corners[(i + 1) % 4]![1] - p[1])));
const turnOf = (corners: readonly Pair[]) =>
  corners.reduce((s, p, i) => s + p[0] * corners[(i + 1) % 4]![1] - corners[(i + 1) % 4]![0] * p[1], 0);
