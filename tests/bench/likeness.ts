import { srgbToLab } from "../../vision/colour.ts";
import type { BandLook } from "../../vision/contract/index.ts";
import { describeDeck } from "../../vision/deck.ts";
import { type Pair, pathLength } from "../../vision/geometry.ts";
import { LOOK_NUMBERS, lookOfMarks, lookVector } from "../../vision/likeness/look.ts";
import { nearest } from "../../vision/likeness/nearest.ts";
import { stretchesOf } from "../../vision/mark-up/stretches.ts";
import { flatten } from "../../vision/scene/flatten.ts";
import { makeScene } from "../../vision/scene/index.ts";

/**
 * What likeness is worth, and what it takes.
 *
 *     npm run bench:likeness [-- --gallery 400 --asked 200]
 *
 * Scenes of vision/scene with known faults: references have odd seeds, those asked about even ones. Of each one's five nearest
 * references, how many share its fault, its dense or light material, or either; beside them the five nearest by a histogram of
 * colours (CIELAB, 6 × 6 × 6, chi-squared), and chance. Bands of the truth, no dry patch or streak counted.
 */

const NEAREST = 5;
const option = (name: string, usual: number) => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? usual : Number(process.argv[at + 1]);
};

interface Case {
  readonly fault: string;
  readonly dense: string;
  readonly light: string;
  readonly look: Float32Array;
  readonly colours: Float32Array;
}

function caseOf(seed: number): Case {
  const scene = makeScene(seed, 0.6);
  const { columns, rows, cellMm, classes } = scene.truth;
  const path = describeDeck(scene.deckFile).outletPath.map(({ x, y }): Pair => [x, y]);
  const grid = { columns, rows, mmPerCell: cellMm };
  const look: BandLook = lookOfMarks({ labels: classes }, stretchesOf(classes, grid, path), pathLength(path), {
    dryPatches: 0,
    rills: 0,
  });
  const { rgb } = flatten(scene, scene.corners, 128, 64);
  const { dense, light } = scene.looks.names;
  return { fault: scene.work.fault, dense, light, look: lookVector(look), colours: coloursOf(rgb) };
}

/** Shares of 6 × 6 × 6 boxes of CIELAB, of what is not black for being outside. */
function coloursOf(rgb: Uint8Array): Float32Array {
  const boxes = new Float32Array(216);
  let all = 0;
  for (let i = 0; i < rgb.length; i += 3) {
    if (!rgb[i] && !rgb[i + 1] && !rgb[i + 2]) continue;
    const [L, a, b] = srgbToLab([rgb[i]!, rgb[i + 1]!, rgb[i + 2]!]);
    const box = (value: number, least: number, most: number) =>
      Math.min(5, Math.max(0, Math.floor((6 * (value - least)) / (most - least))));
    boxes[36 * box(L, 0, 100) + 6 * box(a, -45, 45) + box(b, -45, 45)]!++;
    all++;
  }
  return boxes.map((count) => count / Math.max(1, all));
}

function byColour(query: Float32Array, all: readonly Case[]) {
  return all
    .map(({ colours }, at) => {
      let sum = 0;
      for (let k = 0; k < colours.length; k++) {
        const both = colours[k]! + query[k]!;
        if (both > 0) sum += (colours[k]! - query[k]!) ** 2 / both;
      }
      return { at, sum };
    })
    .sort((x, y) => x.sum - y.sum)
    .slice(0, NEAREST)
    .map(({ at }) => at);
}

const gallery = Array.from({ length: option("gallery", 400) }, (_, n) => caseOf(5_000_001 + 2 * n));
const asked = Array.from({ length: option("asked", 200) }, (_, n) => caseOf(5_000_000 + 2 * n));
const vectors = new Float32Array(gallery.length * LOOK_NUMBERS);
for (const [n, { look }] of gallery.entries()) vectors.set(look, n * LOOK_NUMBERS);

const SHARES: Readonly<Record<string, (a: Case, b: Case) => boolean>> = {
  fault: (a, b) => a.fault === b.fault,
  "fault, of those with one": (a, b) => a.fault === b.fault,
  "a material": (a, b) => a.dense === b.dense || a.light === b.light,
  either: (a, b) => a.fault === b.fault || a.dense === b.dense || a.light === b.light,
};
console.log(`${gallery.length} references, ${asked.length} asked about; share of the ${NEAREST} nearest that share …`);
for (const [name, alike] of Object.entries(SHARES)) {
  const of = asked.filter(({ fault }) => !name.includes("of those") || fault !== "none");
  const mean = (pick: (one: Case) => readonly Case[]) => {
    const values = of.map((one) => pick(one).filter((other) => alike(one, other)).length / pick(one).length);
    const m = values.reduce((sum, v) => sum + v, 0) / values.length;
    const se = Math.sqrt(values.reduce((sum, v) => sum + (v - m) ** 2, 0) / (values.length - 1) / values.length);
    return `${(100 * m).toFixed(1)} ± ${(100 * se).toFixed(1)} %`;
  };
  const bands = mean((one) => nearest(vectors, one.look, NEAREST).map(({ at }) => gallery[at]!));
  const colours = mean((one) => byColour(one.colours, gallery).map((at) => gallery[at]!));
  console.log(`${name}: bands ${bands}, colours ${colours}, chance ${mean(() => gallery)}`);
}

const many = new Float32Array(20_000 * LOOK_NUMBERS);
for (let i = 0; i < many.length; i++)
  many[i] = vectors[i % vectors.length]! + 0.05 * Math.sin(i * 12.9898) + 0.03 * Math.sin(i * 78.233);
const times = Array.from({ length: 100 }, (_, n) => {
  const { look } = asked[n % asked.length]!;
  const start = performance.now();
  nearest(many, look, NEAREST);
  return performance.now() - start;
});
times.sort((a, b) => a - b);
console.log(`20,000 references: median ${times[50]!.toFixed(2)} ms, slowest of 100 ${times[99]!.toFixed(2)} ms`);
