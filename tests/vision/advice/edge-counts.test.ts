import { describe, expect, it } from "vitest";
import { heeding } from "../../../vision/advice/edge-counts.ts";
import type { EarlierLook, Hint } from "../../../vision/contract/index.ts";
import { describeDeck } from "../../../vision/deck.ts";
import { advise } from "../../../vision/rules.ts";
import { EDGE_COUNT } from "../../../vision/telling/hint-order.ts";
import { countedShare, type EdgeCount } from "../../../vision/twin/counted.ts";
import type { OutletCurves } from "../../../vision/twin/outlet-curves.ts";
import { bandsOf, deckFile, notes, readingOf } from "./scene.ts";

const EVEN = { dense: 3000, middling: 3000, light: 3000 };

describe("countedShare", () => {
  it("weighs grains by their density, half a grain added to each class", () => {
    // 49 of 7000 and 49 of 3500 kg/m³: less one in twenty of their neighbours, half of that where there is another one, and with
    // the halves 48.275, 47.05 and 0.5: 337 925 of 504 350 (own reckoning)
    const densities = { dense: 7000, middling: 3500, light: 3500 };
    const { log } = countedShare({ atMm: 0, grains: { dense: 49, middling: 49, light: 0 } }, densities, "dense");
    expect(Math.exp(log)).toBeCloseTo(337_925 / 504_350, 6);
  });

  it("scatters as a count does, and knows little of a class that is rare beside what may be named so wrongly", () => {
    // Poisson: the root of 100.5 over the 98 that are left, with the error of unlike sizes and half of 2.5 named wrongly
    const half = countedShare({ atMm: 0, grains: { dense: 100, middling: 100, light: 0 } }, EVEN, "dense");
    expect(half.error).toBeCloseTo(Math.hypot(Math.sqrt(100.5) / 98, 0.1, 1.25 / 98), 6);
    expect(
      countedShare({ atMm: 0, grains: { dense: 2, middling: 98, light: 0 } }, EVEN, "dense").error,
    ).toBeGreaterThan(1);
  });
});

it("does not take for middling what is but light named wrongly", () => {
  const { log } = countedShare({ atMm: 0, grains: { dense: 0, middling: 50, light: 950 } }, EVEN, "middling");
  expect(Math.exp(log)).toBeLessThan(0.005);
});

describe("heeding counts", () => {
  const flat = (share: number) => new Float64Array(100).fill(share);
  const curves: OutletCurves = { mmPerBin: 10, dense: flat(0.2), middling: flat(0.3), light: flat(0.5) };
  const counts: EdgeCount[] = [{ atMm: 300, grains: { dense: 60, middling: 30, light: 10 } }];
  const shareOf = ({ dense, middling, light }: OutletCurves, bin: number) =>
    dense[bin]! / (dense[bin]! + middling[bin]! + light[bin]!);

  it("moves shares toward the count where it was taken, and not where it tells nothing", () => {
    const heeded = heeding(curves, counts, EVEN);
    expect(shareOf(heeded, 30)).toBeGreaterThan(0.5);
    expect(shareOf(heeded, 30)).toBeLessThan(0.62);
    expect(shareOf(heeded, 95)).toBeCloseTo(0.2, 2);
  });

  it("leaves curves alone without counts", () => {
    expect(heeding(curves, [], EVEN)).toBe(curves);
  });
});

describe("asking for counts", () => {
  const prices = {
    perTonne: [
      { dense: 200, middling: -60, light: -100 },
      { dense: 90, middling: 30, light: -20 },
      { dense: 0, middling: 0, light: 0 },
    ],
  };
  const reading = readingOf(bandsOf([0, 240, 640, 2000]));
  const ask = (settings: object = {}, earlier: EarlierLook[] = [], aim: object = prices) =>
    advise(reading, describeDeck(deckFile), {
      ...notes,
      settings: { ...notes.settings, ...settings },
      aim,
      earlier,
    });
  const asksFor = (hints: readonly Hint[]) => hints.find(({ target }) => target === EDGE_COUNT);
  const look = (advice: Hint[], settings: object = {}): EarlierLook => ({
    reading: { bands: reading.bands, splitters: reading.splitters, advice },
    settings: { ...notes.settings, ...settings },
  });

  it("asks where prices are told, after every change, with places, time and caution; not without prices", () => {
    const hints = ask();
    const asked = asksFor(hints)!;
    expect(hints.indexOf(asked)).toBe(hints.length - 1);
    expect(asked.evidence.cutAtMm).toHaveLength(8);
    expect(asked.lookAgainMinutes).toBeGreaterThan(0);
    expect(asked.caution).toMatch(/hands clear/i);
    expect(asksFor(ask({}, [], {}))).toBeUndefined();
  });

  it("asks once, and not again of who did not count; the water's warmth is no new setting", () => {
    const asked = asksFor(ask())!;
    expect(asksFor(ask({}, [look([asked])]))).toBeUndefined();
    expect(asksFor(ask({ waterTemperatureCelsius: 19 }, [look([asked])]))).toBeUndefined();
    expect(asksFor(ask({ washWaterLitresPerMinute: 18 }, [look([asked])]))).toBeDefined();
    const backwards = Object.fromEntries(Object.entries(notes.settings!).reverse());
    expect(asksFor(ask({}, [{ ...look([asked]), settings: backwards }]))).toBeUndefined();
  });

  it("moves a splitter where counts say that it takes what it should not", () => {
    const lowerTo = (light: number) => {
      const edgeCounts = [500, 600, 700, 800].map((atMm) => ({
        atMm,
        grains: { dense: 1, middling: 49 - light, light },
      }));
      return ask({ edgeCounts }).find(({ target }) => target === "lower")?.toMm ?? 640;
    };
    expect(lowerTo(46)).toBeLessThan(lowerTo(3));
  });
});
