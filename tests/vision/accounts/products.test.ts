import { describe, expect, it } from "vitest";
import { propagate, propagateJoint } from "../../../vision/accounts/propagate.ts";
import { metalPercent, separationEfficiency } from "../../../vision/accounts/separation.ts";
import { severalProducts, weighedProducts } from "../../../vision/accounts/several-products.ts";
import { recoveryOf, twoProducts, yieldOf } from "../../../vision/accounts/two-products.ts";
import * as several from "../../published/several-products.ts";
import * as two from "../../published/two-products.ts";
import { expectAgree } from "../process/agree.ts";

const exact = (value: number) => ({ value, error: 0 });
const within = (value: number, share: number) => ({ value, error: value * share });
const grades = (f: number, c: number, t: number, share = 0) => ({
  feed: within(f, share),
  product: within(c, share),
  tailing: within(t, share),
});

describe("two products", () => {
  it.each(two.TWO_PRODUCTS)("%f, %f, %f", (f, c, t, y, r, e, k, tolerance) => {
    const found = twoProducts(grades(f, c, t));
    expectAgree(found.yield.value, y, Math.max(tolerance, 1e-4 * Number(y < 0.1)));
    expectAgree(found.recovery.value, r, tolerance);
    expectAgree(found.enrichment.value, e, tolerance);
    expectAgree(found.ratio.value, k, tolerance);
  });

  it.each(two.TWO_PRODUCT_TRAPS)("%f, %f, %f does not give what its source prints", (f, c, t, printed) => {
    expect(Math.abs(twoProducts(grades(f, c, t)).recovery.value - printed)).toBeGreaterThan(0.02);
  });

  it.each(two.GRADE_ERRORS)("errors at %f, %f, %f, each %f", (f, c, t, e, sdR, sdY, ofR, ofY, ruleR, ruleY) => {
    const found = twoProducts(grades(f, c, t, e));
    expectAgree(found.recovery.error, sdR, 1e-3);
    expectAgree(found.yield.error, sdY, 1e-3);
    const [R, Y] = [found.recovery.value, found.yield.value];
    expectAgree(found.recovery.error / (R * e), ofR, 1e-3);
    expectAgree(found.yield.error / (Y * e), ofY, 1e-3);
    expectAgree((Math.SQRT2 * (1 - R)) / Math.abs(R - Y), ruleR, 1e-3);
    expectAgree((Math.SQRT2 * (1 - Y)) / Math.abs(R - Y), ruleY, 1e-3);
  });

  it("slopes of the recovery agree with the formulas: each grade's error alone", () => {
    two.RECOVERY_SLOPES.forEach((slope, i) => {
      const one = [2, 40, 0.3].map((value, k) => ({ value, error: k === i ? 1e-4 : 0 }));
      const { error } = propagate(one, ([f, c, t]) => recoveryOf([f!, c!, t!]));
      expectAgree(error, Math.abs(slope) * 1e-4, 5e-3);
    });
  });

  it("says when the grades lie too close for a recovery", () => {
    expect(twoProducts(grades(1, 1.2, 0.9, 0.02)).tells).toBe(false);
    expect(twoProducts(grades(2, 40, 0.3, 0.05)).tells).toBe(true);
  });

  it.each([
    [5, 20, 20],
    [25, 20, 1],
    [0.5, 20, 1],
    [0, 20, 0],
  ])("refuses %f, %f, %f, which no shares make, rather than clamping it", (f, c, t) => {
    expect(() => twoProducts(grades(f, c, t))).toThrow(expect.objectContaining({ code: "no-separation" }));
  });

  it("the feed may be as poor as the tailing: nothing was won then", () => {
    expect(twoProducts(grades(1, 20, 1)).recovery.value).toBe(0);
    expect(yieldOf([20, 20, 1])).toBe(1);
  });
});

describe("separation efficiency", () => {
  it.each(two.SEPARATION_EFFICIENCY)("a grade of %f %% at %f", (c, recovery, efficiency) => {
    const yieldShare = (recovery * 1) / c;
    expectAgree(separationEfficiency(exact(1), exact(c), exact(yieldShare), 78.6).value, efficiency, 1e-3);
    const gangue = (yieldShare * (78.6 - c)) / (78.6 - 1);
    expectAgree(recovery - gangue, efficiency, 1e-3);
  });
  it.each(two.PURE_METAL)("%s holds %f %%", (mineral, percent) => expectAgree(metalPercent(mineral), percent, 1e-4));
  it("refuses a product richer than its mineral", () => {
    expect(() => separationEfficiency(exact(1), exact(80), exact(0.01), 78.6)).toThrow("name the right mineral");
  });
});

describe("several products", () => {
  const of = (feed: readonly number[], products: readonly (readonly number[])[], share = 0) =>
    severalProducts(
      feed.map((v) => within(v, share)),
      products.map((assays) => assays.map((v) => within(v, share))),
    );

  it("lead and zinc, as the spreadsheet prints them", () => {
    const { feed, products, shares, tonnes, tonnesFed, recoveries } = several.LEAD_ZINC;
    const found = of(feed, products);
    found.shares.forEach(({ value }, i) => {
      expectAgree(value, shares[i]!, 1e-6);
      expectAgree(value * tonnesFed, tonnes[i]!, 1e-6);
    });
    found.recoveries.forEach((row, k) => {
      row.forEach(({ value }, i) => {
        expectAgree(value, recoveries[k]![i]!, 1e-6);
      });
      expect(row.reduce((sum, { value }) => sum + value, 0)).toBeCloseTo(1, 9);
    });
  });

  it("copper, lead and zinc; and with the tailing's other zinc", () => {
    const { feed, products, shares, otherTailingZinc, sharesThen } = several.COPPER_LEAD_ZINC;
    of(feed, products).shares.forEach(({ value }, i) => {
      expect(Math.abs(value - shares[i]!)).toBeLessThan(1e-6);
    });
    const other = products.map((row, i) => (i === 3 ? [row[0], row[1], otherTailingZinc] : row));
    of(feed, other).shares.forEach(({ value }, i) => {
      expect(Math.abs(value - sharesThen[i]!)).toBeLessThan(1e-6);
    });
  });

  it("two of them are the two-product formula, errors included", () => {
    const [one] = of([2], [[40], [0.3]], 0.05).shares;
    expectAgree(one!.value, 0.04282116, 1e-6);
    expectAgree(one!.error, two.GRADE_ERRORS[0][5], 1e-3);
  });

  it("refuses too few assays, products that assay alike, and shares below nothing", () => {
    expect(() =>
      of(
        [6.2],
        [
          [71.8, 6.4],
          [1.4, 57.8],
          [0.3, 0.8],
        ],
      ),
    ).toThrow(expect.objectContaining({ code: "too-few" }));
    expect(() => of([5], [[20], [20]])).toThrow(expect.objectContaining({ code: "no-separation" }));
    expect(() => of([30], [[20], [10]])).toThrow("comes out below nothing");
  });
});

describe("weighed products", () => {
  const weighed = (share: number) =>
    several.WEIGHED_RUN.products.map(([mass, grade]) => ({ mass: within(mass, share), grade: within(grade, share) }));

  it("head and distribution", () => {
    const { head, distribution, together } = several.WEIGHED_RUN;
    const found = weighedProducts(weighed(0));
    expectAgree(found.head.value, head, 1e-6);
    found.distribution.forEach(({ value }, i) => {
      expectAgree(value, distribution[i]!, 1e-6);
    });
    expectAgree(found.together[1]!.grade.value, together.grade, 1e-6);
    expectAgree(found.together[1]!.recovery.value, together.recovery, 1e-6);
    expect(found.together[2]!.recovery.value).toBeCloseTo(1, 9);
  });

  it("the head's error: of three masses and grades within 2 %, metal by metal (worked out by hand)", () => {
    const metal = [6500, 1225, 810];
    const mass = [12.5, 87.5, 900];
    const byGrade = Math.hypot(...metal.map((m) => m * 0.02)) / 1000;
    const byMass = Math.hypot(...metal.map((m, i) => (m - 8.535 * mass[i]!) * 0.02)) / 1000;
    expectAgree(weighedProducts(weighed(0.02)).head.error, Math.hypot(byGrade, byMass), 1e-5);
  });

  it("refuses products without metal", () => {
    expect(() => weighedProducts([{ mass: exact(3), grade: exact(0) }])).toThrow(
      expect.objectContaining({ code: "too-few" }),
    );
  });
});

describe("errors that hang together", () => {
  const joint = (covariance: number) =>
    propagateJoint(
      [3, 5],
      [
        [0.04, covariance],
        [covariance, 0.09],
      ],
      ([a, b]) => a! + b!,
    ).error;
  it("of a sum: squares, and twice what they share (JCGM 100:2008, 5.2.2)", () => {
    expect(joint(0)).toBeCloseTo(Math.sqrt(0.13), 9);
    expect(joint(0.06)).toBeCloseTo(0.5, 9); // wholly alike: 0.2 + 0.3
    expect(joint(-0.06)).toBeCloseTo(0.1, 7); // wholly opposed: 0.3 − 0.2
  });
});
