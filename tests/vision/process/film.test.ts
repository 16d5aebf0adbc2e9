import { describe, expect, it } from "vitest";
import { filmOn, manningDepth, regimeOf, speedAt, waveOnset } from "../../../vision/process/film.ts";
import { floatSeconds } from "../../../vision/process/float-test.ts";
import { mmPerMFromInPerFt, sineOfSlope } from "../../../vision/process/slope-units.ts";
import { waterAt } from "../../../vision/process/water.ts";
import { capillaryLength, leastWholeFilm, puddleDepth, rewettingDepth } from "../../../vision/process/whole-film.ts";
import * as published from "../../published/film.ts";
import { expectAgree } from "./agree.ts";

const SLOPE = mmPerMFromInPerFt(0.25);
const DECK = { wettedLengthMm: 2438.4, slopeMmPerM: SLOPE };
const water = waterAt(20);

describe("a smooth film", () => {
  it.each(published.FILM_TABLE)("agrees with Nusselt at %i °C, %i L/min", (c, flow, ...expected) => {
    const film = filmOn({ ...DECK, litresPerMinute: flow, water: waterAt(c) });
    const seconds = floatSeconds({ ...DECK, litresPerMinute: flow, distanceMm: 1219.2, temperatureC: c });
    const [depth, mean, surface, time, re, froude, shear] = expected;
    expectAgree(film.depthMm, depth, 1e-3);
    expectAgree(film.meanMmPerS / 1000, mean, 1e-3);
    expectAgree(film.surfaceMmPerS / 1000, surface, 1e-3);
    expectAgree(seconds, time, 1e-3);
    expectAgree(film.reynolds, re, 1e-3);
    expectAgree(film.froude, froude, 1e-3);
    expectAgree(film.shearPa, shear, 1e-3);
    expect(film.regime).toBe("wavy"); // Benjamin and Yih: above 40 at this slope
  });

  it.each(published.FILM_ROUND_WATER)(
    "agrees at %i L/min of round water",
    (flow, depth, mean, surface, time, re, tau) => {
      const round = { ...water, densityKgPerM3: 1000, kinematicM2PerS: 1e-6 };
      const film = filmOn({ ...DECK, litresPerMinute: flow, water: round });
      expectAgree(film.depthMm, depth, 1e-4);
      expectAgree(film.meanMmPerS / 1000, mean, 1e-4);
      expectAgree(film.surfaceMmPerS / 1000, surface, 1e-4);
      expectAgree(1219.2 / film.surfaceMmPerS, time, 1e-4);
      expectAgree(film.reynolds, re, 1e-4);
      expectAgree(film.shearPa, tau, 1e-4);
    },
  );

  it.each(published.FILM_PROFILE)("runs as printed %f mm over the deck", (height, speed) => {
    const { depthMm } = filmOn({ ...DECK, litresPerMinute: 20, water });
    expectAgree(speedAt(height / 1000, depthMm / 1000, sineOfSlope(SLOPE), water.kinematicM2PerS), speed, 1e-3);
  });

  it.each(published.FILM_SLOPES)("agrees at %f in/ft", (inPerFt, at20, at25, onset) => {
    const slopeMmPerM = mmPerMFromInPerFt(inPerFt);
    const cross = { wettedLengthMm: 2438.4, slopeMmPerM, distanceMm: 1219.2, temperatureC: 20 };
    expectAgree(floatSeconds({ ...cross, litresPerMinute: 20 }), at20, 1e-3);
    expectAgree(floatSeconds({ ...cross, litresPerMinute: 25 }), at25, 1e-3);
    expectAgree(waveOnset(slopeMmPerM), onset, 1e-4);
  });

  it("crosses 19.206 % faster at 30 °C than at 5 °C (worked out: time goes with the cube root of viscosity)", () => {
    const at = (temperatureC: number) =>
      floatSeconds({ ...DECK, litresPerMinute: 20, distanceMm: 1219.2, temperatureC });
    expectAgree(1 - at(30) / at(5), 0.19206, 1e-3);
  });

  it("carries crests at three times its mean speed: 0.32471 m/s at 20 L/min (Lighthill & Whitham)", () => {
    expectAgree(filmOn({ ...DECK, litresPerMinute: 20, water }).waveMmPerS, 324.71, 1e-3);
  });
});

describe("rough sheets", () => {
  it.each(published.FILM_ROUGH)("K %i", (frictionK, at20, at25) => {
    expectAgree(filmOn({ ...DECK, litresPerMinute: 20, water, frictionK }).depthMm, at20, 1e-3);
    expectAgree(filmOn({ ...DECK, litresPerMinute: 25, water, frictionK }).depthMm, at25, 1e-3);
  });
  it.each(published.FILM_MANNING)("Manning n %f", (n, at20, at25) => {
    expectAgree(1000 * manningDepth(20 / 60_000 / 2.4384, SLOPE, n), at20, 1e-4);
    expectAgree(1000 * manningDepth(25 / 60_000 / 2.4384, SLOPE, n), at25, 1e-4);
  });
});

it.each([
  [39.9, "calm"],
  [40.1, "wavy"],
  [501, "transition"],
  [2001, "turbulent"],
])("calls Re %f %s (Benjamin, Yih; Chow section 1-3)", (re, regime) => expect(regimeOf(re, SLOPE)).toBe(regime));

it.each([{ litresPerMinute: 0 }, { wettedLengthMm: -1 }, { slopeMmPerM: 0 }, { frictionK: 0 }])(
  "refuses %o",
  (wrong) => {
    const settings = { ...DECK, litresPerMinute: 20, water, ...wrong };
    expect(() => filmOn(settings)).toThrow(expect.objectContaining({ code: "out-of-range" }));
  },
);

describe("a film that stays whole", () => {
  it("has a capillary length of 2.7259 mm at 20 °C (definition, IAPWS water)", () => {
    expectAgree(1000 * capillaryLength(water), 2.7259, 1e-3);
  });

  it("has the factor 1.72 of Hartley & Murgatroyd on a wall, and 1.69 in their flow", () => {
    const tension = (water.surfaceTensionNPerM * (1 - Math.cos(Math.PI / 3))) / water.densityKgPerM3;
    const scale = tension ** 0.2 * (water.kinematicM2PerS / 9.80665) ** 0.4;
    const factor = rewettingDepth(water, 1, 60) / scale;
    expectAgree(factor, 1.72, 1e-3);
    expectAgree(factor ** 3 / 3, 1.69, 5e-3);
  });

  it("needs less than speed alone or weight alone would", () => {
    const least = leastWholeFilm({ ...DECK, water, contactDegrees: 30 });
    expect(least.depthMm).toBeLessThan(1000 * puddleDepth(water, 30));
    expect(least.depthMm).toBeLessThan(1000 * rewettingDepth(water, sineOfSlope(SLOPE), 30));
    const film = filmOn({ ...DECK, water, litresPerMinute: least.litresPerMinute });
    expectAgree(film.depthMm, least.depthMm, 1e-9);
  });

  it("needs more water on a greasy deck, and nothing where water spreads by itself", () => {
    const at = (contactDegrees: number) => leastWholeFilm({ ...DECK, water, contactDegrees }).litresPerMinute;
    expect(at(70)).toBeGreaterThan(at(30));
    expect(at(0)).toBeCloseTo(0, 3);
  });
});
