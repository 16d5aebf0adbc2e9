import { describe, expect, it } from "vitest";
import { gradationOf, gyFactors, nuggetError, samplingError, smallestSample } from "../../../vision/accounts/gy.ts";
import { countedShare, magnetShare, massShares, panCount, panGrade } from "../../../vision/accounts/hand-checks.ts";
import { samplingPlan } from "../../../vision/accounts/sampling-plan.ts";
import { massOver, moistureOf, rateOfCuts } from "../../../vision/accounts/timed-cuts.ts";
import { randomFrom } from "../../../vision/scene/random.ts";
import { TIMED_LITRE } from "../../published/pulp.ts";
import * as published from "../../published/sampling.ts";
import { expectAgree } from "../process/agree.ts";

const measured = (value: number, error: number) => ({ value, error });
const outOfRange = expect.objectContaining({ code: "out-of-range" });
const tooFew = expect.objectContaining({ code: "too-few" });

describe("timed cuts", () => {
  const cut = (wet: number, dry: number, seconds: number) => ({
    wetKg: measured(wet, 0.01),
    dryKg: measured(dry, 0.005),
    moisturePercent: null,
    seconds: measured(seconds, 0.3),
  });

  it("a litre of 1.4 kg in 7 s, dried, is what the pulp formula has (Wills, ch. 3: 0.33 t/h)", () => {
    const rate = rateOfCuts([cut(1.4, 1.4 * 0.458874, 7)]);
    expectAgree(rate.dryKgPerHour.value, TIMED_LITRE.kgPerHour, 1e-5);
    expectAgree(rate.solidsPercent!.value, 45.8874, 1e-5);
    expectAgree(rate.waterKgPerHour!.value, 720 - TIMED_LITRE.kgPerHour, 1e-5);
    expectAgree(rate.dryKgPerHour.error / rate.dryKgPerHour.value, Math.hypot(0.005 / 0.642424, 0.3 / 7), 1e-4);
    expect(rate.errorFrom).toBe("scale and watch");
  });

  it("three cuts that differ say how well the mean is known: s / √n", () => {
    const rate = rateOfCuts([cut(3, 1, 60), cut(3, 1.2, 60), cut(3, 0.8, 60)]);
    expect(rate.dryKgPerHour.value).toBeCloseTo(60, 9);
    expect(rate.dryKgPerHour.error).toBeCloseTo((0.2 * 60) / Math.sqrt(3), 6);
    expect(rate.errorFrom).toBe("spread of cuts");
    expect(rateOfCuts([cut(3, 1, 60), cut(3, 1.2, 60)]).errorFrom).toBe("scale and watch");
  });

  it("a moist part stands for a cut that was not dried", () => {
    const moisture = moistureOf(measured(0.5, 0), measured(0.1, 0));
    const rate = rateOfCuts([
      { wetKg: measured(5, 0), dryKg: null, moisturePercent: moisture, seconds: measured(36, 0) },
    ]);
    expect(rate.dryKgPerHour.value).toBeCloseTo(100, 9);
    expect(massOver(rate.dryKgPerHour, measured(3.5, 0)).value).toBeCloseTo(350, 9);
  });

  it("refuses none, one without dry weight, dry above wet, and no time", () => {
    expect(() => rateOfCuts([])).toThrow(tooFew);
    expect(() => rateOfCuts([{ ...cut(1, 1, 60), dryKg: null }])).toThrow(tooFew);
    expect(() => rateOfCuts([cut(1, 1.1, 60)])).toThrow(outOfRange);
    expect(() => rateOfCuts([cut(2, 1, 0)])).toThrow(outOfRange);
    expect(() => moistureOf(measured(1, 0), measured(1.2, 0))).toThrow(outOfRange);
  });
});

describe("Gy's formula", () => {
  const { LEAD_ORE } = published;
  it("factors of the lead ore", () => {
    const [share, mineral, liberation, constant] = published.LEAD_FACTORS;
    const factors = gyFactors(LEAD_ORE);
    expectAgree(LEAD_ORE.mineralShare, share, 1e-6);
    expectAgree(factors.mineral, mineral, 1e-5);
    expectAgree(factors.liberation, liberation, 1e-5);
    expectAgree(factors.constant, constant, 1e-5);
  });

  it.each(published.LEAD_MASSES)("four stages at %f cm: %f g as printed", (topSizeCm, grams, tolerance) => {
    const material = { ...LEAD_ORE, topSizeCm };
    const plan = samplingPlan({ material, relativeError: 0.02, confidence: 0.95, stages: 4, safety: 2 });
    expectAgree(plan.grams, grams, tolerance);
  });

  it("one stage without safety is an eighth of it, and what it then gives is the error asked for", () => {
    const aim = { material: LEAD_ORE, relativeError: 0.02, confidence: 0.95, stages: 1, safety: 1 };
    const { grams } = samplingPlan(aim);
    expectAgree(grams, published.LEAD_ONE_STAGE_GRAMS, 1e-5);
    expectAgree(samplingError(LEAD_ORE, grams), 0.02 / 1.959964, 1e-6);
  });

  it.each(published.LEAD_BY_HAND)("by hand, at %f cm with gradation %f: %f g", (topSizeCm, gradation, grams) => {
    const material = { ...LEAD_ORE, mineralShare: 0.058, topSizeCm, gradation };
    expectAgree(smallestSample(material, 0.01), grams, 1e-2);
  });

  it.each(published.GOLD)(
    "gold of %f g/t at %f cm",
    (grade, topSizeCm, liberationCm, shape, constant, error, grams) => {
      const material = {
        topSizeCm,
        liberationCm,
        mineralShare: grade * 1e-6,
        mineralGPerCm3: 19.3,
        gangueGPerCm3: 2.65,
        shape,
        gradation: 0.25,
      };
      expectAgree(gyFactors(material).constant, constant, 1e-4);
      expectAgree(samplingError(material, 1000), error, 1e-4);
      expectAgree(smallestSample(material, 0.1), grams, 1e-4);
    },
  );

  it("counts of gold balls, a bound below", () => {
    const { grains, error } = nuggetError(1000, 1e-5, 0.01, 19.3);
    expectAgree(grains, published.GOLD_BALLS.grains, 1e-4);
    expectAgree(error, published.GOLD_BALLS.error, 1e-4);
  });

  it("a lot that ends: the whole of it has no error, and the sample for that error comes back", () => {
    const { variance, sampleGrams, lotGrams, error } = published.FINITE_LOT;
    const topSizeCm = Math.cbrt(variance / gyFactors({ ...LEAD_ORE, topSizeCm: 0.015 }).constant);
    const material = { ...LEAD_ORE, topSizeCm, liberationCm: 30 }; // free at every size, so that C stays
    expectAgree(gyFactors(material).constant * topSizeCm ** 3, variance, 1e-9);
    expectAgree(samplingError(material, sampleGrams, lotGrams), error, 1e-4);
    expectAgree(smallestSample(material, error, lotGrams), sampleGrams, 1e-4);
    expect(samplingError(material, lotGrams, lotGrams)).toBe(0);
  });

  it("grows with the cube of the size where grains are free, with its 2.5th power above", () => {
    const grams = (topSizeCm: number) => smallestSample({ ...LEAD_ORE, topSizeCm }, 0.01);
    expectAgree(grams(0.01) / grams(0.005), 8, 1e-9);
    expectAgree(grams(2) / grams(1), 2 ** 2.5, 1e-9);
  });

  it("refuses what the formula does not hold for", () => {
    expect(() => gyFactors({ ...LEAD_ORE, mineralShare: 0 })).toThrow(outOfRange);
    expect(() => gyFactors({ ...LEAD_ORE, topSizeCm: 40 })).toThrow(outOfRange);
    expect(() => samplingError(LEAD_ORE, 10, 5)).toThrow(outOfRange);
    expect(() => smallestSample(LEAD_ORE, 0)).toThrow(outOfRange);
  });

  it.each([
    [5, 0.25],
    [4, 0.5],
    [2, 0.5],
    [1.9, 0.75],
    [1, 1],
  ])("a size ratio of %f has gradation %f", (ratio, gradation) => expect(gradationOf(ratio)).toBe(gradation));

  it("a plan says in how many cuts, how often, and how wide the cutter is", () => {
    const aim = { material: { ...LEAD_ORE, topSizeCm: 0.1 }, relativeError: 0.05, confidence: 0.95 };
    const plan = samplingPlan({ ...aim, spreadOfCuts: 0.1, runMinutes: 240 });
    expect(plan.cuts).toBe(16); // (1.96 × 0.1 / 0.05)² = 15.4
    expect(plan.minutesBetweenCuts).toBe(15);
    expect(plan.leastOpeningMm).toBe(10);
    expect(plan.gramsPerCut * plan.cuts).toBeCloseTo(plan.grams, 9);
    expect(samplingPlan(aim)).toMatchObject({ cuts: 3, minutesBetweenCuts: null });
    expect(samplingPlan({ ...aim, material: { ...LEAD_ORE, topSizeCm: 1 } }).leastOpeningMm).toBe(30);
  });
});

describe("quick hand checks", () => {
  it.each(published.SCORE_INTERVALS)("%i of %i grains", (hits, all, from, to) => {
    const share = countedShare(hits, all);
    expect(Math.abs(share.from - from)).toBeLessThan(1e-4);
    expect(Math.abs(share.to - to)).toBeLessThan(1e-4);
    expect(share.value).toBe(hits / all);
  });

  it.each(published.POISSON_LIMITS)("a pan of %i grains", (grains, from, to) => {
    const count = panCount(grains);
    expect(Math.abs(count.from - from)).toBeLessThan(1e-3);
    expect(Math.abs(count.to - to)).toBeLessThan(1e-2);
  });

  it("counts of grains become mass by their densities, with the error that draws of grains show", () => {
    const kinds = (dense: number, light: number) => [
      { name: "dense", count: dense, densityKgPerM3: 6950 },
      { name: "light", count: light, densityKgPerM3: 2650 },
    ];
    const { value, error } = massShares(kinds(40, 160)).dense!;
    expectAgree(value, (40 * 6950) / (40 * 6950 + 160 * 2650), 1e-12);
    const random = randomFrom(5);
    const drawn = Array.from({ length: 3000 }, () => {
      let dense = 0;
      for (let i = 0; i < 200; i++) dense += Number(random() < 0.2);
      return massShares(kinds(dense, 200 - dense)).dense!.value;
    });
    const mean = drawn.reduce((a, b) => a + b, 0) / drawn.length;
    const sd = Math.sqrt(drawn.reduce((sum, v) => sum + (v - mean) ** 2, 0) / drawn.length);
    expectAgree(error, sd, 0.05);
  });

  it("a pan's grade: 25 grains of 0.02 mg from 5 kg, a tenth lost", () => {
    const grade = panGrade(25, measured(5, 0.1), { value: 2e-5, error: 2e-6, spread: 1 }, measured(0.1, 0.03));
    expectAgree(grade.value, (25 * 2e-5 * 1000) / 5 / 0.9, 1e-9);
    const parts = [Math.SQRT2 / 5, 0.02, 0.1, 0.03 / 0.9]; // counting and unlike grains, scale, mass of a grain, loss
    expectAgree(grade.error / grade.value, Math.hypot(...parts), 1e-4);
  });

  it("the magnet: by the scale from one charge, by the spread from three", () => {
    const charge = (held: number) => ({ heldGrams: measured(held, 0.1), chargeGrams: measured(100, 0.1) });
    expectAgree(magnetShare([charge(12)]).error, Math.hypot(0.1 / 100, (12 * 0.1) / 100 ** 2), 1e-4);
    const three = magnetShare([charge(10), charge(12), charge(14)]);
    expect(three.value).toBeCloseTo(0.12, 12);
    expectAgree(three.error, 0.02 / Math.sqrt(3), 1e-6);
  });

  it("refuses no grains, half grains, and more held than there was", () => {
    expect(() => countedShare(0, 0)).toThrow(tooFew);
    expect(() => countedShare(3, 2)).toThrow(outOfRange);
    expect(() => countedShare(1.5, 2)).toThrow("no whole number");
    expect(() => panCount(-1)).toThrow("must be at least 0");
    expect(() => magnetShare([])).toThrow(tooFew);
    expect(() => magnetShare([{ heldGrams: measured(3, 0), chargeGrams: measured(2, 0) }])).toThrow(outOfRange);
    expect(() => magnetShare([{ heldGrams: measured(0, 0), chargeGrams: measured(0, 0) }])).toThrow("must be above 0");
  });
});
