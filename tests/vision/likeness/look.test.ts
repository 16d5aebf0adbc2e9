import { expect, it } from "vitest";
import { DECK_FAULTS } from "../../../vision/contract/index.ts";
import { lookDifferences } from "../../../vision/likeness/differences.ts";
import { faultBasis, faultChanges } from "../../../vision/likeness/faults.ts";
import { dividesOf, scoreTry } from "../../../vision/likeness/lesson-score.ts";
import { LOOK_NUMBERS, lookOfReading, lookVector, outletMmOf } from "../../../vision/likeness/look.ts";
import { nearest } from "../../../vision/likeness/nearest.ts";
import { denseBetween } from "../../server/readings.ts";

const reading = denseBetween(100, 300, 4);
const look = lookOfReading(reading)!;

it("a look is free of the deck's size: shares of outlet and deck", () => {
  expect(outletMmOf(reading)).toBe(2 * (915 + 455));
  expect(look.bands).toEqual({
    dense: { from: 0.0365, to: 0.1095, width: 0.073, stretches: 1 },
    middling: null,
    light: null,
  });
  expect(lookVector(look)).toHaveLength(LOOK_NUMBERS);
  expect(lookOfReading({ ...reading, cover: null })).toBeNull();
});

it("finds exactly the nearest, as sorting all of them does", () => {
  const random = (n: number) => Math.abs(Math.sin(n * 12.9898) * 43758.5453) % 1;
  const all = Float32Array.from({ length: 500 * 7 }, (_, n) => random(n));
  const query = Float32Array.from({ length: 7 }, (_, n) => random(n + 0.5));
  const far = (at: number) => Math.hypot(...query.map((value, k) => all[7 * at + k]! - value));
  const sorted = Array.from({ length: 500 }, (_, at) => at).sort((a, b) => far(a) - far(b));
  const found = nearest(all, query, 9);
  expect(found.map(({ at }) => at)).toEqual(sorted.slice(0, 9));
  expect(found[0]!.distance).toBeCloseTo(far(sorted[0]!), 5);
  expect(nearest(new Float32Array(0), query, 3)).toEqual([]);
  expect(nearest(all.subarray(0, 14), query, 3)).toHaveLength(2);
});

it("searches 20,000 in 50 ms, at the median of 21", () => {
  const all = Float32Array.from({ length: 20_000 * LOOK_NUMBERS }, (_, n) => Math.abs(Math.sin(n)));
  const times = Array.from({ length: 21 }, (_, n) => {
    const start = performance.now();
    expect(nearest(all, all.subarray(n * LOOK_NUMBERS, (n + 1) * LOOK_NUMBERS), 3)[0]).toEqual({ at: n, distance: 0 });
    return performance.now() - start;
  });
  expect(times.sort((a, b) => a - b)[10]).toBeLessThan(50);
});

it("tells what differs, what differs most first", () => {
  const other = lookOfReading(denseBetween(100, 240, 4))!;
  expect(lookDifferences(look, other, 2740)).toEqual([
    { name: "edge", band: "dense", edge: "to", way: "lower", mm: 60, share: 0.0219 },
  ]);
  expect(lookDifferences(look, look, 2740)).toEqual([]);
  const dry = { ...look, cover: { ...look.cover, dry: 0.02, bare: 0.48 } };
  expect(lookDifferences(dry, { ...look, bands: { ...look.bands, dense: null } }, 2740)).toEqual([
    { name: "band", band: "dense", here: true },
    { name: "cover", of: "dry", way: "more", share: 0.02 },
  ]);
});

it.each(DECK_FAULTS)("the remedy of %s has a source", (fault) => {
  expect(faultBasis(fault)[0]!.source.length).toBeGreaterThan(10);
});

it("a try is scored by fault and edges, each with its limits", () => {
  const deck = { name: "D", lengthMm: 1, widthMm: 1, outline: [], outletMm: 2000 };
  const bands = { dense: { from: 0, to: 0.1, width: 0.1, stretches: 1 }, middling: null, light: null };
  const truth = { deck, fault: "dry" as const, look: { ...look, bands } };
  const said = (fault: "dry" | "none", toMm: number | null) =>
    scoreTry(truth, { fault, edges: toMm === null ? [] : [{ kind: "dense", edge: "to", atMm: toMm }] });
  expect(said("dry", 210)).toMatchObject({ score: 1, medianMm: 10, faultRight: true }); // half a per cent of 2000 mm
  expect(said("none", 200).score).toBe(0.5);
  expect(said("none", 300).score).toBe(0); // five per cent
  expect(said("dry", 255).score).toBeCloseTo(0.75, 9);
  expect(said("dry", null)).toMatchObject({ score: 0.5, medianMm: null, edges: [{ offMm: null, points: 0 }] });
  const extra = { kind: "light" as const, edge: "from" as const, atMm: 900 };
  const more = scoreTry(truth, { fault: "dry", edges: [{ kind: "dense", edge: "to", atMm: 200 }, extra] });
  expect(more).toMatchObject({ score: 0.5, extra: [extra] });
});

// Where products part and what mends a fault: Wills and Taggart (from memory), as the advice's own table of symptoms has it.
it("a splitter belongs where two bands part, and a change counts where it mends the fault; both only where they were said", () => {
  const deck = { name: "Deck", lengthMm: 1500, widthMm: 500, outline: [], outletMm: 2000 };
  const at = (from: number, to: number) => ({ from, to, width: to - from, stretches: 1 });
  const bands = { dense: at(0, 0.1), middling: null, light: at(0.12, 1) };
  const truth = { deck, fault: "tooHigh" as const, look: { ...look, bands } };
  expect(dividesOf(truth)).toEqual([{ between: ["dense", "light"], atMm: 220 }]);
  const edges = [
    { kind: "dense" as const, edge: "to" as const, atMm: 200 },
    { kind: "light" as const, edge: "from" as const, atMm: 240 },
  ];
  const said = { fault: "tooHigh" as const, edges };
  const up = { control: "washWater", direction: "raise" } as const;
  const set = (atMm: number) => [{ between: ["dense", "light"] as ["dense", "light"], atMm }];
  expect(scoreTry(truth, said)).toMatchObject({ score: 1, splitters: [], change: null });
  expect(scoreTry(truth, { ...said, splitters: set(225), change: up })).toMatchObject({
    score: 1,
    change: { right: true },
  });
  const wrong = scoreTry(truth, { ...said, splitters: set(400), change: { ...up, direction: "lower" } });
  expect(wrong).toMatchObject({
    score: 0.5,
    splitters: [{ atMm: 220, offMm: 180, points: 0 }],
    change: { right: false },
  });
  const between = [{ between: ["dense", "middling"] as ["dense", "middling"], atMm: 220 }];
  expect(scoreTry(truth, { ...said, splitters: between }).splitters).toMatchObject([{ saidMm: null, points: 0 }]);
  expect(faultChanges("tooLow")).toContainEqual({ control: "washWater", direction: "lower" });
  expect(faultChanges("none")).toEqual([{ control: "none", direction: "hold" }]);
  for (const fault of DECK_FAULTS) expect(faultChanges(fault).length, fault).toBeGreaterThan(0);
});
