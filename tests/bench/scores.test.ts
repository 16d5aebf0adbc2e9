import { describe, expect, it } from "vitest";
import { describeDeck } from "../../vision/deck.ts";
import { BAND_IOU, TWO_SQUARES } from "../published/overlap.ts";
import {
  type Class,
  countCells,
  type Edge,
  edgesOf,
  innerCells,
  iou,
  matchEdges,
  noConfusion,
  percentile,
  Reliability,
  trueStretches,
} from "./scores.ts";

const overlap = (truth: ArrayLike<number>, read: ArrayLike<number>) => {
  const confusion = noConfusion();
  countCells(confusion, truth, read);
  return iou(confusion, 2);
};

describe("IoU", () => {
  it("of two squares slid by one cell is as counted", () => {
    const { side, slide, iou: expected } = TWO_SQUARES;
    const square = (at: number) =>
      Uint8Array.from({ length: 400 }, (_, i) => {
        const [x, y] = [(i % 20) - at, Math.floor(i / 20) - at];
        return x >= 0 && y >= 0 && x < side && y < side ? 2 : 1;
      });
    expect(overlap(square(4), square(4 + slide))).toBeCloseTo(expected, 9);
  });

  // BAND_IOU: worked out in published/overlap.ts. Cells of 0.01 mm, so that a slide comes out to four digits.
  it.each(BAND_IOU)("of $iou is a band slid or grown by so many mm", ({ iou: expected, slideMm, growMm }) => {
    [100, 300].forEach((widthMm, n) => {
      const band = (from: number, to: number) =>
        Uint8Array.from({ length: 45_000 }, (_, i) => (i >= from && i < to ? 2 : 1));
      const [from, to] = [5000, 5000 + widthMm * 100];
      const [slide, grow] = [Math.round(slideMm[n]! * 100), Math.round(growMm[n]! * 100)];
      expect(overlap(band(from, to), band(from + slide, to + slide))).toBeCloseTo(expected, 3);
      expect(overlap(band(from, to), band(from - grow, to + grow))).toBeCloseTo(expected, 3);
    });
  });

  it("leaves out what the truth does not know, and counts a known cell called unseen as a miss", () => {
    expect(overlap([0, 2, 2], [2, 2, 2])).toBe(1);
    expect(overlap([2, 2], [2, 0])).toBe(0.5);
    expect(overlap([1], [1])).toBeNaN();
  });
});

describe("true outlet", () => {
  /** An invented deck, 400 × 200 mm: the end edge is outlet 0 to 200, the low side 200 to 600. */
  const deck = describeDeck({ schemaVersion: 1, lengthMm: 400, widthMm: 200 });
  const grid = { mmPerCell: 2, columns: 200, rows: 100 };
  const stretches = (at: (x: number, y: number) => number) =>
    trueStretches(
      Array.from({ length: 20_000 }, (_, i) => at((i % 200) * 2 + 1, Math.floor(i / 200) * 2 + 1)),
      grid,
      deck,
    ).map(({ class: kind, fromMm, toMm }) => `${kind} ${fromMm}-${toMm}`);

  it("follows the path round the corner", () => {
    expect(stretches((_, y) => (y < 80 ? 2 : 4))).toEqual(["dense 0-80", "light 80-600"]);
    expect(stretches((x) => (x < 100 ? 1 : 3))).toEqual(["middling 0-500", "bare 500-600"]);
  });

  it("takes what lies within 20 mm of the path and no deeper", () => {
    expect(stretches((x, y) => (x > 380 || y > 180 ? 2 : 4))).toEqual(["dense 0-600"]);
  });

  it("calls a third of solids their class, less than that bare", () => {
    const strip = (deep: number) => stretches((x, y) => (400 - x < deep || 200 - y < deep ? 2 : 1));
    expect(strip(8)).toEqual(["dense 0-600"]);
    expect(strip(6)).toEqual(["bare 0-600"]);
  });

  it("drops stretches under 20 mm, keeps those of 20 mm, and knows unseen", () => {
    const spot = (size: number, kind: number) => stretches((_, y) => (y >= 60 && y < 60 + size ? kind : 4));
    expect(spot(18, 2)).toEqual(["light 0-600"]);
    expect(spot(20, 2)).toEqual(["light 0-60", "dense 60-80", "light 80-600"]);
    expect(spot(40, 0)).toEqual(["light 0-60", "unseen 60-100", "light 100-600"]);
    expect(spot(40, 5)).toEqual(["light 0-60", "dry 60-100", "light 100-600"]);
  });

  it("has no edge beside what is unseen", () => {
    const one = (kind: Class, fromMm: number, toMm: number) => ({ class: kind, fromMm, toMm });
    expect(edgesOf([one("bare", 0, 50), one("dense", 50, 90), one("unseen", 90, 120), one("light", 120, 200)])).toEqual(
      [{ before: "bare", after: "dense", atMm: 50 }],
    );
  });
});

describe("matching edges", () => {
  const edge = (before: Class, after: Class, atMm: number): Edge => ({ before, after, atMm });

  it("takes the nearest of the same side, once, and counts what is left over", () => {
    const truth = [edge("bare", "dense", 100), edge("dense", "middling", 200), edge("middling", "light", 500)];
    const read = [edge("bare", "dense", 90), edge("dense", "bare", 230), edge("bare", "dense", 130)];
    const { matches, extra } = matchEdges(truth, read);
    expect(matches.map(({ offMm }) => offMm)).toEqual([10, 30, null]);
    expect(extra).toEqual([edge("bare", "dense", 130)]);
  });

  it("does not take the other side of a band, nor another band, nor one too far off", () => {
    const truth = [edge("dense", "bare", 100)];
    for (const other of [edge("bare", "dense", 100), edge("light", "bare", 100), edge("dense", "bare", 301)]) {
      expect(matchEdges(truth, [other])).toEqual({ matches: [{ edge: truth[0], offMm: null }], extra: [other] });
    }
    expect(matchEdges(truth, [edge("dense", "bare", 300)]).matches[0]!.offMm).toBe(200);
  });

  it("counts missed edges as further off than any in its percentiles", () => {
    const match = (offMm: number | null) => ({ edge: edge("bare", "dense", 0), offMm });
    expect(percentile([3, 1, 2].map(match), 0.5)).toBe(2);
    expect(percentile([3, null, null].map(match), 0.5)).toBe(Number.POSITIVE_INFINITY);
    expect(percentile([], 0.5)).toBeNaN();
  });
});

it("inner cells lie more than 6 mm from every other class", () => {
  const grid = { mmPerCell: 2, columns: 20, rows: 12 };
  const truth = Uint8Array.from({ length: 240 }, (_, i) => (i % 20 < 10 ? 2 : 4));
  truth[5 * 20 + 2] = 0; // something hides one cell
  const inner = innerCells(truth, grid);
  expect(inner[11 * 20 + 6]).toBe(2);
  expect(inner[11 * 20 + 7]).toBe(0);
  expect(inner[13]).toBe(4);
  expect(inner[12]).toBe(0);
  expect(inner[5 * 20 + 5]).toBe(0);
  expect(inner[5 * 20 + 6]).toBe(2);
  expect(inner[9 * 20]).toBe(2);
});

it("expected calibration error is the mean gap between being sure and being right", () => {
  const reliability = new Reliability();
  const confidence = Uint8Array.from({ length: 10 }, (_, i) => (i < 5 ? 0.9 : 0.45) * 255);
  const read = new Uint8Array(10).fill(2);
  const truth = Uint8Array.from({ length: 10 }, (_, i) => (i < 4 || i === 5 ? 2 : 3));
  reliability.count(truth, read, confidence);
  // sure 0.9, right 4 of 5; sure 0.45, right 1 of 5: half of |0.9 - 0.8| and half of |0.45 - 0.2|
  expect(reliability.error).toBeCloseTo(0.5 * 0.1 + 0.5 * 0.25, 2);
});
