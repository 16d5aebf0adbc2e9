import { describe, expect, it } from "vitest";
import { judgeChange } from "../../../vision/twin/did-it-help.ts";

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
