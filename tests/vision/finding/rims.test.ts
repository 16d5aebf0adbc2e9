import { expect, it } from "vitest";
import { describeDeck } from "../../../vision/deck.ts";
import { cornersWithinRims } from "../../../vision/finding/rims.ts";
import type { Pair } from "../../../vision/geometry.ts";
import { fitHomography } from "../../../vision/index.ts";
import { loadOpenCv } from "../../../vision/opencv.ts";
import { photoPoint, type View } from "../../../vision/stages.ts";

const deck = describeDeck({ schemaVersion: 1, lengthMm: 2000, widthMm: 1000, hand: "right" });
const [rows, columns] = [144, 288];
const photo = { width: 1200, height: 800, rgba: new Uint8ClampedArray(0) };
/** The deck fills 100 to 1100 px across and 100 to 600 px down: two mm a pixel. */
const corners = [
  [100, 100],
  [1100, 100],
  [1100, 600],
  [100, 600],
] as const;

async function seen(noDeck: (x: number, y: number) => number, found: readonly Pair[] = corners) {
  const { cv } = await loadOpenCv();
  const planes = new Float32Array(6 * rows * columns);
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const chance = noDeck(((column + 0.5) / columns) * 2000, ((row + 0.5) / rows) * 1000);
      planes[row * columns + column] = 1 - chance;
      planes[(5 * rows + row) * columns + column] = chance;
    }
  }
  const view: View = {
    source: "outline",
    photoToDeck: fitHomography(
      cv,
      found,
      deck.outline.map(({ x, y }) => [x, y] as const),
    ),
    lens: 0,
    errorMm: 20,
    orientationConfidence: 1,
    cornersPx: found.map(photoPoint),
    errorAt: () => [20, 20],
  };
  return cornersWithinRims(photo, deck, view, { rows, columns, planes, model: "none" });
}

it("a rim along the drive end moves that side in by its width, and no other", async () => {
  const within = await seen((x) => (x < 50 ? 0.95 : 0.02));
  const expected = [[125, 100], corners[1], corners[2], [125, 600]];
  within!.forEach(([x, y], k) => {
    // the model's cells are 7 mm, the search's steps 2 mm
    expect(Math.abs(x - expected[k]![0]!)).toBeLessThan(4);
    expect(Math.abs(y - expected[k]![1]!)).toBeLessThan(1);
  });
});

it("a rim that narrows turns the side", async () => {
  const within = await seen((x, y) => (y > 1000 - 60 * (1 - x / 2000) ? 0.95 : 0.02));
  expect(Math.abs(within![3]![1] - 570)).toBeLessThan(5);
  expect(Math.abs(within![2]![1] - 600)).toBeLessThan(5);
});

it("an even strip along the high side is a rim where the deck's shape comes right without it", async () => {
  // 40 mm of rim above the deck: what was found is 2000 by 1040 mm, told as 1000
  const withRim = [[100, 80], [1100, 80], corners[2], corners[3]] as const;
  const within = await seen((_, y) => (y < 39 ? 0.9 : 0.05), withRim);
  within!.forEach(([x, y], k) => {
    expect(Math.abs(x - corners[k]![0])).toBeLessThan(1);
    expect(Math.abs(y - corners[k]![1])).toBeLessThan(4);
  });
});

it("sees no rim in a deck up to its sides, in a hose across one, or in what hangs before the high side", async () => {
  expect(await seen(() => 0.05)).toBeNull();
  expect(await seen((x) => (x > 600 && x < 700 ? 0.9 : 0.05))).toBeNull();
  expect(await seen((_, y) => (y < 40 ? 0.9 : 0.05))).toBeNull();
});
