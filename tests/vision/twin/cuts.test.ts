import { describe, expect, it } from "vitest";
import { bestCuts, chanceOfFloor, firstLaunder, placesOf } from "../../../vision/twin/cuts.ts";
import { carriedShares, type OutletCurves, smeared } from "../../../vision/twin/outlet-curves.ts";

/** Invented: dense on 0-200 mm, middling on 180-400, light on 350-1000; one unit a mm each. */
const block = (from: number, to: number) =>
  Float64Array.from({ length: 1000 }, (_, i) => (i >= from && i < to ? 1 : 0));
const curves: OutletCurves = {
  mmPerBin: 1,
  dense: block(0, 200),
  middling: block(180, 400),
  light: block(350, 1000),
};
const upper = { atMm: 150, minMm: 40, maxMm: 600, movable: true };
const lower = { atMm: 500, minMm: 150, maxMm: 900, movable: true };

describe("carried", () => {
  it("counts what falls between cuts, part bins too", () => {
    const [first, second, third] = carriedShares(curves, [100.5, 400]);
    expect(first).toEqual({ dense: 100.5 / 200, middling: 0, light: 0 });
    expect(second!.middling).toBeCloseTo(1, 12);
    expect(third!.light).toBeCloseTo(600 / 650, 12);
  });
  it("smears without loss, ends included", () => {
    const blurred = smeared(curves, 30);
    const sum = (curve: Float64Array) => curve.reduce((a, b) => a + b, 0);
    expect(sum(blurred.dense)).toBeCloseTo(200, 9);
    expect(blurred.dense[200]!).toBeCloseTo(0.5, 1); // an edge is half way at its place
  });
});

describe("floors", () => {
  it("purity: the farthest cut that stays pure", () => {
    // 200 dense and m − 180 middling before m in 180 to 200; 0.95 holds to where m / (m + m − 180) = 0.95
    expect(bestCuts(curves, [upper, lower], { kind: "purity", least: 1 })!.cutsMm).toEqual([180, 500]);
    const [cut] = bestCuts(curves, [upper, lower], { kind: "purity", least: 0.95 })!.cutsMm;
    expect(cut).toBe(Math.floor((180 * 0.95) / (2 * 0.95 - 1)));
  });
  it("recovery: the nearest cut that gets enough", () => {
    expect(bestCuts(curves, [upper, lower], { kind: "recovery", least: 0.9 })!.cutsMm[0]).toBe(180);
    expect(bestCuts(curves, [upper, lower], { kind: "recovery", least: 1 })!.cutsMm[0]).toBe(200);
  });
  it("stays when all places serve alike: nothing moves for nothing", () => {
    expect(bestCuts(curves, [upper], { kind: "recovery", least: 0.5 })!.cutsMm[0]).toBe(150);
  });
  it.each([1, 2, 3, 4, 5])("meets both floors with %i splitters, moving the first alone", (count) => {
    const splitters = Array.from({ length: count }, (_, i) => ({ ...upper, atMm: 150 + 150 * i, maxMm: 950 }));
    for (const kind of ["purity", "recovery"] as const) {
      const { cutsMm, carriedThen } = bestCuts(curves, splitters, { kind, least: 0.9 })!;
      expect(cutsMm.slice(1)).toEqual(splitters.slice(1).map(({ atMm }) => atMm));
      expect(carriedThen).toHaveLength(count + 1);
      expect(firstLaunder(curves, cutsMm[0]!)[kind]!).toBeGreaterThanOrEqual(0.9 - 1e-9);
    }
  });
  it("says so when no place will do", () => {
    expect(bestCuts(curves, [{ ...upper, maxMm: 100 }], { kind: "recovery", least: 0.9 })).toBeNull();
  });
  it("keeps to steps, ports, and splitters that are fixed", () => {
    expect(placesOf({ ...upper, minMm: 42, maxMm: 60, stepMm: 5 })).toEqual([45, 50, 55, 60]);
    expect(placesOf({ ...upper, portsMm: [700, 100, 20, 300] })).toEqual([100, 300]);
    expect(placesOf({ ...upper, movable: false })).toEqual([150]);
    const stepped = bestCuts(curves, [{ ...upper, stepMm: 25 }], { kind: "purity", least: 1 })!;
    expect(stepped.cutsMm[0]).toBe(175);
  });
});

describe("value", () => {
  const worth = (dense: number, middling: number, light: number) => ({ dense, middling, light });
  const perTonne = [worth(100, -40, -200), worth(30, 20, -20), worth(0, 0, 1)];

  it("is as good as trying every pair of places", () => {
    const coarse = [
      { ...upper, stepMm: 10 },
      { ...lower, stepMm: 10 },
    ];
    const blurred = smeared(curves, 25);
    const total = (cuts: readonly number[]) =>
      carriedShares(blurred, cuts).reduce(
        (sum, share, i) =>
          sum +
          200 * share.dense * perTonne[i]!.dense +
          220 * share.middling * perTonne[i]!.middling +
          650 * share.light * perTonne[i]!.light,
        0,
      );
    let most = Number.NEGATIVE_INFINITY;
    for (const a of placesOf(coarse[0]!)) {
      for (const b of placesOf(coarse[1]!)) if (a <= b) most = Math.max(most, total([a, b]));
    }
    const found = bestCuts(blurred, coarse, { kind: "value", perTonne })!;
    expect(total(found.cutsMm)).toBeCloseTo(most, 6);
  });

  it("serves two to six launders", () => {
    for (const count of [1, 2, 3, 4, 5]) {
      const splitters = Array.from({ length: count }, (_, i) => ({ ...upper, atMm: 100 + 50 * i, maxMm: 950 }));
      const prices = Array.from({ length: count + 1 }, (_, i) => worth(100 - 10 * i, 20 - i, -10 + i));
      const { cutsMm } = bestCuts(curves, splitters, { kind: "value", perTonne: prices })!;
      expect(cutsMm).toEqual([...cutsMm].sort((a, b) => a - b));
      expect(cutsMm).toHaveLength(count);
    }
  });

  it("refuses prices for the wrong number of launders", () => {
    expect(() => bestCuts(curves, [upper], { kind: "value", perTonne })).toThrow(
      expect.objectContaining({ code: "out-of-range" }),
    );
  });
});

describe("doubt", () => {
  const floor = { kind: "purity", least: 1 } as const;
  it("a cut on the edge itself meets the floor half of the time", () => {
    expect(chanceOfFloor(curves, 180, floor, 10)).toBeCloseTo(0.5, 1);
    expect(chanceOfFloor(curves, 160, floor, 10)).toBeCloseTo(0.977, 1); // two errors inside: normal table
    expect(chanceOfFloor(curves, 180, floor, 0)).toBe(1);
  });
  it("has no purity where nothing falls", () => expect(firstLaunder(curves, 0).purity).toBeNull());
});
