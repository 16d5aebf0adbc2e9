import { describe, expect, it } from "vitest";
import { waterWithSolids } from "../../../vision/process/pulp.ts";
import { dryShare } from "../../../vision/twin/broken-film.ts";
import { firstLaunder } from "../../../vision/twin/cuts.ts";
import type { OutletCurves } from "../../../vision/twin/outlet-curves.ts";
import { FIRST_GUESS, predictOutlet, type TwinSettings } from "../../../vision/twin/transport.ts";
import { deck, settings } from "./invented-table.ts";

/** Invented. */
const feed = {
  dense: { share: 0.1, densityKgPerM3: 6950, sizeUm: [100, 250] },
  middling: { share: 0.2, densityKgPerM3: 4000, sizeUm: [100, 250] },
  light: { share: 0.7, densityKgPerM3: 2650, sizeUm: [100, 250] },
} as const;
const sum = (curve: Float64Array) => curve.reduce((a, b) => a + b, 0);
const spread = ({ mmPerBin, dense }: OutletCurves) => {
  const mean = dense.reduce((a, kg, i) => a + kg * i, 0) / sum(dense);
  return mmPerBin * Math.sqrt(dense.reduce((a, kg, i) => a + kg * (i - mean) ** 2, 0) / sum(dense));
};
/** Where this share of a curve has left, outlet mm. */
const left = (curve: Float64Array, mmPerBin: number, share: number) => {
  let [bin, before] = [0, 0];
  while (before + curve[bin]! < share * sum(curve)) before += curve[bin++]!;
  return mmPerBin * (bin + (share * sum(curve) - before) / curve[bin]!);
};
/** The middle of each band: half has left. Few strays far off do not move it. */
const middles = ({ dense, middling, light, mmPerBin }: OutletCurves) => ({
  dense: left(dense, mmPerBin, 0.5),
  middling: left(middling, mmPerBin, 0.5),
  light: left(light, mmPerBin, 0.5),
});
const move = (change: Partial<TwinSettings>) => {
  const [was, is] = [settings, { ...settings, ...change }].map((s) => middles(predictOutlet(deck, s, feed)));
  return { dense: is!.dense - was!.dense, middling: is!.middling - was!.middling, light: is!.light - was!.light };
};

it("loses nothing: what is fed leaves", () => {
  const curves = predictOutlet(deck, settings, feed);
  expect(sum(curves.dense)).toBeCloseTo(10, 6);
  expect(sum(curves.light)).toBeCloseTo(70, 6);
});

it("lays the classes in the order of their densities", () => {
  const { dense, middling, light } = middles(predictOutlet(deck, settings, feed));
  expect(dense).toBeLessThan(middling);
  expect(middling).toBeLessThan(light);
});

// Directions as in Wills, Taggart, Burt, Sivamohan & Forssberg (from memory): below 0 is toward the high side.
describe("each control has its published sign", () => {
  it.each([
    ["V1 cross slope up: down", { crossSlopeMmPerM: 28 }, 1],
    ["V2 wash water up: down", { washWaterLitresPerMinute: 20 }, 1],
    ["V3 feed water up: down", { feedWaterLitresPerMinute: 10 }, 1],
    ["V6 stroke up: up", { strokeMm: 17 }, -1],
    ["V7 speed up: up, for coarse sand", { strokesPerMinute: 325 }, -1],
    ["V12 warmer water: down a little", { waterTemperatureCelsius: 28 }, 1],
  ] as const)("%s", (_name, change, sign) => {
    for (const mm of Object.values(move(change))) expect(Math.sign(mm)).toBe(sign);
  });

  it("V1 cross slope up: what leaves over the low side is narrower; V1, V2: the film breaks with slope, dry patches vanish with water", () => {
    // of the band without its strays: what is at least half as high as its peak
    const light = ({ mmPerBin, light: curve }: OutletCurves) =>
      mmPerBin * curve.filter((kg) => kg > 0.5 * Math.max(...curve)).length;
    const whole = { ...FIRST_GUESS, drift: 5, breaksMm: 0.3 };
    const [flat, steep] = [22, 33].map((crossSlopeMmPerM) =>
      light(predictOutlet(deck, { ...settings, crossSlopeMmPerM }, feed, whole, 2)),
    );
    expect(steep!).toBeLessThan(flat!);
    const dry = (change: Partial<TwinSettings>) =>
      dryShare(deck, { ...settings, washWaterLitresPerMinute: 5, ...change }, FIRST_GUESS);
    expect(dry({})).toBeGreaterThan(0.01);
    expect(dry({ crossSlopeMmPerM: 33 })).toBeGreaterThan(1.5 * dry({}));
    expect(dry({ washWaterLitresPerMinute: 14 })).toBeLessThan(0.01);
  });

  // feed that stays alike in kg/h: thicker pulp is less feed water. The bed's own thickness is not in the twin.
  it("V4 feed thicker: dense and light lie nearer to each other", () => {
    const moved = move({ feedWaterLitresPerMinute: waterWithSolids(settings.feedKgPerHour, 40) });
    expect(moved.light - moved.dense).toBeLessThan(0);
  });

  it("V13 splitter nearer to the dense end: purer, with less of the dense; no band moves", () => {
    const curves = predictOutlet(deck, settings, feed);
    const middle = middles(curves).dense;
    const [tight, wide] = [0.8, 1.4].map((times) => firstLaunder(curves, times * middle));
    expect(tight!.purity!).toBeGreaterThan(wide!.purity!);
    expect(tight!.recovery!).toBeLessThan(wide!.recovery!);
  });

  it("V8 end up: light falls away from dense", () => {
    const moved = move({ endSlopeMmPerM: 8 });
    expect(moved.light - moved.dense).toBeGreaterThan(0);
  });

  it("V9 coarser feed: down", () => {
    const coarse = { ...feed, dense: { ...feed.dense, sizeUm: [200, 500] as const } };
    const [was, is] = [feed, coarse].map((f) => middles(predictOutlet(deck, settings, f)).dense);
    expect(is).toBeGreaterThan(was!);
  });

  it("V10 wider sizes: a wider band", () => {
    const wide = { ...feed, dense: { ...feed.dense, sizeUm: [50, 500] as const } };
    expect(spread(predictOutlet(deck, settings, wide))).toBeGreaterThan(spread(predictOutlet(deck, settings, feed)));
  });
});

// Manser, Barley & Wills (1991), Minerals Engineering 4, 369-381, abstract
it("V5, V14: a band widens with the feed and with its share of it", () => {
  const now = spread(predictOutlet(deck, settings, feed));
  const more = { ...feed, dense: { ...feed.dense, share: 0.4 }, light: { ...feed.light, share: 0.4 } };
  expect(spread(predictOutlet(deck, { ...settings, feedKgPerHour: 300 }, feed))).toBeGreaterThan(now);
  expect(spread(predictOutlet(deck, settings, more))).toBeGreaterThan(now);
});

it("answers in 50 ms at the median of 11", () => {
  const times = Array.from({ length: 11 }, () => {
    const start = performance.now();
    predictOutlet(deck, settings, feed);
    return performance.now() - start;
  }).sort((a, b) => a - b);
  expect(times[5]).toBeLessThan(50);
});

it("refuses a drift beyond its range, and sizes the wrong way round", () => {
  expect(() => predictOutlet(deck, settings, feed, { ...FIRST_GUESS, drift: 100 })).toThrow(
    expect.objectContaining({ code: "out-of-range" }),
  );
  const wrong = { ...feed, dense: { ...feed.dense, sizeUm: [250, 100] as const } };
  expect(() => predictOutlet(deck, settings, wrong)).toThrow(expect.objectContaining({ code: "out-of-range" }));
});

it("keeps the signs over 60 drawn settings and feeds", () => {
  const draw = lehmer(11);
  const between = (least: number, most: number) => least + (most - least) * draw();
  for (let i = 0; i < 60; i++) {
    const finest = between(60, 200);
    const sizeUm = [finest, finest * between(1.2, 4)] as const;
    const drawnFeed = { ...feed, dense: { ...feed.dense, sizeUm, densityKgPerM3: between(4500, 12_000) } };
    const drawn = {
      ...settings,
      washWaterLitresPerMinute: between(8, 25),
      crossSlopeMmPerM: between(12, 40),
      endSlopeMmPerM: between(0, 10),
      strokeMm: between(9, 20),
      strokesPerMinute: between(240, 320),
      waterTemperatureCelsius: between(6, 28),
    };
    // bands, not what strays over dry deck
    const whole = { ...FIRST_GUESS, breaksMm: 0.3 };
    const dense = (change: Partial<TwinSettings>) =>
      middles(predictOutlet(deck, { ...drawn, ...change }, drawnFeed, whole)).dense;
    const was = dense({});
    const say = JSON.stringify({ drawn, sizeUm });
    expect(dense({ crossSlopeMmPerM: drawn.crossSlopeMmPerM * 1.1 }), say).toBeGreaterThan(was);
    expect(dense({ washWaterLitresPerMinute: drawn.washWaterLitresPerMinute * 1.1 }), say).toBeGreaterThan(was);
    expect(dense({ strokeMm: drawn.strokeMm * 1.1 }), say).toBeLessThan(was);
    expect(dense({ waterTemperatureCelsius: drawn.waterTemperatureCelsius + 5 }), say).toBeGreaterThan(was);
  }
});

/** Seeded numbers from 0 to 1: Lehmer's generator. */
function lehmer(seed: number) {
  let state = seed;
  return () => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647;
  };
}
