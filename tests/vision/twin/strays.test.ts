import { expect, it } from "vitest";
import { fergusonChurch } from "../../../vision/process/settling.ts";
import { waterAt } from "../../../vision/process/water.ts";
import { filmUnder } from "../../../vision/twin/broken-film.ts";
import { stirredShares, unsortedShare } from "../../../vision/twin/strays.ts";
import { FIRST_GUESS, type TwinSettings } from "../../../vision/twin/transport.ts";
import { deck, settings } from "./invented-table.ts";

const quartz = (um: number) => ({ share: 1, densityKgPerM3: 2650, sizeUm: [um, um] as const });

// wash load below 0.8, half or more in suspension from 0.8 to 1.2, less than half up to 2.5, bed load beyond: Rouse (1937) as textbooks put it (from memory)
it("stirs grains up as their Rouse number says", () => {
  const water = waterAt(settings.waterTemperatureCelsius);
  const film = filmUnder(deck, settings);
  const stirring = 0.41 * Math.sqrt(film.shearPa / water.densityKgPerM3);
  for (let um = 20; um < 600; um += 10) {
    const rouse = fergusonChurch(um, 2650, water) / stirring;
    const [share] = stirredShares(film, quartz(um), water);
    if (rouse < 0.8) expect(share, `${um} µm`).toBeGreaterThan(0.9);
    else if (rouse < 1.2) expect(share, `${um} µm`).toBeGreaterThan(0.5);
    else if (rouse > 2.5) expect(share, `${um} µm`).toBeLessThan(0.15);
  }
});

// Shields (1936): a film that does not pull enough moves no bed
it("lets by what a bed that stands cannot sort, and nothing where the film pulls well over what moves it", () => {
  const of = (change: Partial<TwinSettings>, um: number) => {
    const feed = { dense: { ...quartz(um), share: 0.1 }, middling: { ...quartz(um), share: 0.2 }, light: quartz(um) };
    return unsortedShare(deck, { ...settings, ...change }, feed, { ...FIRST_GUESS, breaksMm: 0.3 });
  };
  expect(of({}, 150)).toBeLessThan(0.02);
  expect(of({ crossSlopeMmPerM: 1, washWaterLitresPerMinute: 2 }, 600)).toBeGreaterThan(0.3);
});
