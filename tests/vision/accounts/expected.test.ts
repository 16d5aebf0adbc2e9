import { describe, expect, it } from "vitest";
import { expectedOf, type SeenRun } from "../../../vision/accounts/expected.ts";
import { readRunSheet } from "../../../vision/accounts/run-sheet.ts";
import { Expected } from "../../../vision/contract/index.ts";
import { randomFrom } from "../../../vision/scene/random.ts";
import { gaussFrom } from "./gauss.ts";
import { gradeAt, launderReading, launderSheet } from "./launder-runs.ts";

/** A run of two products, assayed to 1 %, with two photos. */
function runOf(number: number, denseTo: number, gauss: () => number): SeenRun {
  const grade = gradeAt(denseTo) * (1 + 0.01 * gauss());
  const { run } = readRunSheet(launderSheet(`Run ${number}`, denseTo, grade));
  return {
    id: `run-${number}`,
    record: run!,
    readings: [launderReading(denseTo), launderReading(denseTo + 4 * gauss())],
  };
}
const gauss = gaussFrom(randomFrom(5));
const places = [110, 135, 160, 185, 205, 225];
const runs = places.map((denseTo, i) => runOf(i, denseTo, gauss));
const mine = { ...runOf(99, 170, gauss), id: "mine" };

describe("what a photo lets expect, from runs with photos and assays", () => {
  const told = expectedOf(launderReading(170), mine, runs);
  const dense = told.launders.find(({ launder }) => launder === "A")!;

  it("holds the truth within its interval, which is narrower than chance would have it", () => {
    expect(told).toMatchObject({ material: "river sand", metal: "Sn" });
    expect(dense.grade.runs).toBe(6);
    const { from, to, value, outside } = dense.grade.expected!;
    expect(from).toBeLessThan(gradeAt(170));
    expect(to).toBeGreaterThan(gradeAt(170));
    expect(Math.abs(value - gradeAt(170))).toBeLessThan(1.5);
    expect(to - from).toBeLessThan(gradeAt(225) - gradeAt(110));
    expect(outside).toBe(false);
    expect(expectedOf(launderReading(60), mine, runs).launders[0]!.grade.expected!.outside).toBe(true);
    expect(Expected.safeParse({ reading: "0".repeat(64), ...told }).success).toBe(true);
  });

  it("shows each run foretold from the others, with the miss", () => {
    expect(dense.grade.leftOut.map(({ run }) => run)).toEqual(places.map((_, i) => `Run ${i}`));
    for (const { foretold, assaySays } of dense.grade.leftOut) {
      expect(Math.abs(foretold.value - assaySays.value)).toBeLessThan(3);
    }
    expect(dense.grade.leftOutError).toBeGreaterThan(0);
  });

  it("teaches itself nothing: the run that the photo is of is left out", () => {
    expect(expectedOf(launderReading(170), runs[0]!, runs).launders[0]!.grade.runs).toBe(5);
  });

  it("says what is wanting: too few runs, another material, a run that does not add up", () => {
    expect(expectedOf(launderReading(170), mine, runs.slice(0, 2)).launders[0]!.grade).toMatchObject({
      expected: null,
      refusal: expect.stringContaining("2 of 3 runs"),
    });
    const other = { ...mine, record: { ...mine.record, material: "scrap" } };
    expect(expectedOf(launderReading(170), other, runs).launders[0]!.grade).toMatchObject({
      expected: null,
      runs: 0,
      refusal: expect.stringContaining("No run of this material"),
    });
    const empty = { ...runs[0]!, record: { ...runs[0]!.record, samples: [] } };
    expect(expectedOf(launderReading(170), mine, [empty, ...runs.slice(1)]).launders[0]!.grade.runs).toBe(5);
  });

  it("a grade is never above that of the pure mineral, a recovery never above 100 %", () => {
    for (const { grade, recovery } of told.launders) {
      // cassiterite holds 78.77 % tin (IUPAC 2021 atomic weights)
      if (grade.expected) expect(grade.expected.to).toBeLessThanOrEqual(78.78);
      if (recovery.expected) expect(recovery.expected.to).toBeLessThanOrEqual(100);
    }
  });
});
