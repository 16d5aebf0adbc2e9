import { describe, expect, it } from "vitest";
import { divideOf } from "../../../vision/twin/as-seen.ts";
import { fitTwin, type Seen } from "../../../vision/twin/fit-twin.ts";
import { FIRST_GUESS, predictOutlet, type TwinParameters } from "../../../vision/twin/transport.ts";

/** Invented deck and feed; readings made by the twin itself with other parameters. */
const deck = { lengthMm: 1800, widthMm: 900, feedMm: [40, 420] } as const;
const feed = {
  dense: { share: 0.1, densityKgPerM3: 7300, sizeUm: [90, 220] },
  middling: { share: 0.2, densityKgPerM3: 4000, sizeUm: [90, 220] },
  light: { share: 0.7, densityKgPerM3: 2650, sizeUm: [90, 220] },
} as const;
const base = {
  washWaterLitresPerMinute: 14,
  feedWaterLitresPerMinute: 6,
  feedKgPerHour: 100,
  crossSlopeMmPerM: 20,
  endSlopeMmPerM: 4,
  strokeMm: 14,
  strokesPerMinute: 290,
  waterTemperatureCelsius: 18,
};
const truth: TwinParameters = { ...FIRST_GUESS, drift: 0.7, sorting: 0.65 };
const PAIRS = [
  ["dense", "middling"],
  ["middling", "light"],
] as const;
const seenAt = (change: object, offMm = 0, plant = truth): Seen => {
  const settings = { ...base, ...change };
  const curves = predictOutlet(deck, settings, feed, plant);
  const borders = PAIRS.map((between) => {
    const { atMm, blurMm } = divideOf(curves, between)!;
    return { between, atMm: { value: atMm + offMm, error: 5 }, blurMm };
  });
  return { settings, feed, borders };
};

describe("fit", () => {
  it("one reading: its borders are met within their errors", () => {
    expect(fitTwin(deck, [seenAt({})]).misfitMm).toBeLessThan(5);
  });

  it("three readings foretell a fourth", () => {
    const readings = [seenAt({}), seenAt({ crossSlopeMmPerM: 26 }), seenAt({ endSlopeMmPerM: 9 })];
    const { parameters, misfitMm } = fitTwin(deck, readings);
    expect(misfitMm).toBeLessThan(5);
    const other = { ...base, washWaterLitresPerMinute: 19 };
    const [found, expected] = [parameters, truth].map(
      (p) => divideOf(predictOutlet(deck, other, feed, p), PAIRS[0])!.atMm,
    );
    expect(Math.abs(found! - expected!)).toBeLessThan(10);
  });

  it("a pair teaches how bands answer the slope: more of them than one look, and the next move is foretold", () => {
    const lazy = { ...truth, slopeResponse: 0.35 };
    const looks = [seenAt({}, 0, lazy), seenAt({ crossSlopeMmPerM: 28 }, 0, lazy)];
    const then = { ...base, crossSlopeMmPerM: 36 };
    const at = (p: TwinParameters) => divideOf(predictOutlet(deck, then, feed, p), PAIRS[1])!.atMm;
    const off = (seen: readonly Seen[]) => Math.abs(at(fitTwin(deck, seen).parameters) - at(lazy));
    expect(off(looks)).toBeLessThan(30);
    expect(off(looks)).toBeLessThan(off(looks.slice(1)) / 2);
    expect(fitTwin(deck, looks).parameters.slopeResponse).toBeLessThan(0.5);
  });

  it("two looks one after the other teach it too, though less than both together", () => {
    const lazy = { ...truth, slopeResponse: 0.35 };
    const first = fitTwin(deck, [seenAt({}, 0, lazy)]);
    const second = fitTwin(deck, [seenAt({ crossSlopeMmPerM: 28 }, 0, lazy)], {
      parameters: first.parameters,
      logErrors: first.logErrors,
    });
    expect(second.parameters.slopeResponse).toBeLessThan(0.95 * first.parameters.slopeResponse);
    expect(second.logErrors.slopeResponse).toBeLessThan(first.logErrors.slopeResponse);
  });

  it("one look says nothing of responses", () => {
    const { parameters, logErrors } = fitTwin(deck, [seenAt({ crossSlopeMmPerM: 33 })]);
    expect(parameters.slopeResponse).toBeCloseTo(FIRST_GUESS.slopeResponse, 3);
    expect(logErrors.slopeResponse).toBeCloseTo(0.5, 2);
  });

  it("a dry deck teaches at which depth its film breaks, and a whole one that it does not yet", () => {
    const breaks = (dryShare?: number) => fitTwin(deck, [{ ...seenAt({}), dryShare }]).parameters.breaksMm;
    expect(breaks()).toBeCloseTo(FIRST_GUESS.breaksMm, 3);
    expect(breaks(0.1)).toBeGreaterThan(1.2 * FIRST_GUESS.breaksMm);
    const thin = { ...seenAt({ washWaterLitresPerMinute: 3 }), dryShare: 0 };
    expect(fitTwin(deck, [thin]).parameters.breaksMm).toBeLessThan(0.95 * FIRST_GUESS.breaksMm);
  });

  it("says how badly it fits when the bands are in no order that it knows", () => {
    const [first, second] = seenAt({}).borders as [Seen["borders"][0], Seen["borders"][0]];
    const swapped = [1500, 200].map((value, i) => ({ ...[first, second][i]!, atMm: { value, error: 5 } }));
    expect(fitTwin(deck, [{ ...seenAt({}), borders: swapped }]).misfitMm).toBeGreaterThan(100);
  });

  it("grows surer with more readings", () => {
    const one = fitTwin(deck, [seenAt({})]).logErrors;
    const two = fitTwin(deck, [seenAt({}), seenAt({ endSlopeMmPerM: 9 })]).logErrors;
    expect(two.climbMmPerM).toBeLessThan(one.climbMmPerM);
  });

  it("takes a second at most for three readings", () => {
    const readings = [seenAt({}), seenAt({ crossSlopeMmPerM: 26 }), seenAt({ endSlopeMmPerM: 9 })];
    const times = [1, 2, 3].map(() => {
      const start = performance.now();
      fitTwin(deck, readings);
      return performance.now() - start;
    });
    expect(Math.min(...times)).toBeLessThan(1000); // the best of three: other work shares the cores
  });

  it("refuses to fit nothing", () => {
    expect(() => fitTwin(deck, [])).toThrow(expect.objectContaining({ code: "too-few-readings" }));
  });
});
