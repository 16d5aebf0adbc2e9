import { expect, it } from "vitest";
import { onBestLines } from "../../../vision/finding/side-lines.ts";
import { inside, type Pair } from "../../../vision/geometry.ts";
import type { Photo } from "../../../vision/stages.ts";

const DECK: Pair[] = [
  [60, 50],
  [340, 62],
  [330, 190],
  [70, 200],
];
/** With a launder of the deck's own grey below it, a dark wall between the two. */
const WITH_LAUNDER: Pair[] = DECK.with(2, [330, 202]).with(3, [70, 212]);

function photoOf(grey: (at: Pair) => number): Photo {
  const [width, height] = [400, 270];
  const rgba = new Uint8ClampedArray(4 * width * height);
  for (let i = 0; i < width * height; i++) {
    const value = grey([(i % width) + 0.5, Math.floor(i / width) + 0.5]);
    rgba.set([value, value, value, 255], 4 * i);
  }
  return { width, height, rgba };
}
const wallAt = ([x, y]: Pair) => Math.abs(y - (200 - ((x - 70) * 10) / 260)) < 2;
const photo = photoOf((at) => (inside(DECK, at) || inside(WITH_LAUNDER, at) ? (wallAt(at) ? 30 : 140) : 70));
const farthest = (a: readonly Pair[], b: readonly Pair[]) =>
  Math.max(...a.map(([x, y], k) => Math.hypot(x - b[k]![0], y - b[k]![1])));

it("moves a side from a launder's wall to the deck's own edge where that is worth more, one end or both", () => {
  const worth = (corners: readonly Pair[]) => -farthest(corners, DECK) / 100;
  for (const found of [WITH_LAUNDER, WITH_LAUNDER.with(3, DECK[3]!)]) {
    expect(farthest(onBestLines(photo, found, worth).corners, DECK)).toBeLessThan(4);
  }
});

it("leaves a quadrilateral where no other is clearly better", () => {
  expect(onBestLines(photo, WITH_LAUNDER, () => 1).corners).toBe(WITH_LAUNDER);
  const flat = photoOf(() => 90);
  const seated = onBestLines(flat, WITH_LAUNDER, (corners) => -farthest(corners, DECK) / 100);
  expect(seated.corners).toBe(WITH_LAUNDER);
  expect(seated.doubtPx).toEqual([0, 0, 0, 0]);
});

it("does not mind sides beyond the photo's rim", () => {
  const cut = DECK.map(([x, y]): Pair => [x + 90, y - 60]);
  expect(farthest(onBestLines(photo, cut, () => 1).corners, cut)).toBeLessThan(60);
});

it("says that corners are in doubt which another quadrilateral, nearly as good, has elsewhere", () => {
  // nothing but edges tells deck and launder apart: the low corners may be 12 px off, the high ones are sure
  const { doubtPx } = onBestLines(photo, DECK, () => 1);
  const [high, end, low, drive] = doubtPx as [number, number, number, number];
  expect(Math.min(low, drive)).toBeGreaterThan(2 * Math.max(high, end));
  const sure = onBestLines(photo, DECK, (corners) => -farthest(corners, DECK) / 20).doubtPx;
  expect(Math.max(...sure)).toBeLessThan(2);
});
