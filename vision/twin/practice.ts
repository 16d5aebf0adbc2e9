import type { Film } from "../process/film.ts";
import { waterWithSolids } from "../process/pulp.ts";
import { divideOf } from "./as-seen.ts";
import { filmUnder } from "./broken-film.ts";
import { type ByClass, carriedShares, launderMasses, type OutletCurves, purityOf } from "./outlet-curves.ts";
import { FIRST_GUESS, predictOutlet, type TwinDeck, type TwinFeed, type TwinSettings } from "./transport.ts";

/**
 * A deck to practise on: what its controls do, by the twin with first guesses, which were fitted to no real table. Its
 * directions are those of the trade; its amounts are nobody's table.
 */

export const PRACTICE_DECK: TwinDeck = { lengthMm: 1830, widthMm: 910, feedMm: [40, 420] };

/** What a person moves. Feed water comes with the feed. */
export const PRACTICE_CONTROLS = {
  washWaterLitresPerMinute: { least: 4, most: 40, step: 1, unit: "L/min" },
  crossSlopeMmPerM: { least: 6, most: 40, step: 1, unit: "mm/m" },
  feedKgPerHour: { least: 20, most: 300, step: 10, unit: "kg/h" },
} as const;
export type PracticeControl = keyof typeof PRACTICE_CONTROLS;
/** Where controls and both splitters stand, outlet mm. */
export interface PracticeStand extends Readonly<Record<PracticeControl, number>> {
  readonly splittersMm: readonly [upper: number, lower: number];
}

/** Invented feeds: densities of handbooks (from memory), sizes as a person would sieve them. */
export const PRACTICE_FEEDS = {
  tin: feed([0.12, 6950], [0.18, 3900], [0.7, 2650], [75, 250]),
  garnet: feed([0.25, 4300], [0.2, 3300], [0.55, 2650], [100, 300]),
  copper: feed([0.2, 8900], [0.2, 3200], [0.6, 1380], [200, 500]),
} as const satisfies Record<string, TwinFeed>;
export type PracticeFeed = keyof typeof PRACTICE_FEEDS;
type Part = readonly [share: number, densityKgPerM3: number];
function feed(dense: Part, middling: Part, light: Part, sizeUm: readonly [number, number]): TwinFeed {
  const of = ([share, densityKgPerM3]: Part) => ({ share, densityKgPerM3, sizeUm });
  return { dense: of(dense), middling: of(middling), light: of(light) };
}

/** Solids of the feed pulp, per cent by weight; stroke, speed and water as on many tables for sand (common practice). */
const FEED_SOLIDS_PERCENT = 25;
const DRIVE = { strokeMm: 14, strokesPerMinute: 290, endSlopeMmPerM: 0, waterTemperatureCelsius: 15 };

export const twinSettingsOf = ({ splittersMm: _, ...controls }: PracticeStand): TwinSettings => ({
  ...controls,
  ...DRIVE,
  feedWaterLitresPerMinute: waterWithSolids(controls.feedKgPerHour, FEED_SOLIDS_PERCENT),
});

/** What the deck does with its controls standing so. */
export interface PracticeResult {
  readonly curves: OutletCurves;
  /** Share of each class that each launder takes: dense, middling, light launder. */
  readonly carried: readonly ByClass[];
  /** Dense share by weight of what each launder takes; null when it takes nothing. */
  readonly purity: readonly (number | null)[];
  /** Where bands divide; null where they do not. */
  readonly divides: { readonly upper: Divide | null; readonly lower: Divide | null };
  /** Film of water over a smooth deck at this flow and slope. */
  readonly film: Film;
}
type Divide = NonNullable<ReturnType<typeof divideOf>>;

/** The picture shows no dry deck, so there is none to lose by. */
const WHOLE_FILM = { ...FIRST_GUESS, breaksMm: 0.3 };

/** @throws {ProcessError} `out-of-range`. */
export function practise(feedName: PracticeFeed, stand: PracticeStand): PracticeResult {
  const settings = twinSettingsOf(stand);
  const curves = predictOutlet(PRACTICE_DECK, settings, PRACTICE_FEEDS[feedName], WHOLE_FILM);
  return {
    curves,
    carried: carriedShares(curves, stand.splittersMm),
    purity: launderMasses(curves, stand.splittersMm).map(purityOf),
    divides: { upper: divideOf(curves, ["dense", "middling"]), lower: divideOf(curves, ["middling", "light"]) },
    film: filmUnder(PRACTICE_DECK, settings),
  };
}

/** What a metallurgist would look at, in named words with what they are filled with; shares 0 to 1, places in outlet mm. */
export type PracticeLook =
  | { readonly name: "denseBelow" | "denseLost" | "dirty"; readonly share: number }
  | {
      readonly name: "upperOff" | "lowerOff";
      readonly atMm: number;
      readonly offMm: number;
      readonly way: "up" | "down";
    }
  | { readonly name: "blurred"; readonly mm: number }
  | { readonly name: "fanNarrow" | "good" };

/** Judgement, as people at tables speak of it (common practice): much dense below its launder, in tailings (beyond the fines that every table loses), little dense in it. */
const MUCH = { denseBelow: 0.2, denseLost: 0.07, purity: 0.6, blurMm: 250 };
/** A splitter this far off where bands divide cuts into one of them, mm. */
const OFF_MM = 60;

/** What of a result calls for a look, what costs most first. */
export function looksAt({ carried, purity, divides }: PracticeResult, { splittersMm }: PracticeStand): PracticeLook[] {
  const looks: PracticeLook[] = [];
  const [lost, below] = [carried[2]!.dense, carried[1]!.dense];
  if (lost > MUCH.denseLost) looks.push({ name: "denseLost", share: lost });
  if (below > MUCH.denseBelow) looks.push({ name: "denseBelow", share: below });
  if ((purity[0] ?? 1) < MUCH.purity) looks.push({ name: "dirty", share: purity[0]! });
  for (const [i, side] of (["upper", "lower"] as const).entries()) {
    const divide = divides[side];
    const off = divide ? splittersMm[i]! - divide.atMm : 0;
    if (divide && Math.abs(off) > OFF_MM) {
      looks.push({ name: `${side}Off`, atMm: divide.atMm, offMm: Math.abs(off), way: off > 0 ? "down" : "up" });
    }
  }
  const { upper } = divides;
  if (upper === null) looks.push({ name: "fanNarrow" });
  else if (upper.blurMm > MUCH.blurMm) looks.push({ name: "blurred", mm: upper.blurMm });
  return looks.length > 0 ? looks : [{ name: "good" }];
}

/** What a task asks of the deck: each of these at least, or at most. */
export interface PracticeGoals {
  /** Share of all dense in the dense launder, and dense share by weight of what that carries, at least. */
  readonly recovery?: number;
  readonly purity?: number;
  /** Share of all light in the light launder, at least. */
  readonly lightAway?: number;
  /** Wash water, L/min, at most. */
  readonly washAtMost?: number;
}
export interface PracticeTask {
  readonly name: string;
  readonly feed: PracticeFeed;
  readonly start: PracticeStand;
  /** What may be moved. */
  readonly free: readonly (PracticeControl | "splitters")[];
  readonly goals: PracticeGoals;
}
const stand = (wash: number, slope: number, kgPerHour: number, upper: number, lower: number): PracticeStand => ({
  washWaterLitresPerMinute: wash,
  crossSlopeMmPerM: slope,
  feedKgPerHour: kgPerHour,
  splittersMm: [upper, lower],
});
export const PRACTICE_START: { readonly feed: PracticeFeed; readonly stand: PracticeStand } = {
  feed: "tin",
  stand: stand(16, 24, 60, 400, 700),
};

/** Easy ones first. Each can be done, and none is done at its start: a test searches. */
export const PRACTICE_TASKS = [
  {
    name: "bringDense",
    feed: "tin",
    start: stand(34, 26, 60, 330, 760),
    free: ["washWaterLitresPerMinute"],
    goals: { recovery: 0.8, purity: 0.6 },
  },
  {
    name: "placeSplitters",
    feed: "copper",
    start: stand(14, 20, 80, 120, 700),
    free: ["splitters"],
    goals: { recovery: 0.95, purity: 0.9, lightAway: 0.95 },
  },
  {
    name: "washClean",
    feed: "garnet",
    start: stand(8, 12, 60, 380, 620),
    free: ["washWaterLitresPerMinute", "crossSlopeMmPerM"],
    goals: { recovery: 0.75, purity: 0.55 },
  },
  {
    name: "moreFeed",
    feed: "tin",
    start: stand(12, 24, 240, 330, 800),
    free: ["washWaterLitresPerMinute", "crossSlopeMmPerM"],
    goals: { recovery: 0.82, purity: 0.72 },
  },
  {
    name: "saveWater",
    feed: "tin",
    start: stand(30, 18, 60, 360, 720),
    free: ["washWaterLitresPerMinute", "crossSlopeMmPerM", "splitters"],
    goals: { recovery: 0.85, purity: 0.72, washAtMost: 10 },
  },
] as const satisfies readonly PracticeTask[];
export type PracticeTaskName = (typeof PRACTICE_TASKS)[number]["name"];

export interface GoalMet {
  readonly goal: keyof PracticeGoals;
  /** A share 0 to 1; L/min for `washAtMost`. */
  readonly wanted: number;
  readonly now: number;
  readonly met: boolean;
}
/** How far each goal of a task is reached. */
export function goalsMet(goals: PracticeGoals, result: PracticeResult, stand: PracticeStand): GoalMet[] {
  const now: Required<PracticeGoals> = {
    recovery: result.carried[0]!.dense,
    purity: result.purity[0] ?? 0,
    lightAway: result.carried[2]!.light,
    washAtMost: stand.washWaterLitresPerMinute,
  };
  return (Object.keys(goals) as (keyof PracticeGoals)[]).map((goal) => {
    const wanted = goals[goal]!;
    return { goal, wanted, now: now[goal], met: goal === "washAtMost" ? now[goal] <= wanted : now[goal] >= wanted };
  });
}
