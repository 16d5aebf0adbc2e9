import { describe, expect, it } from "vitest";
import { levelOf, shimsFor, slopeFromShim, twistOf } from "../../../vision/process/levelling.ts";
import { slopeFromPhone, slopesFromGravity } from "../../../vision/process/phone-level.ts";
import * as units from "../../../vision/process/slope-units.ts";
import { GRAVITY_READING, LEVEL_FIVE_POINTS, SLOPE_UNITS, TRADE_NUMBERS } from "../../published/levelling.ts";
import { expectAgree } from "./agree.ts";

describe("units", () => {
  it.each(SLOPE_UNITS)("%f in/ft", (inPerFt, mmPerM, degrees, over4, over8) => {
    expectAgree(units.mmPerMFromInPerFt(inPerFt), mmPerM, 1e-5);
    expectAgree(units.inPerFtFromMmPerM(mmPerM), inPerFt, 1e-5);
    expectAgree(units.degreesFromMmPerM(mmPerM), degrees, 1e-5);
    expectAgree(units.mmPerMFromDegrees(degrees), mmPerM, 1e-5);
    expectAgree(units.fallMm(mmPerM, 1219.2), over4, 1e-5);
    expectAgree(units.fallMm(mmPerM, 2438.4), over8, 1e-5);
  });

  it("0.1° is 1.745331 mm/m or 0.020944 in/ft (worked out)", () => {
    expectAgree(units.mmPerMFromDegrees(0.1), 1.745331, 1e-6);
    expectAgree(units.inPerFtFromMmPerM(units.mmPerMFromDegrees(0.1)), 0.020944, 1e-4);
  });

  it("US gallons: 5 to 7 a minute are 18.9 to 26.5 L (common practice, NIST gallon)", () => {
    expect(TRADE_NUMBERS.usGallons.map((gallons) => Number(units.litresFromUsGallons(gallons).toFixed(1)))).toEqual(
      TRADE_NUMBERS.litres,
    );
    expect(units.usGallonsFromLitres(units.litresFromUsGallons(6))).toBeCloseTo(6, 12);
  });
});

describe("bar and shim", () => {
  it("1/2 inch over 2 ft is 20.8333 mm/m (common practice)", () => {
    expectAgree(slopeFromShim({ shimMm: 12.7, barMm: 609.6 }).value, TRADE_NUMBERS.halfInchOver2FtMmPerM, 1e-5);
  });

  it("turned end for end the level's own fault cancels and the error shrinks", () => {
    const turned = slopeFromShim({ shimMm: 12.7 + 0.9, turnedShimMm: 12.7 - 0.9, barMm: 609.6 });
    expect(turned.value).toBeCloseTo(20.8333, 3);
    expect(turned.error).toBeLessThan(slopeFromShim({ shimMm: 13.6, barMm: 609.6 }).error);
  });
});

describe("plane", () => {
  const expected = LEVEL_FIVE_POINTS;
  it("goes through five points as worked out", () => {
    const level = levelOf(expected.points);
    expect(level.originMm).toBeCloseTo(expected.originMm, 5);
    expectAgree(level.endSlopeMmPerM.value, expected.endSlopeMmPerM, 1e-6);
    expectAgree(level.crossSlopeMmPerM.value, expected.crossSlopeMmPerM, 1e-6);
    level.residualsMm.forEach((residual, i) => {
      expect(residual).toBeCloseTo(expected.residualsMm[i]!, 5);
    });
    expectAgree(level.spreadMm, expected.spreadMm, 1e-5);
    expectAgree(level.steepestMmPerM, expected.steepestMmPerM, 1e-6);
    expectAgree(level.downhillDegrees, expected.downhillDegrees, 1e-6);
    // corners only carry the slope: s / √(Σ dx²) by the normal equations
    expectAgree(level.endSlopeMmPerM.error, (1000 * expected.spreadMm) / 2438.4, 1e-5);
  });

  it("fits three points exactly, with an error only when a reading's is given", () => {
    const three = levelOf(expected.points.slice(0, 3));
    expectAgree(three.endSlopeMmPerM.value, 6200 / 2438.4, 1e-9);
    expect(three.endSlopeMmPerM.error).toBeNaN();
    expect(levelOf(expected.points.slice(0, 3), 0.25).endSlopeMmPerM.error).toBeCloseTo((250 * Math.SQRT2) / 2438.4, 9);
  });

  it("refuses two points, and points in a line", () => {
    expect(() => levelOf(expected.points.slice(0, 2))).toThrow(expect.objectContaining({ code: "too-few-readings" }));
    const line = [0, 600, 1200].map((xMm) => ({ xMm, yMm: xMm / 2, heightMm: 1 }));
    expect(() => levelOf(line)).toThrow(expect.objectContaining({ code: "points-in-line" }));
  });

  it("finds the twist of the same corners", () => {
    const [driveHigh, denseHigh, driveLow, denseLow] = expected.points.map((p) => p.heightMm);
    const heights = { driveHigh: driveHigh!, denseHigh: denseHigh!, driveLow: driveLow!, denseLow: denseLow! };
    expect(twistOf(heights).value).toBeCloseTo(expected.twistMm, 9);
  });
});

describe("shims", () => {
  const supports = { alongMm: 1300, acrossMm: 700 };

  it("bring the measured plane to the wanted one, and lower no leg", () => {
    const now = { crossSlopeMmPerM: 20, endSlopeMmPerM: 1 };
    const wanted = { crossSlopeMmPerM: 26, endSlopeMmPerM: 4 };
    const shims = shimsFor({ supports, now, wanted });
    expect(Math.min(...Object.values(shims))).toBe(0);
    expect((shims.driveHigh - shims.driveLow) / 0.7).toBeCloseTo(6, 9);
    expect((shims.denseHigh - shims.driveHigh) / 1.3).toBeCloseTo(3, 9);
    expect(twistOf(shims).value).toBeCloseTo(0, 9);
  });

  it("take a twist out when asked to, in proportion to where the legs stand", () => {
    const level = { crossSlopeMmPerM: 0, endSlopeMmPerM: 0 };
    const twist = { twistMm: 4, deckLengthMm: 1800, deckWidthMm: 900 };
    const shims = shimsFor({ supports, now: level, wanted: level, twist });
    expect(twistOf(shims).value).toBeCloseTo((-4 * 1300 * 700) / (1800 * 900), 9);
  });

  it("refuse supports at no distance", () => {
    const slopes = { crossSlopeMmPerM: 0, endSlopeMmPerM: 0 };
    expect(() => shimsFor({ supports: { alongMm: 0, acrossMm: 700 }, now: slopes, wanted: slopes })).toThrow(
      expect.objectContaining({ code: "out-of-range" }),
    );
  });
});

describe("phone", () => {
  it("turned end for end shows the slope and its own fault", () => {
    const { degrees, mmPerM, offsetDegrees } = slopeFromPhone([1.6, 1.7, 1.6], [-0.8, -0.7, -0.8]);
    expect(degrees.value).toBeCloseTo(1.2, 9);
    expect(offsetDegrees?.value).toBeCloseTo(0.4333, 3);
    expectAgree(mmPerM.value, units.mmPerMFromDegrees(1.2), 1e-9);
    expectAgree(mmPerM.error, degrees.error * 17.46, 1e-2);
  });

  it("not turned keeps the fault of 0.1 to 0.3° in its error (common practice)", () => {
    const laid = slopeFromPhone([1.6, 1.6]);
    expect(laid.offsetDegrees).toBeNull();
    expect(laid.degrees.error).toBeGreaterThanOrEqual(0.3);
    expect(slopeFromPhone([1.6, 1.6], [-0.8, -0.8]).degrees.error).toBeLessThan(0.1);
  });

  it("refuses readings that were not turned at all", () => {
    expect(() => slopeFromPhone([6, 6], [6, 6])).toThrow(expect.objectContaining({ code: "out-of-range" }));
  });

  it("works slopes out of gravity", () => {
    const { x, y, z, ...expected } = GRAVITY_READING;
    const slopes = slopesFromGravity(x, y, z);
    for (const [name, value] of Object.entries(expected)) expectAgree(slopes[name as keyof typeof slopes], value, 1e-5);
    expect(() => slopesFromGravity(0, 0, -9.8)).toThrow(expect.objectContaining({ code: "out-of-range" }));
  });
});
