import { expect, it } from "vitest";
import { saidAt, steepnesses } from "../../../vision/twin/steepness.ts";
import { FIRST_GUESS } from "../../../vision/twin/transport.ts";

/** Invented deck, feed and settings. */
const deck = { lengthMm: 1800, widthMm: 900, feedMm: [40, 420] } as const;
const feed = {
  dense: { share: 0.1, densityKgPerM3: 6950, sizeUm: [100, 250] },
  middling: { share: 0.2, densityKgPerM3: 4000, sizeUm: [100, 250] },
  light: { share: 0.7, densityKgPerM3: 2650, sizeUm: [100, 250] },
} as const;
const settings = {
  washWaterLitresPerMinute: 14,
  feedWaterLitresPerMinute: 6,
  feedKgPerHour: 100,
  crossSlopeMmPerM: 22,
  endSlopeMmPerM: 0,
  strokeMm: 14,
  strokesPerMinute: 290,
  waterTemperatureCelsius: 20,
};
const all = (change: object, parameters = FIRST_GUESS) =>
  steepnesses(deck, { ...settings, ...change }, feed, parameters).flat();
const middle = (steep: readonly number[]) =>
  Math.exp(steep.reduce((sum, one) => sum + Math.log(one), 0) / steep.length);
const spread = (steep: readonly number[]) => Math.max(...steep) / Math.min(...steep);

// hydraulics.md F11 (Nusselt's film): its speed goes by water^(2/3) slope^(1/3)
it.each([
  ["water", { washWaterLitresPerMinute: 34 }, 2 ** (2 / 3)],
  ["slope", { crossSlopeMmPerM: 44 }, 2 ** (1 / 3)],
] as const)("grains carried at the film's speed: twice the %s", (_name, change, times) => {
  const asFilm = { ...FIRST_GUESS, waterResponse: 2 / 3, slopeResponse: 1 / 3 };
  expect(middle(all(change, asFilm)) / middle(all({}, asFilm))).toBeCloseTo(times, 6);
});

it("tells grains apart less in a stronger stream, by water and by slope", () => {
  expect(spread(all({ washWaterLitresPerMinute: 34 }))).toBeLessThan(spread(all({})));
  expect(spread(all({ crossSlopeMmPerM: 44 }))).toBeLessThan(spread(all({})));
});

it("said of another film, parameters foretell the same", () => {
  const there = { ...settings, washWaterLitresPerMinute: 25, crossSlopeMmPerM: 40 };
  const said = saidAt(deck, there, feed, FIRST_GUESS);
  expect(said.drift).not.toBeCloseTo(FIRST_GUESS.drift, 1);
  for (const change of [{}, there, { crossSlopeMmPerM: 15 }]) {
    const apart = all(change).map((steep, i) => all(change, said)[i]! / steep);
    expect(Math.min(...apart)).toBeCloseTo(1, 6);
    expect(Math.max(...apart)).toBeCloseTo(1, 6);
  }
});
