import { describe, expect, it } from "vitest";
import { filmOn } from "../../../vision/process/film.ts";
import * as transport from "../../../vision/process/grain-transport.ts";
import { equalSettlingSize } from "../../../vision/process/settling.ts";
import { mmPerMFromInPerFt } from "../../../vision/process/slope-units.ts";
import { springLift, strokeMotion } from "../../../vision/process/stroke.ts";
import { waterAt } from "../../../vision/process/water.ts";
import { TRADE_NUMBERS } from "../../published/levelling.ts";
import { SHIELDS_GRAINS } from "../../published/transport.ts";
import { expectAgree } from "./agree.ts";

const water = waterAt(20);
const slopeMmPerM = mmPerMFromInPerFt(0.25);
const film = filmOn({ litresPerMinute: 20, wettedLengthMm: 2438.4, slopeMmPerM, water });

describe("Shields", () => {
  it.each(SHIELDS_GRAINS)("%s of %f mm", (_name, mm, density, dStar, threshold, ratio, reading) => {
    expectAgree(transport.dimensionlessSize(1000 * mm, density, water), dStar, 1e-3);
    expectAgree(transport.shieldsThreshold(dStar), threshold, 1e-3);
    const found = transport.shieldsRatio(film.shearPa, 1000 * mm, density, water);
    expectAgree(found, ratio, 1e-3);
    expect(found > 1 ? "moves" : "stays").toBe(reading);
  });
});

describe("one grain on the deck", () => {
  const ratio = (sizeUm: number, densityKgPerM3: number, flow = 20, slope = slopeMmPerM) => {
    const other = filmOn({ litresPerMinute: flow, wettedLengthMm: 2438.4, slopeMmPerM: slope, water });
    return transport.slideRatio({ sizeUm, densityKgPerM3, friction: 0.5 }, other, slope, water);
  };

  it("of two that settle alike the dense one is held better (Gaudin, from memory)", () => {
    const quartz = equalSettlingSize(100, 6950, 2650, water)!;
    expect(ratio(quartz, 2650)).toBeGreaterThan(ratio(100, 6950));
  });

  it("moves sooner with more water and with more slope (V1, V2 of the trade's books: bands move down)", () => {
    expect(ratio(200, 6950, 30)).toBeGreaterThan(ratio(200, 6950, 20));
    expect(ratio(200, 6950, 20, 40)).toBeGreaterThan(ratio(200, 6950, 20, 20));
  });

  it("sinks from the surface within millimetres when dense and further when light", () => {
    expect(transport.sinkingRunMm(film, 100, 19300, water)).toBeLessThan(
      transport.sinkingRunMm(film, 100, 2650, water),
    );
    expect(transport.sinkingRunMm(film, 100, 950, water)).toBe(Number.POSITIVE_INFINITY);
  });

  // Viscosity by Einstein's 1 + 2.5 φ (1906); V11 of the trade's table (Wills; Burt, from memory): fine heavy grains are carried
  it("V11 slimes, a twentieth of the water by volume: a fine heavy grain runs further down before it sinks", () => {
    const thicker = 1 + 2.5 * 0.05;
    const slimy = {
      ...water,
      viscosityPaS: water.viscosityPaS * thicker,
      kinematicM2PerS: water.kinematicM2PerS * thicker,
    };
    const run = (w: typeof water) =>
      transport.sinkingRunMm(
        filmOn({ litresPerMinute: 20, wettedLengthMm: 2438.4, slopeMmPerM, water: w }),
        20,
        6950,
        w,
      );
    expect(run(slimy) / run(water)).toBeCloseTo(thicker, 2); // Stokes: the fall is as much slower, flow over length stays
  });

  it("refuses a grain that floats", () => {
    expect(() => ratio(100, 950)).toThrow(expect.objectContaining({ code: "out-of-range" }));
  });
});

describe("stroke", () => {
  it("325 a minute give 17.02 mm/s for each mm of stroke (common practice; kinematics)", () => {
    expectAgree(strokeMotion(1, TRADE_NUMBERS.strokesPerMinute).peakMmPerS, TRADE_NUMBERS.peakMmPerSPerMm, 1e-3);
  });
  it("springs leaning 15° lift 0.268 of the travel (common practice; tangent)", () => {
    expectAgree(springLift(TRADE_NUMBERS.springDegrees), TRADE_NUMBERS.springLift, 1e-3);
  });
  it("13 mm at 320 a minute peak at 0.744 g (worked out: (s/2) ω²)", () => {
    expectAgree(strokeMotion(13, 320).peakG, (0.0065 * ((2 * Math.PI * 320) / 60) ** 2) / 9.80665, 1e-12);
  });
});
