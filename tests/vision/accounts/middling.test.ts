import { describe, expect, it } from "vitest";
import { decideMiddling, type MiddlingMoney } from "../../../vision/accounts/middling-decision.ts";
import { type MiddlingFraction, testMiddling } from "../../../vision/accounts/middling-kind.ts";
import { inEnglish } from "../../english.ts";
import { expectAgree } from "../process/agree.ts";

const measured = (value: number, error: number) => ({ value, error });
const counted = (freeDense: number, freeLight: number, locked: number): MiddlingFraction[] => [
  { sizeMm: [0, 1], mass: measured(1, 0.01), grade: null, grains: { freeDense, freeLight, locked } },
];
/** Grades of the finer and coarser half, with their errors. */
const sized = (fine: number, coarse: number, error: number): MiddlingFraction[] => [
  { sizeMm: [0.25, 0.5], mass: measured(10, 0.05), grade: measured(coarse, error * coarse), grains: null },
  { sizeMm: [0.075, 0.25], mass: measured(10, 0.05), grade: measured(fine, error * fine), grains: null },
];

// Two kinds of middling: Wills, Mineral Processing Technology (from memory). Tests by grains and by sizes: common practice.
describe("true or false middling", () => {
  it.each([
    [20, 180, "locked"],
    [180, 20, "misplaced"],
    [100, 100, "mixed"],
    [5, 6, "unsure"],
  ])("%i free and %i locked grains: %s", (freeDense, locked, kind) =>
    expect(testMiddling(counted(freeDense, 300, locked)).kind).toBe(kind),
  );

  it.each([
    [9, 1.5, "misplaced"], // dense in the fine half, light in the coarse
    [3.1, 3, "locked"], // both in all sizes
    [5, 3, "unsure"],
  ])("finer half %f %%, coarser %f %%: %s", (fine, coarse, kind) => {
    const test = testMiddling(sized(fine, coarse, 0.04));
    expect(test.kind).toBe(kind);
    expectAgree(test.fineOverCoarse!.value, fine / coarse, 1e-9);
    expectAgree(test.fineOverCoarse!.error, (fine / coarse) * Math.hypot(0.04, 0.04), 1e-4);
  });

  it("the same grades with poor assays tell nothing", () => {
    expect(testMiddling(sized(9, 1.5, 0.5)).kind).toBe("unsure");
    expect(testMiddling(sized(3.1, 3, 0.5)).kind).toBe("unsure");
  });

  it("both sides of the limits: two standard errors from 60 % locked, and from twice as rich", () => {
    // Wilson's error of 66 and 69 % of 200 is 3.3 points
    expect(testMiddling(counted(62, 0, 138)).kind).toBe("locked");
    expect(testMiddling(counted(68, 0, 132)).kind).not.toBe("locked");
    expect(testMiddling(sized(2.3, 1, 0.04)).kind).toBe("misplaced");
    expect(testMiddling(sized(2.2, 1, 0.04)).kind).toBe("unsure");
  });

  it("grains count where both were done, and it says that they differ", () => {
    const both = sized(9, 1.5, 0.04).map((f) => ({ ...f, grains: { freeDense: 10, freeLight: 100, locked: 90 } }));
    const test = testMiddling(both);
    expect(test.kind).toBe("locked");
    expect(inEnglish(test.because)).toContain("Sizes and grains do not say the same: the grains count.");
  });

  it("a fraction weighs by its mass and how much of it holds dense", () => {
    const grains = (freeDense: number, freeLight: number, locked: number) => ({ freeDense, freeLight, locked });
    const test = testMiddling([
      { sizeMm: [0, 0.2], mass: measured(1, 0), grade: null, grains: grains(80, 100, 20) },
      { sizeMm: [0.2, 1], mass: measured(9, 0), grade: null, grains: grains(20, 300, 80) },
    ]);
    const [fine, coarse] = [1 * 0.5, 9 * 0.25];
    expectAgree(test.lockedShare!.value, (fine * 0.2 + coarse * 0.8) / (fine + coarse), 1e-9);
  });

  it("refuses nothing at all, and sizes the wrong way round", () => {
    expect(() => testMiddling([])).toThrow(expect.objectContaining({ code: "too-few" }));
    const [one] = counted(1, 1, 1);
    expect(() => testMiddling([{ ...one!, sizeMm: [2, 1] }])).toThrow(
      expect.objectContaining({ code: "out-of-range" }),
    );
  });
});

describe("rerun, regrind or discard", () => {
  const base = { gradePercent: measured(6, 0.3), tailingPercent: measured(0.4, 0.05), shareOfFeed: 0.1, money: null };
  const locked = testMiddling(counted(20, 300, 180));
  const free = testMiddling(counted(180, 300, 20));

  it.each([
    [locked, "regrind"],
    [free, "rerun"],
    [testMiddling(counted(100, 100, 100)), "rerun"],
    [testMiddling(counted(5, 5, 6)), "look closer"],
  ])("without prices its kind decides (case %#)", (test, choice) => {
    expect(decideMiddling({ ...base, test })).toMatchObject({ choice, sure: false, worth: null });
  });

  it("one no richer than the tailing is discarded; a little richer is not", () => {
    const poor = decideMiddling({ ...base, test: free, gradePercent: measured(0.5, 0.1) });
    expect(poor.choice).toBe("discard");
    expect(inEnglish(poor.because)).toContain("It is no richer than the tailing, within the errors.");
    expect(decideMiddling({ ...base, test: free, gradePercent: measured(0.7, 0.1) }).choice).toBe("rerun");
  });

  const money: MiddlingMoney = {
    metal: measured(20_000, 1000),
    rerunCost: measured(15, 2),
    regrindCost: measured(40, 5),
    discardCost: measured(2, 0.5),
    freeWon: measured(0.7, 0.05),
    freeWonAfterGrinding: measured(0.6, 0.05),
    lockedWonAfterGrinding: measured(0.55, 0.1),
  };
  it("with prices each way is worth its metal less its cost, and the best is chosen", () => {
    const decided = decideMiddling({ ...base, test: locked, money });
    // 6 % of 20 000 is 1200 a tonne; a tenth of the dense grains is free
    expectAgree(decided.worth!.rerun.value, 1200 * 0.1 * 0.7 - 15, 1e-9);
    expectAgree(decided.worth!.regrind.value, 1200 * (0.1 * 0.6 + 0.9 * 0.55) - 55, 1e-9);
    expect(decided.worth!.discard.value).toBe(-2);
    expectAgree(decided.worth!.discard.error, 0.5, 1e-9);
    expect(decided).toMatchObject({ choice: "regrind", sure: true });
    expect(inEnglish([decided.caution!])[0]).toContain("Grind wet");
  });

  it("locked grains too poor to grind are discarded, and no caution of grinding is shown", () => {
    const decided = decideMiddling({ ...base, test: locked, money, gradePercent: measured(0.3, 0.02) });
    expect(decided).toMatchObject({ choice: "discard", caution: null });
  });

  it("says when the best way is not surely better", () => {
    const dear = { ...money, regrindCost: measured(660 - 84 + 10, 80) };
    const decided = decideMiddling({ ...base, test: locked, money: dear });
    expect(decided.sure).toBe(false);
    expect(inEnglish(decided.because).join(" ")).toContain("not surely more");
  });

  it.each([
    [0.3, false],
    [0.31, true],
  ])("a middling of %f of the feed crowds the table: %s", (shareOfFeed, crowds) => {
    const said = inEnglish(decideMiddling({ ...base, test: free, shareOfFeed }).because).join(" ");
    expect(said.includes("return it in part")).toBe(crowds);
  });
});
