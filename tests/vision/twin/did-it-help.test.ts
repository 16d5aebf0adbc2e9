import { describe, expect, it } from "vitest";
import { judgeChange, learnResponse } from "../../../vision/twin/did-it-help.ts";

describe("did it help", () => {
  it.each([
    [40, 5, 42, 6, "as expected", "keep"],
    [-40, 5, -42, 6, "as expected", "keep"],
    [12, 4, 42, 6, "less than expected", "more"],
    [90, 5, 42, 6, "more than expected", "back"],
    [-30, 5, 42, 6, "the other way", "back"],
    [3, 5, 60, 6, "less than expected", "other"],
    [3, 5, 8, 6, "nothing seen", "wait"],
    [30, 5, 0, 2, "more than expected", "other"],
  ])("moved %f ± %f, expected %f ± %f: %s", (moved, movedError, expected, expectedError, verdict, next) => {
    const judged = judgeChange({ value: moved, error: movedError }, { value: expected, error: expectedError });
    expect(judged).toMatchObject({ verdict, next });
  });

  it("turns at two standard errors of the move", () => {
    const expected = { value: 12, error: 4 };
    expect(judgeChange({ value: 9.9, error: 5 }, expected).verdict).toBe("nothing seen");
    expect(judgeChange({ value: 10.1, error: 5 }, expected).verdict).toBe("as expected");
  });

  it("refuses a move that is no number", () => {
    expect(() => judgeChange({ value: Number.NaN, error: 1 }, { value: 1, error: 1 })).toThrow(
      expect.objectContaining({ code: "out-of-range" }),
    );
  });
});

describe("what a pair teaches", () => {
  it("is the mean weighed by errors: equal ones meet half way, with 1/√2 of the error", () => {
    const learned = learnResponse({ value: 10, error: 2 }, { value: 40, error: 4 }, 2);
    expect(learned.value).toBeCloseTo(15, 12);
    expect(learned.error).toBeCloseTo(Math.SQRT2, 12);
  });
  it("does not mind the sign of the change", () => {
    expect(learnResponse({ value: 10, error: 2 }, { value: -40, error: 4 }, -2).value).toBeCloseTo(15, 12);
  });
});
