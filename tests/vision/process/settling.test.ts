import { describe, expect, it } from "vitest";
import * as drag from "../../../vision/process/drag.ts";
import * as hindered from "../../../vision/process/hindered.ts";
import {
  equalSettlingSize,
  fergusonChurch,
  settle,
  settlingRatio,
  stokes,
  stokesUpTo,
} from "../../../vision/process/settling.ts";
import * as published from "../../published/settling.ts";
import { expectAgree } from "./agree.ts";

const water = { densityKgPerM3: 998.2072, viscosityPaS: 1.001596e-3 };

describe("drag", () => {
  it.each(published.DRAG_CURVE)("at Re %f", (re, seen, haider, clift, schiller) => {
    expectAgree(drag.haiderLevenspiel(re), haider, 2e-5);
    expectAgree(drag.cliftGraceWeber(re), clift, 2e-5);
    if (schiller !== null) expectAgree(drag.schillerNaumann(re), schiller, 2e-5);
    expectAgree(drag.haiderLevenspiel(re), seen, 0.09);
  });
  it.each(published.HAIDER_LIBRARY)("Haider & Levenspiel, library, Re %f", (re, cd) =>
    expectAgree(drag.haiderLevenspiel(re), cd, 1e-9),
  );
  it.each(published.CLIFT_LIBRARY)("Clift, Grace & Weber, library, Re %f", (re, cd) =>
    expectAgree(drag.cliftGraceWeber(re), cd, 1e-9),
  );
  it.each(published.HAIDER_SHAPED)("sphericity %f, Re %f", (phi, re, cd) =>
    expectAgree(drag.haiderLevenspielShaped(phi)(re), cd, 1e-5),
  );
});

describe("one grain alone", () => {
  it.each(published.FALLS_IN_WATER)("%s %i kg/m³ %i µm", (_name, density, um, ...expected) => {
    const [byStokes, haider, clift, smooth, natural, re] = expected;
    expectAgree(1000 * stokes(um, density, water), byStokes, 1e-4);
    const fall = settle(um, density, water);
    expectAgree(1000 * fall.metresPerS, haider, 1e-4);
    expectAgree(fall.reynolds, re, 1e-3);
    expectAgree(1000 * settle(um, density, water, drag.cliftGraceWeber).metresPerS, clift, 1e-4);
    expectAgree(1000 * fergusonChurch(um, density, water, 0.4), smooth, 1e-4);
    expectAgree(1000 * fergusonChurch(um, density, water), natural, 1e-4);
  });

  it.each(published.BOOK_FALLS)("%s", (_what, um, density, densityKgPerM3, viscosityPaS, printed, tolerance) => {
    const law = drag.cliftGraceWeber;
    expectAgree(settle(um, density, { densityKgPerM3, viscosityPaS }, law).metresPerS, printed, tolerance);
  });

  it.each(published.STOKES_LIMITS)("%i kg/m³ follows Stokes up to %f µm", (density, um) =>
    expectAgree(stokesUpTo(density, water), um, 1e-4),
  );

  it("cuts galena at 37.5 and limestone at 73.5 µm in water rising at 5 mm/s (Coulson & Richardson, ex. 3.2, from memory)", () => {
    const round = { densityKgPerM3: 1000, viscosityPaS: 1e-3 };
    expectAgree(stokes(37.5, 7500, round), 5e-3, 1e-2);
    expectAgree(stokes(73.5, 2700, round), 5e-3, 1e-2);
  });

  it("rises when lighter, rests when alike, and refuses no size and a boulder", () => {
    expect(settle(1000, 950, water).metresPerS).toBeLessThan(0);
    expect(settle(1000, water.densityKgPerM3, water).metresPerS).toBe(0);
    expect(() => settle(0, 2650, water)).toThrow(expect.objectContaining({ code: "out-of-range" }));
    expect(() => settle(60_000, 2650, water)).toThrow(expect.objectContaining({ code: "out-of-range" }));
  });
});

describe("among other grains", () => {
  it.each(published.HINDERED_BY_RE)("n at Re %f", (re, zaki, rowe) => {
    expectAgree(hindered.richardsonZaki(re), zaki, 1e-4);
    expectAgree(hindered.rowe(re), rowe, 1e-4);
  });
  it.each(published.HINDERED_BY_AR)("n at Ar %f", (ar, n) => expectAgree(hindered.khanRichardson(ar), n, 1e-4));

  it.each(published.HINDERED_FALLS)("%i kg/m³, %i µm", (density, um, n, ...speeds) => {
    const fall = settle(um, density, water);
    expectAgree(hindered.richardsonZaki(fall.reynolds), n, 1e-4);
    speeds.forEach((speed, i) => {
      const share = 0.1 * (i + 1);
      expectAgree(1000 * hindered.hinderedSpeed(fall.metresPerS, share, n), speed, 1e-4);
    });
  });

  it("has the Archimedes number that Stokes' law knows: Re = Ar / 18 (identity)", () => {
    const re = (water.densityKgPerM3 * stokes(20, 2650, water) * 20e-6) / water.viscosityPaS;
    expectAgree(hindered.archimedesNumber(20, 2650, water) / 18, re, 1e-9);
  });

  it("refuses a packed bed", () => {
    expect(() => hindered.hinderedSpeed(1, 0.61, 4)).toThrow(expect.objectContaining({ code: "out-of-range" }));
  });
});

describe("grains that settle alike", () => {
  it.each(published.SETTLING_RATIOS)("%i with %i in %i, power %f", (dense, light, fluid, n, ratio, tolerance) =>
    expectAgree(settlingRatio(dense, light, fluid, n), ratio, tolerance),
  );

  it.each(published.QUARTZ_PARTNERS)("quartz with %i kg/m³", (density, ...sizes) => {
    sizes.forEach((size, i) => {
      expectAgree(equalSettlingSize([75, 100, 200][i]!, density, 2650, water)!, size, 1e-3);
    });
  });

  it("has none when the other floats", () => expect(equalSettlingSize(100, 2650, 950, water)).toBeNull());
});
