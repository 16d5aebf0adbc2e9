import { expect, it } from "vitest";
import { describeDeck } from "../../../vision/deck.ts";
import { slidToShape } from "../../../vision/finding/known-shape.ts";
import { strangeness } from "../../../vision/finding/outline-cues.ts";
import type { Pair } from "../../../vision/geometry.ts";
import { invert, squareTo } from "../../../vision/homography.ts";

/** A pinhole camera 26 mm wide (35 mm equivalent), 2.6 m before and 1.9 m above a deck of 2440 by 1220 mm: from its definition. */
const deck = describeDeck({ schemaVersion: 1, name: "Test", hand: "right", lengthMm: 2440, widthMm: 1220 });
const photo = { width: 1600, height: 1200, rgba: new Uint8ClampedArray() };
const main: Pair[] = [
  [0, 0],
  [2440, 0],
  [2440, 1220],
  [0, 1220],
];
const seen = main.map(([x, y]): Pair => {
  const focal = (26 / 43.27) * 2000;
  const [dx, dy, dz] = [x - 1500, 1220 + 1400 - y, -1900];
  const down = Math.atan2(1900, 2010);
  const depth = dy * Math.cos(down) - dz * Math.sin(down);
  return [800 + (focal * dx) / depth, 600 - (focal * (dz * Math.cos(down) + dy * Math.sin(down))) / depth];
});
const strange = (corners: readonly Pair[]) => strangeness(photo, corners, invert(squareTo(main)), deck);
const offBy = (corners: readonly Pair[]) =>
  Math.max(...corners.map(([x, y], k) => Math.hypot(x - seen[k]![0], y - seen[k]![1])));

it("leaves a quadrilateral alone that can be the deck", () => {
  expect(strange(seen)).toBeLessThan(1);
  expect(slidToShape(seen, strange, () => 1)).toBe(seen);
});

it.each([0, 1, 2, 3])("takes corner %d back along its side, by the deck's known shape alone", (k) => {
  const [[x, y], [u, v]] = [seen[k]!, seen[(k + 3) % 4]!];
  const wrong = seen.with(k, [x + 0.15 * (x - u), y + 0.15 * (y - v)]);
  const slid = slidToShape(wrong, strange, () => 1);
  expect(offBy(slid)).toBeLessThan(0.35 * offBy(wrong));
});
