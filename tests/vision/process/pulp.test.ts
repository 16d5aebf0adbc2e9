import { describe, expect, it } from "vitest";
import * as pulp from "../../../vision/process/pulp.ts";
import { flowFromCan, waterBudget } from "../../../vision/process/water-budget.ts";
import * as published from "../../published/pulp.ts";
import { expectAgree } from "./agree.ts";

describe("pulp", () => {
  it.each(published.PULP_DENSITIES)("%f %% of %i kg/m³ is %f kg/m³", (percent, solids, density, tolerance) => {
    expectAgree(pulp.pulpDensity(percent, solids), density, tolerance);
    expectAgree(pulp.solidsPercentOf(pulp.pulpDensity(percent, solids), solids), percent, 1e-9);
  });
  it.each(published.PULP_VOLUMES)("%i %% of %i kg/m³ by volume", (percent, solids, share) =>
    expectAgree(pulp.solidsVolumeShare(percent, solids), share, 1e-4),
  );
  it("a timed litre gives the dry feed (Wills, ch. 3)", () => {
    expectAgree(pulp.solidsKgPerHour(published.TIMED_LITRE), published.TIMED_LITRE.kgPerHour, 1e-4);
  });
  it("refuses a pulp lighter than water or denser than its solids", () => {
    for (const density of [990, 2700]) {
      expect(() => pulp.solidsPercentOf(density, 2650)).toThrow(expect.objectContaining({ code: "out-of-range" }));
    }
  });
});

describe("water budget", () => {
  it.each(published.FEED_WATER)("%i kg/h at %i %%", (kg, percent, litres) =>
    expectAgree(pulp.waterWithSolids(kg, percent), litres, 1e-4),
  );

  it("half a tonne an hour at 25 %: 28.1447 L/min of pulp (worked out)", () => {
    const feed = { solidsKgPerHour: 500, feedSolidsPercent: 25, solidsKgPerM3: 2650, washLitresPerMinute: 0 };
    expectAgree(waterBudget(feed).feedPulpLitresPerMinute, 28.1447, 1e-5);
  });

  it("the published chromite table runs 8.75 t of wash water a tonne", () => {
    const { kgPerHour, washLitresPerMinute, washPerSolids } = published.CHROMITE_TABLE;
    const feed = { solidsKgPerHour: kgPerHour, feedSolidsPercent: 25, solidsKgPerM3: 3000, washLitresPerMinute };
    expectAgree(waterBudget(feed).washPerSolids, washPerSolids, 1e-5);
  });

  it("closes: what comes in leaves", () => {
    const feed = { solidsKgPerHour: 120, feedSolidsPercent: 20, solidsKgPerM3: 2650, washLitresPerMinute: 14 };
    const budget = waterBudget({ ...feed, hoursPerDay: 8 });
    expect(budget.totalLitresPerMinute).toBeCloseTo(8 + 14, 9);
    expect(budget.cubicMetresPerDay).toBeCloseTo((22 * 60 * 8) / 1000, 9);
    expect(budget.outSolidsPercent).toBeCloseTo((100 * 120) / (120 + 22 * 60), 9);
  });

  it("a can of 10 L in 30 s is 20 L/min", () => expect(flowFromCan(10, 30)).toBe(20));
});
