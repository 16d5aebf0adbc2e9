import { type LabPlanes, labPlanes, srgbToLinear, type Triple } from "./colour.ts";
import { solve } from "./linear-system.ts";
import { kMeans, type OpenCv } from "./opencv.ts";
import type { EvenDeck, FlatDeck, Photo } from "./stages.ts";
import { boxMean } from "./texture.ts";

/** All three channels at or above this, of 255: burnt out, and no surface can be judged there. */
const BURNT = 250;
/** Minkowski norm of Shades-of-Gray. */
const NORM = 6;
/** Every so many cells of 4 mm one is used to fit the shading. */
const STRIDE = 4;
/** Materials assumed while the shading is fitted, and rounds of fitting. */
const MATERIALS = 5;
const ROUNDS = 3;

/**
 * Take the colour of the light and its slow change over the deck out of the picture; mark what is burnt out.
 *
 * Colour of the light: Shades-of-Gray, Minkowski norm 6, over the whole photo (Finlayson & Trezzi (2004), Color Imaging
 * Conference, 37-41). Shading: a second-order polynomial in log lightness, fitted together with the materials, so
 * that a band is not mistaken for a shadow (Van Leemput, Maes, Vandermeulen & Suetens (1999), IEEE Trans. Medical
 * Imaging 18, 885-896). A soft shadow smaller than the polynomial can follow stays; it keeps its hue.
 */
export function evenLight(cv: OpenCv, flat: FlatDeck, photo: Photo): EvenDeck {
  const light = lightColour(photo);
  const { seen, glareShare } = judgeable(flat);
  const { rgba, ...half } = halve(flat, seen);
  const lab = labPlanes(rgba, [1 / light[0], 1 / light[1], 1 / light[2]]);
  const { columns, rows } = half.grid;
  const gain = shading(cv, lab, half.seen, columns, rows);
  for (let row = 0, i = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++, i++) {
      lab.L[i] = Math.min(110, lab.L[i]! * Math.exp(-gain(column / columns - 0.5, row / rows - 0.5)));
    }
  }
  return { grid: flat.grid, seen, halved: { ...half, lab }, glareShare, light };
}

/** Means of two by two cells over those that are seen. */
function halve({ grid, rgba }: FlatDeck, seen: Uint8Array) {
  const [columns, rows] = [Math.ceil(grid.columns / 2), Math.ceil(grid.rows / 2)];
  const [halfSeen, means] = [new Uint8Array(columns * rows), new Uint8ClampedArray(columns * rows * 4)];
  for (let row = 0, i = 0; row < rows; row++) {
    const bottom = Math.min(2 * row + 2, grid.rows);
    for (let column = 0; column < columns; column++, i++) {
      const right = Math.min(2 * column + 2, grid.columns);
      let [r, g, b, count] = [0, 0, 0, 0];
      for (let y = 2 * row; y < bottom; y++) {
        for (let x = 2 * column, j = y * grid.columns + x; x < right; x++, j++) {
          if (!seen[j]) continue;
          r += rgba[4 * j]!;
          g += rgba[4 * j + 1]!;
          b += rgba[4 * j + 2]!;
          count++;
        }
      }
      if (count === 0) continue;
      halfSeen[i] = 1;
      means[4 * i] = r / count;
      means[4 * i + 1] = g / count;
      means[4 * i + 2] = b / count;
    }
  }
  return { grid: { mmPerCell: 2 * grid.mmPerCell, columns, rows }, seen: halfSeen, rgba: means };
}

/** Colour of the light over the photo, linear RGB, green 1. */
function lightColour({ rgba, width, height }: Photo): Triple {
  const linear = Float64Array.from({ length: 256 }, (_, code) => srgbToLinear(code) ** NORM);
  const sums = [0, 0, 0];
  const step = Math.max(1, Math.floor((width * height) / 200_000));
  for (let i = 0; i < width * height; i += step) {
    const [r, g, b] = [rgba[4 * i]!, rgba[4 * i + 1]!, rgba[4 * i + 2]!];
    if (Math.max(r, g, b) >= BURNT) continue;
    sums[0]! += linear[r]!;
    sums[1]! += linear[g]!;
    sums[2]! += linear[b]!;
  }
  const [r, g, b] = sums.map((sum) => Math.max(sum, 1e-12) ** (1 / NORM)) as [number, number, number];
  // half-way to white: large coloured surfaces (the deck) must not be taken for coloured light
  return [Math.sqrt(r / g), 1, Math.sqrt(b / g)];
}

/** Cells whose surface can be judged. Glints of a few cells are left to their neighbours, and do not count as glare. */
function judgeable({ rgba, grid: { columns, rows } }: FlatDeck) {
  const burnt = new Float32Array(columns * rows);
  const inDeck = new Uint8Array(columns * rows);
  for (let i = 0; i < burnt.length; i++) {
    inDeck[i] = rgba[4 * i + 3]! > 0 ? 1 : 0;
    burnt[i] = Math.min(rgba[4 * i]!, rgba[4 * i + 1]!, rgba[4 * i + 2]!) >= BURNT ? 1 : 0;
  }
  const around = boxMean(burnt, columns, rows, 3, inDeck);
  let [glare, total] = [0, 0];
  const seen = new Uint8Array(inDeck);
  for (let i = 0; i < seen.length; i++) {
    total += inDeck[i]!;
    if (inDeck[i] && around[i]! > 0.5) {
      glare++;
      seen[i] = 0;
    }
  }
  return { seen, glareShare: total ? glare / total : 0 };
}

const terms = (x: number, y: number) => [x, y, x * y, x * x - 1 / 12, y * y - 1 / 12];

/** Log gain of the light over the deck as a function of place, each −0.5 to 0.5. */
function shading(cv: OpenCv, lab: LabPlanes, seen: Uint8Array, columns: number, rows: number) {
  const places: [number, number, number][] = [];
  for (let row = STRIDE / 2; row < rows; row += STRIDE) {
    for (let column = STRIDE / 2; column < columns; column += STRIDE) {
      const i = row * columns + column;
      if (seen[i] && lab.L[i]! > 2) places.push([column / columns - 0.5, row / rows - 0.5, i]);
    }
  }
  let weights = [0, 0, 0, 0, 0];
  if (places.length < 200) return () => 0;
  const gain = (x: number, y: number) => terms(x, y).reduce((sum, t, k) => sum + t * weights[k]!, 0);
  for (let round = 0; round < ROUNDS; round++) {
    const points = new Float32Array(places.length * 3);
    places.forEach(([x, y, i], n) => {
      points.set([lab.L[i]! * Math.exp(-gain(x, y)) * 0.7, lab.a[i]! * 1.5, lab.b[i]! * 1.5], 3 * n);
    });
    const { labels, centres } = kMeans(cv, points, 3, MATERIALS);
    // ridge least squares of each cell's log lightness against its material's
    const normal = Array.from({ length: 5 }, (_, k) =>
      Array.from({ length: 6 }, (_, j) => (j === k ? places.length * 0.01 : 0)),
    );
    places.forEach(([x, y, i], n) => {
      const material = centres[3 * labels[n]!]! / 0.7;
      const misfit = Math.max(-0.5, Math.min(0.5, Math.log(lab.L[i]! / Math.max(material, 2))));
      const t = terms(x, y);
      for (let k = 0; k < 5; k++) {
        for (let j = 0; j < 5; j++) normal[k]![j]! += t[k]! * t[j]!;
        normal[k]![5]! += t[k]! * misfit;
      }
    });
    weights = solve(normal);
  }
  return gain;
}
