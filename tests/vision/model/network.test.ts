import { readFileSync } from "node:fs";
import { beforeAll, expect, it } from "vitest";
import { firstLook } from "../../../server/first-look.ts";
import { loadNetwork, type WeightList } from "../../../vision/model/network.ts";
import { flatten } from "../../../vision/scene/flatten.ts";
import { makeScene } from "../../../vision/scene/index.ts";

const file = (name: string) => readFileSync(new URL(`../../../vision/model/${name}`, import.meta.url));
const list: WeightList = JSON.parse(file("classes.json").toString());
const bytes = file("classes.bin");
const weights = new Uint16Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
const [ROWS, COLUMNS, CHANNELS] = [288, 576, 6];

let look: Awaited<ReturnType<typeof firstLook>>;
beforeAll(async () => {
  look = await firstLook();
});

it("computes what PyTorch computed with the same weights: the worked example written when they were exported", () => {
  const network = loadNetwork(
    { rows: ROWS, columns: COLUMNS, channels: CHANNELS, widths: [16, 32, 64, 128, 224], upTo: 0 },
    list,
    weights,
  );
  const cells = ROWS * COLUMNS;
  const input = new Float32Array(cells * CHANNELS);
  for (let c = 0; c < CHANNELS; c++) {
    for (let p = 0; p < cells; p++)
      input[p * CHANNELS + c] = 0.5 * Math.sin(Math.fround((c * cells + p) * Math.fround(0.37)));
  }
  const logits = network(input);
  const { at, given } = list.example;
  at.forEach((i, n) => {
    expect(Math.abs(logits[(i % cells) * 5 + Math.floor(i / cells)]! - given[n]!)).toBeLessThan(2e-3);
  });
});

it("refuses weights that do not fit their list", () => {
  const plan = { rows: ROWS, columns: COLUMNS, channels: CHANNELS, widths: [16, 32, 64, 128, 224], upTo: 0 };
  expect(() => loadNetwork(plan, list, weights.subarray(1))).toThrow(RangeError);
});

it("sees most of what scenes it was never trained on show (even seeds)", () => {
  let [right, all] = [0, 0];
  for (const seed of [1002, 1004, 1006, 1008]) {
    const { rgb, classes } = flatten(makeScene(seed), makeScene(seed).corners, COLUMNS, ROWS);
    const rgba = new Uint8ClampedArray(ROWS * COLUMNS * 4);
    for (let i = 0; i < ROWS * COLUMNS; i++) {
      rgba.set(rgb.subarray(3 * i, 3 * i + 3), 4 * i);
      rgba[4 * i + 3] = rgb[3 * i]! + rgb[3 * i + 1]! + rgb[3 * i + 2]! > 0 ? 255 : 0;
    }
    const { planes } = look({ grid: { mmPerCell: 2, columns: COLUMNS, rows: ROWS }, rgba, pxPerMm: 1 });
    for (let i = 0; i < ROWS * COLUMNS; i++) {
      if (!classes[i]) continue;
      all++;
      let best = 0;
      for (let k = 1; k < 5; k++) if (planes[k * ROWS * COLUMNS + i]! > planes[best * ROWS * COLUMNS + i]!) best = k;
      if (best + 1 === classes[i]) right++;
    }
  }
  console.log(`cells right: ${(right / all).toFixed(3)}`);
  expect(right / all).toBeGreaterThan(0.6);
});
