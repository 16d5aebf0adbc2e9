import { readFileSync } from "node:fs";
import { beforeAll, expect, it } from "vitest";
import { openEyes } from "../../../server/eyes.ts";
import { squareRound } from "../../../vision/finding/way-round.ts";
import type { Eyes } from "../../../vision/index.ts";
import { OUTLINE_BODY, OUTLINE_INTAKE, WAY_INTAKE } from "../../../vision/model/deck-look.ts";
import { CLASSES_BODY, CLASSES_INTAKE } from "../../../vision/model/first-look.ts";
import { classifier, loadNetwork, type WeightList } from "../../../vision/model/network.ts";
import { flatten } from "../../../vision/scene/flatten.ts";
import { makeScene } from "../../../vision/scene/index.ts";

const file = (name: string) => readFileSync(new URL(`../../../vision/model/${name}`, import.meta.url));
function weightsOf(name: string): { list: WeightList; weights: Uint16Array } {
  const bytes = file(`${name}.bin`);
  const weights = new Uint16Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
  return { list: JSON.parse(file(`${name}.json`).toString()), weights };
}
const NETWORKS = [
  { name: "classes", intake: CLASSES_INTAKE, body: CLASSES_BODY, classes: 6 },
  { name: "outline", intake: OUTLINE_INTAKE, body: OUTLINE_BODY, classes: 6 },
  { name: "way-round", intake: WAY_INTAKE, body: classifier, classes: 8 },
];

let eyes: Eyes;
beforeAll(async () => {
  eyes = await openEyes();
});

it.each(NETWORKS)(
  "$name computes what PyTorch computed with the same weights: the example written when they were exported",
  ({ name, intake, body, classes }) => {
    const { list, weights } = weightsOf(name);
    const network = loadNetwork(intake, body, list, weights);
    const cells = intake.rows * intake.columns;
    const input = new Float32Array(cells * intake.channels);
    for (let c = 0; c < intake.channels; c++) {
      for (let p = 0; p < cells; p++)
        input[p * intake.channels + c] = 0.5 * Math.sin(Math.fround((c * cells + p) * Math.fround(0.37)));
    }
    const logits = network(input);
    const places = logits.length / classes;
    const { at, given } = list.example;
    const off = at.map((i, n) => Math.abs(logits[(i % places) * classes + Math.floor(i / places)]! - given[n]!));
    expect(off.length).toBeGreaterThanOrEqual(8);
    expect(Math.max(...off)).toBeLessThan(2e-3);
  },
);

it("refuses weights that do not fit their list", () => {
  const { list, weights } = weightsOf("classes");
  expect(() => loadNetwork(CLASSES_INTAKE, CLASSES_BODY, list, weights.subarray(1))).toThrow(RangeError);
});

it("keeps all weights within 4 MB", () => {
  expect(NETWORKS.reduce((sum, { name }) => sum + file(`${name}.bin`).length, 0)).toBeLessThan(4e6);
});

it("sees most of what scenes it was never trained on show (even seeds)", () => {
  const [rows, columns] = [288, 576];
  let [right, all] = [0, 0];
  for (const seed of [1002, 1004, 1006, 1008]) {
    const scene = makeScene(seed);
    const { rgb, classes } = flatten(scene, scene.corners, columns, rows);
    const rgba = new Uint8ClampedArray(rows * columns * 4);
    for (let i = 0; i < rows * columns; i++) {
      rgba.set(rgb.subarray(3 * i, 3 * i + 3), 4 * i);
      rgba[4 * i + 3] = rgb[3 * i]! + rgb[3 * i + 1]! + rgb[3 * i + 2]! > 0 ? 255 : 0;
    }
    const first = eyes.lookAt({ grid: { mmPerCell: 2, columns, rows }, rgba, pxPerMm: 1 });
    const cells = first.rows * first.columns;
    for (let i = 0; i < rows * columns; i++) {
      if (!classes[i]) continue;
      all++;
      const row = Math.floor((Math.floor(i / columns) / rows) * first.rows);
      const j = row * first.columns + Math.floor(((i % columns) / columns) * first.columns);
      let best = 0;
      for (let k = 1; k < 5; k++) if (first.planes[k * cells + j]! > first.planes[best * cells + j]!) best = k;
      if (best + 1 === classes[i]) right++;
    }
  }
  console.log(`cells right: ${(right / all).toFixed(3)}`);
  expect(right / all).toBeGreaterThan(0.6);
});

it("tells every turn and mirroring of decks it was never trained on (even seeds)", () => {
  let [right, all] = [0, 0];
  for (let seed = 1002; seed < 1018; seed += 2) {
    const scene = makeScene(seed);
    for (let turn = 0; turn < 4; turn++) {
      const corners = [0, 1, 2, 3].map((k) => scene.corners[(k + turn) % 4]!);
      const chances = eyes.seeWayRound(scene.photo, corners);
      expect(chances.reduce((a, b) => a + b, 0)).toBeCloseTo(1, 6);
      if (chances.indexOf(Math.max(...chances)) === turn) right++;
      const mirrored = [0, 1, 2, 3].map((k) => scene.corners[(5 - k + turn) % 4]!);
      const others = eyes.seeWayRound(scene.photo, mirrored);
      if (others.indexOf(Math.max(...others)) >= 4) right++;
      all += 2;
    }
  }
  console.log(`ways round right: ${right} of ${all}`);
  expect(right / all).toBeGreaterThan(0.85);
});

it("lays the deck on a square: first corner top left, second top right, black beyond the photo", () => {
  const rgba = new Uint8ClampedArray(40 * 40 * 4).fill(255);
  for (let y = 10; y < 20; y++) for (let x = 10; x < 20; x++) rgba.set([200, 0, 0], 4 * (y * 40 + x));
  const corners = [
    [10, 10],
    [30, 10],
    [30, 30],
    [10, 30],
  ] as const;
  const square = squareRound({ width: 40, height: 40, rgba }, corners, 36);
  const at = (x: number, y: number) => [...square.subarray(3 * (y * 36 + x), 3 * (y * 36 + x) + 3)];
  expect(at(12, 12)).toEqual([200, 0, 0]);
  expect(at(24, 12)).toEqual([255, 255, 255]);
  expect(at(0, 0)).toEqual([255, 255, 255]);
  const beyond = squareRound(
    { width: 40, height: 40, rgba },
    corners.map(([x, y]) => [x - 10, y - 10] as const),
    36,
  );
  expect([...beyond.subarray(0, 3)]).toEqual([0, 0, 0]);
});
