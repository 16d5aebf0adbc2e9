/** A start at the test plant, and what a person there can tell of it: by a photo, by meters, by counting grains. */

import type { AimFile, DeckFileInput, MaterialProfile, Reading, SettingsFile } from "../../vision/contract/index.ts";
import { describeDeck } from "../../vision/deck.ts";
import { bell, between, chance, pick, type Random } from "../../vision/scene/random.ts";
import { bordersOf } from "../../vision/twin/as-seen.ts";
import type { EdgeCount } from "../../vision/twin/counted.ts";
import {
  type Best,
  BIN_MM,
  drawPlant,
  fallen,
  money,
  NAMES,
  type Plant,
  type PlantSettings,
  run,
} from "./advice-plant.ts";

/** Error of an edge at the outlet: its median is 15 mm, the bar that vision is held to; the reading tells it honestly. */
const EDGE_MM = 15 / 0.6745;
/** Error of the logarithm of a dry patch's area (judgement: rims of patches are read less well than their place). */
const DRY_OFF = 0.4;
/** Water and slope the plant can be set to. */
export const reachOf = ({ lengthMm, widthMm }: Plant) => {
  const areaM2 = (lengthMm * widthMm) / 1e6;
  return { wash: [2 * areaM2, 25 * areaM2], slope: [8, 90] } as const;
};

/** One start: a plant, its best, and settings of which one to three are wrong. */
export interface Start {
  readonly plant: Plant;
  readonly best: Best;
  readonly settings: PlantSettings;
}
/** Wrong means that it costs: settings that still reach this share of the best are drawn again. */
const HURTS = 0.9;

export function drawStart(random: Random): Start {
  const { plant, best } = drawPlant(random);
  const reach = reachOf(plant);
  for (;;) {
    const settings = { wash: best.wash, slope: best.slope, upper: best.upper, lower: best.lower };
    const wrong = new Set<keyof PlantSettings>();
    const count = 1 + Math.floor(3 * random());
    while (wrong.size < count) wrong.add(pick(random, ["wash", "slope", "upper", "lower"] as const));
    const by = (least: number, most: number) => between(random, least, most) ** (chance(random, 0.5) ? 1 : -1);
    if (wrong.has("wash")) settings.wash = limited(settings.wash * by(1.6, 3), reach.wash);
    if (wrong.has("slope")) settings.slope = limited(settings.slope * by(1.4, 2.2), reach.slope);
    const outlet = plant.lengthMm + plant.widthMm;
    const off = () => between(random, 80, 350) * (chance(random, 0.5) ? 1 : -1);
    if (wrong.has("upper")) settings.upper = limited(settings.upper + off(), [20, settings.lower - 20]);
    if (wrong.has("lower")) settings.lower = limited(settings.lower + off(), [settings.upper + 20, outlet]);
    if (money(plant, settings) < HURTS * best.money) return { plant, best, settings };
  }
}
export const limited = (value: number, [least, most]: readonly [number, number]) =>
  Math.min(most, Math.max(least, value));

export const deckOf = (plant: Plant, at: PlantSettings) => describeDeck(deckFile(plant, at));
export const deckFile = (plant: Plant, { upper, lower }: PlantSettings): DeckFileInput => ({
  schemaVersion: 1,
  lengthMm: plant.lengthMm,
  widthMm: plant.widthMm,
  feedBox: [
    [0.025 * plant.lengthMm, 0],
    [0.275 * plant.lengthMm, 0],
  ],
  strokeMm: plant.strokeMm,
  splitters: [
    { name: "upper", between: ["dense", "middling"], atMm: upper, stepMm: 5 },
    { name: "lower", between: ["middling", "light"], atMm: lower, stepMm: 5 },
  ],
});

/** What the person knows: meters and levels a little off, sizes and shares by a rough assay. */
export interface Known {
  readonly profile: MaterialProfile;
  readonly aim: AimFile;
  readonly meter: number;
  readonly level: number;
}
export function knowledge(plant: Plant, random: Random): Known {
  const of = (name: (typeof NAMES)[number]) => {
    const um = plant.um[name] * between(random, 0.9, 1.1);
    return {
      densityKgPerM3: plant.rho[name],
      sizeMm: [(um * Math.exp(-1.5 * plant.sigma)) / 1000, (um * Math.exp(1.5 * plant.sigma)) / 1000] as [
        number,
        number,
      ],
      feedShare: plant.shares[name] * between(random, 0.85, 1.15),
    };
  };
  const profile = { dense: of("dense"), middling: of("middling"), light: { ...of("light"), feedShare: undefined } };
  const perTonne = plant.perTonne.map((worth) => ({ ...worth }));
  return { profile, aim: { perTonne }, meter: 1 + 0.05 * bell(random), level: 0.5 * bell(random) };
}

/** A photo's reading of the plant: edges off by their error, blur and confidence as uneven as a photo's. */
export function look(plant: Plant, settings: PlantSettings, random: Random): Reading {
  const { curves, dryShare } = run(plant, settings);
  const outlet = plant.lengthMm + plant.widthMm;
  const capacity = (0.8 * plant.feedKgPerHour * BIN_MM) / outlet;
  // labels every bin: the class with the most, where solids cover a third
  const labels = Array.from({ length: Math.ceil(outlet / BIN_MM) }, (_, bin) => {
    const masses = NAMES.map((name) => curves[name][bin]!);
    const most = Math.max(...masses);
    return Math.min(1, masses.reduce((a, b) => a + b, 0) / capacity) < 1 / 3 ? -1 : masses.indexOf(most);
  });
  const runs: { label: number; from: number; to: number }[] = [];
  for (const [bin, label] of labels.entries()) {
    const last = runs.at(-1);
    if (last?.label === label) last.to = (bin + 1) * BIN_MM;
    else runs.push({ label, from: bin * BIN_MM, to: (bin + 1) * BIN_MM });
  }
  const kept = runs.filter(({ from, to }) => to - from >= 30);
  const edges = kept.slice(1).map(({ from }) => {
    const errorMm = EDGE_MM * between(random, 0.75, 1.25);
    return { atMm: limited(from + errorMm * bell(random), [1, outlet - 1]), errorMm };
  });
  const stretches = kept.map(({ label }, i) => ({
    label,
    outlet: {
      fromMm: i === 0 ? 0 : edges[i - 1]!.atMm,
      toMm: i === edges.length ? outlet : edges[i]!.atMm,
      fromErrorMm: i === 0 ? null : edges[i - 1]!.errorMm,
      toErrorMm: i === edges.length ? null : edges[i]!.errorMm,
    },
  }));
  const bands = NAMES.flatMap((kind, k) => {
    const own = stretches.filter(({ label, outlet: o }) => label === k && o.toMm > o.fromMm);
    if (own.length === 0) return [];
    const blur = Math.hypot(blurOf(curves, k), 20) * Math.exp(0.25 * bell(random));
    const confidence = limited(0.85 + 0.1 * bell(random), [0.4, 0.98]);
    return [
      {
        kind,
        areaMm2: 1e5,
        meanWidthMm: 100,
        outlet: own.map((s) => s.outlet),
        centreLine: [],
        edgeBlurMm: blur,
        confidence,
      },
    ];
  });
  const found = (kind: string) => bands.find((band) => band.kind === kind);
  const splitters = (["upper", "lower"] as const).map((name, i) => {
    const border = bordersOf({ bands } as unknown as Reading).find(
      (b) => b.between[0] === NAMES[i] && b.between[1] === NAMES[i + 1],
    );
    const atMm = settings[name];
    return {
      name,
      atMm,
      suggestedMm: border ? Math.round(border.atMm.value / 5) * 5 : null,
      errorMm: border?.atMm.error ?? null,
    };
  });
  const dry = dryShare > 0.01 && chance(random, 0.9);
  return {
    schemaVersion: 1,
    photo: { name: "plant", sha256: "0", widthPx: 1, heightPx: 1, takenAt: null },
    madeBy: { version: "0", model: "test plant" },
    scale: "deck file",
    deckState: "running",
    quality: { usable: true, issues: [] },
    view: null,
    grid: null,
    cover: { unseen: 0, bare: 0.4, dense: 0.1, middling: 0.1, light: 0.4, dry: 0 },
    bands,
    outletUnseenMm: [],
    dryPatches: dry
      ? [
          {
            areaMm2: dryShare * Math.exp(DRY_OFF * bell(random)) * plant.lengthMm * plant.widthMm,
            centre: [plant.lengthMm / 2, plant.widthMm / 2],
            outline: [[plant.lengthMm / 2, plant.widthMm / 2]],
            confidence: 0.7,
          },
        ]
      : [],
    rills: [],
    splitters: found("dense") ? splitters : splitters.map((s) => ({ ...s, suggestedMm: null, errorMm: null })),
    launders: [],
    advice: [],
  };
}

/** Mean over a class's borders of the width in which one class gives way to the next, mm. */
function blurOf(curves: ReturnType<typeof run>["curves"], k: number): number {
  const widths = [k - 1, k]
    .filter((i) => i >= 0 && i < 2)
    .map((i) => {
      const [a, b] = [curves[NAMES[i]!], curves[NAMES[i + 1]!]];
      const share = (bin: number) => a[bin]! / (a[bin]! + b[bin]! || 1);
      const peaks = [a, b].map((curve) => curve.indexOf(Math.max(...curve))) as [number, number];
      let count = 0;
      for (let bin = peaks[0]; bin < peaks[1]; bin++) if (share(bin) < 0.9 && share(bin) > 0.1) count++;
      return count * BIN_MM;
    });
  return widths.reduce((x, y) => x + y, 0) / widths.length;
}

export const settingsFile = (plant: Plant, { wash, slope }: PlantSettings, { meter, level }: Known): SettingsFile => {
  const reach = reachOf(plant);
  return {
    washWaterLitresPerMinute: wash * meter,
    feedWaterLitresPerMinute: plant.feedWater,
    feedKgPerHour: plant.feedKgPerHour,
    crossSlopeMmPerM: slope + level,
    strokeMm: plant.strokeMm,
    strokesPerMinute: plant.strokesPerMinute,
    waterTemperatureCelsius: Math.max(1, plant.celsius),
    reach: {
      washWaterLitresPerMinute: { least: reach.wash[0], most: reach.wash[1], step: 0.5 },
      crossSlopeMmPerM: { least: reach.slope[0], most: reach.slope[1], step: 1 },
    },
  };
};

/** Fifty grains counted in each cut of 20 mm: shares scatter, some are named wrongly, and sizes are not quite alike. */
export function countsAt(plant: Plant, at: PlantSettings, placesMm: readonly number[], random: Random): EdgeCount[] {
  const { curves } = run(plant, at);
  const alike = NAMES.map(() => Math.exp(0.1 * bell(random)));
  return placesMm.map((atMm) => {
    const numbers = NAMES.map(
      (name, k) => (alike[k]! * fallen(curves[name], atMm - 10, atMm + 10)) / plant.rho[name] + 1e-12,
    );
    const all = numbers.reduce((a, b) => a + b, 0);
    const grains = { dense: 0, middling: 0, light: 0 };
    for (let grain = 0; grain < 50; grain++) {
      let left = random() * all;
      let k = 0;
      while (k < 2 && left > numbers[k]!) left -= numbers[k++]!;
      // one of twenty is taken for its neighbour
      if (chance(random, 0.05)) k = k === 1 ? pick(random, [0, 2]) : 1;
      grains[NAMES[k]!]++;
    }
    return { atMm, grains };
  });
}
