import { describe, expect, it } from "vitest";
import { moveLimit } from "../../../vision/accounts/gross-errors.ts";
import { chiSquareLimit, normalBelow, normalLimit, studentBelow, studentLimit } from "../../../vision/accounts/odds.ts";
import * as chances from "../../published/chances.ts";
import { expectAgree } from "../process/agree.ts";

describe("chances", () => {
  it.each(chances.CHI_SQUARE)("chi-square: %f of it, %i degrees of freedom", (share, freedom, limit) =>
    expect(chiSquareLimit(share, freedom)).toBeCloseTo(limit, 3),
  );
  it.each(chances.STUDENT)("Student's t: %f of it, %i degrees of freedom", (share, freedom, limit) => {
    expect(studentLimit(share, freedom)).toBeCloseTo(limit, 3);
    expect(studentBelow(limit, freedom)).toBeCloseTo(share, 4);
  });
  it.each(chances.NORMAL)("normal: %f of it", (share, limit) => {
    expect(normalLimit(share)).toBeCloseTo(limit, 5);
    expect(normalBelow(limit)).toBeCloseTo(share, 6);
  });
  it.each(chances.LARGEST_MOVE)("the largest of %i moves", (count, limit) =>
    expectAgree(moveLimit(count), limit, 1e-3),
  );
});
