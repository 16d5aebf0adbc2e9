/** A person at the test plant: takes a photo, asks, does the first thing advised, waits, looks again. */

import { expectedMoves } from "../../vision/advice/best-change.ts";
import { EDGE_COUNT } from "../../vision/advice/edge-counts.ts";
import { learned, twinOf } from "../../vision/advice/twin-case.ts";
import type {
  AimFile,
  DeckFileInput,
  Hint,
  MaterialProfile,
  Reading,
  SettingsFile,
} from "../../vision/contract/index.ts";
import { describeDeck } from "../../vision/deck.ts";
import { advise } from "../../vision/rules.ts";
import { bell, between, chance, pick, type Random, randomFrom } from "../../vision/scene/random.ts";
import type { Notes } from "../../vision/stages.ts";
import { bordersOf } from "../../vision/twin/as-seen.ts";
import type { EdgeCount } from "../../vision/twin/counted.ts";
import {
  type Best,
  BIN_MM,
  bestCutsOf,
  bestOf,
  drawPlant,
  drift,
  fallen,
  money,
  NAMES,
  type Plant,
  type PlantSettings,
  run,
} from "./advice-plant.ts";

/** Error of an edge at the outlet: its median is 15 mm, the bar that vision is held to; the reading tells it honestly. */
const EDGE_MM = 15 / 0.6745;
export const HINTS = 6;
/** Photos in a row that call for nothing before the person leaves the deck alone. */
const QUIET = 3;
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
const limited = (value: number, [least, most]: readonly [number, number]) => Math.min(most, Math.max(least, value));

export const deckOf = (plant: Plant, at: PlantSettings) => describeDeck(deckFile(plant, at));
const deckFile = (plant: Plant, { upper, lower }: PlantSettings): DeckFileInput => ({
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
interface Known {
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
            areaMm2: dryShare * plant.lengthMm * plant.widthMm,
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
function blurOf(curves: Plant["perTonne"] extends never ? never : ReturnType<typeof run>["curves"], k: number): number {
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

/** What is asked, and what is done about the answer: the settings after it, or null to leave them. */
export type Way = (asked: {
  reading: Reading;
  deck: ReturnType<typeof describeDeck>;
  notes: Notes;
  at: PlantSettings;
  random: Random;
  plant: Plant;
}) => Hint | null;

export interface Outcome {
  /** Share of the best at the start and after each hint. */
  readonly shares: readonly number[];
  readonly hints: readonly string[];
  /** Border moves expected and seen, where the expected one exceeds two standard errors. */
  readonly moves: readonly { readonly expectedMm: number; readonly seenMm: number }[];
  /** Where plant and settings stood when the person left the deck alone. */
  readonly final: { readonly plant: Plant; readonly settings: PlantSettings };
}

export function follow(start: Start, way: Way, random: Random): Outcome {
  let { plant, settings } = start;
  const known = knowledge(plant, random);
  const shares = [money(plant, settings) / start.best.money];
  // the plant drifts, and its best with it: on the way at the first best's water and slope, at the end found anew
  const ofBest = () => money(plant, settings) / bestCutsOf(plant, run(plant, start.best)).money;
  const hints: string[] = [];
  const moves: { expectedMm: number; seenMm: number }[] = [];
  let file = settingsFile(plant, settings, known);
  const earlier: { reading: Reading; settings: SettingsFile }[] = [];
  let quiet = 0;
  let foretold: ReturnType<typeof expectedMoves> = [];
  while (hints.length < HINTS && quiet < QUIET) {
    let reading = look(plant, settings, random);
    for (const { between: pair, byMm, errorMm } of foretold) {
      const at = (r: Reading | undefined) =>
        r && bordersOf(r).find((b) => b.between.join() === pair.join())?.atMm.value;
      const [was, is] = [at(earlier.at(-1)?.reading), at(reading)];
      if (was !== undefined && is !== undefined && Math.abs(byMm) > 2 * errorMm)
        moves.push({ expectedMm: byMm, seenMm: is - was });
    }
    foretold = [];
    const deck = describeDeck(deckFile(plant, settings));
    const notes: Notes = { profile: known.profile, aim: known.aim, settings: file, earlier };
    const hint = way({ reading, deck, notes, at: settings, random, plant });
    reading = { ...reading, advice: hint ? [hint] : [] };
    earlier.push({ reading, settings: file });
    // only the advice has a twin to learn with and to foretell by
    const fitted = way === advised || way === advisedWithCounts ? twinOf({ reading, deck, notes }) : null;
    const twin = fitted ? learned(fitted) : file.twin;
    const next = hint ? applied(plant, settings, hint) : settings;
    const moved = Math.abs(next.wash / settings.wash - 1) > 1e-6 || Math.abs(next.slope / settings.slope - 1) > 1e-6;
    if (moved) {
      const then = settingsFile(plant, next, known);
      if (fitted)
        foretold = expectedMoves(fitted, {
          ...fitted.settings,
          washWaterLitresPerMinute: then.washWaterLitresPerMinute!,
          crossSlopeMmPerM: then.crossSlopeMmPerM!,
        });
    }
    const done = hint !== null && JSON.stringify(next) !== JSON.stringify(settings);
    quiet = done ? 0 : quiet + 1;
    settings = next;
    plant = drift(plant, random);
    if (done) {
      hints.push(
        `${hint.control}${hint.target ? ` ${hint.target}` : ""} ${hint.direction} ${hint.amount?.value ?? "?"}`,
      );
      shares.push(ofBest());
    }
    const counts =
      hint?.target === EDGE_COUNT ? countsAt(plant, settings, hint.evidence.cutAtMm as number[], random) : null;
    if (counts) {
      quiet = 0;
      hints.push("count grains at the outlet");
      shares.push(ofBest());
    }
    file = {
      ...settingsFile(plant, settings, known),
      ...(twin ? { twin } : {}),
      ...(counts ? { edgeCounts: counts } : {}),
    };
  }
  return {
    shares: [...shares.slice(0, -1), money(plant, settings) / bestOf(plant).money],
    hints,
    moves,
    final: { plant, settings },
  };
}

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

/** The plant after a hint: its amount, or a tenth where it gives none (20 mm for a splitter). */
function applied(plant: Plant, at: PlantSettings, { control, target, direction, amount, toMm }: Hint): PlantSettings {
  const reach = reachOf(plant);
  const sign = direction === "raise" ? 1 : direction === "lower" ? -1 : 0;
  if (control === "washWater")
    return { ...at, wash: limited(at.wash + sign * (amount?.value ?? 0.1 * at.wash), reach.wash) };
  if (control === "crossSlope")
    return { ...at, slope: limited(at.slope + sign * (amount?.value ?? 0.1 * at.slope), reach.slope) };
  if (control !== "splitter" || (target !== "upper" && target !== "lower")) return at;
  const to = toMm ?? at[target] + sign * (amount?.value ?? 20);
  return target === "upper"
    ? { ...at, upper: limited(to, [0, at.lower]) }
    : { ...at, lower: limited(to, [at.upper, plant.lengthMm + plant.widthMm]) };
}

/** The first hint, with all that is known; who counts no grains takes the next one. */
export const advised: Way = ({ reading, deck, notes }) =>
  advise(reading, deck, notes).find(({ target }) => target !== EDGE_COUNT) ?? null;
export const advisedWithCounts: Way = ({ reading, deck, notes }) => advise(reading, deck, notes)[0]!;

/** The rules without a twin, so without amounts but for splitters: the material is not told, nor the prices. */
export const rulesAlone: Way = ({ reading, deck, notes }) => {
  const { washWaterLitresPerMinute, feedWaterLitresPerMinute } = notes.settings ?? {};
  const hint = advise(reading, deck, { settings: { washWaterLitresPerMinute, feedWaterLitresPerMinute } })[0]!;
  return { ...hint, amount: null, toMm: null };
};

/** One control, one way, by a twentieth to a half of it or 20 to 200 mm. */
export const random: Way = ({ at, random: draw }) => {
  const control = pick(draw, ["washWater", "crossSlope", "upper", "lower"] as const);
  const direction = pick(draw, ["raise", "lower"] as const);
  const share = between(draw, 0.05, 0.5);
  const isCut = control === "upper" || control === "lower";
  const value =
    control === "washWater" ? share * at.wash : control === "crossSlope" ? share * at.slope : between(draw, 20, 200);
  const amount = {
    value,
    unit: isCut ? ("mm" as const) : control === "washWater" ? ("L/min" as const) : ("mm/m" as const),
  };
  const target = isCut ? control : null;
  const rest = {
    because: ["a draw"],
    evidence: {},
    expect: "",
    lookAgainMinutes: 1,
    caution: null,
    basis: [],
    confidence: 0,
  };
  return { control: isCut ? "splitter" : control, target, direction, amount, toMm: null, ...rest };
};

/** On how many readings of plants that stand at their best a change is advised; five photos a plant, each with those before. */
export function calmShare(readings: number, seed = 4e6): { readonly changed: number; readonly readings: number } {
  let [changed, asked] = [0, 0];
  for (let plantSeed = seed; asked < readings; plantSeed++) {
    const draw = randomFrom(plantSeed);
    const { plant, best } = drawPlant(draw);
    const known = knowledge(plant, draw);
    const deck = deckOf(plant, best);
    const settings = settingsFile(plant, best, known);
    const earlier: { reading: Reading; settings: SettingsFile }[] = [];
    for (let photo = 0; photo < 5 && asked < readings; photo++, asked++) {
      const reading = look(plant, best, draw);
      const hint = advise(reading, deck, { profile: known.profile, aim: known.aim, settings, earlier })[0]!;
      if (hint.direction !== "hold") changed++;
      earlier.push({ reading: { ...reading, advice: [] }, settings });
    }
  }
  return { changed, readings: asked };
}

/** How often a second photo of one state, asked with the first beside it, gives the very same hint. */
export function sameHints(starts: number, seed = 20_001): number {
  let same = 0;
  for (let start = seed; start < seed + starts; start++) {
    const draw = randomFrom(start);
    const { plant, settings: at } = drawStart(draw);
    const known = knowledge(plant, draw);
    const [deck, settings] = [deckOf(plant, at), settingsFile(plant, at, known)];
    const notes: Notes = { profile: known.profile, aim: known.aim, settings };
    const [first, second] = [look(plant, at, draw), look(plant, at, draw)];
    const hint = advise(first, deck, notes)[0]!;
    const earlier = [{ reading: { ...first, advice: [hint] }, settings }];
    const again = advise(second, deck, { ...notes, earlier })[0]!;
    if (JSON.stringify(hint) === JSON.stringify(again)) same++;
  }
  return same;
}
