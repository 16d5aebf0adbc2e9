import { pulpDensity, waterWithSolids } from "./pulp.ts";
import { above0, within } from "./range.ts";

export interface WaterBudget {
  /** Water that comes with the feed, L/min. */
  readonly feedWaterLitresPerMinute: number;
  /** Feed pulp, water and solids together, L/min. */
  readonly feedPulpLitresPerMinute: number;
  readonly washWaterLitresPerMinute: number;
  /** All water that leaves the deck, L/min. */
  readonly totalLitresPerMinute: number;
  /** Water by weight for each weight of dry solids. */
  readonly waterPerSolids: number;
  readonly washPerSolids: number;
  /** Per cent solids by weight of all that leaves, as if in one launder. */
  readonly outSolidsPercent: number;
  readonly cubicMetresPerDay: number;
}

/**
 * Where the water of a table comes from and how much the solids get.
 *
 * @param feed  dry solids kg/h, per cent solids by weight of the feed pulp, density of solids kg/m³, wash water L/min,
 *              hours a day it runs.
 * @throws {ProcessError} `out-of-range`.
 */
export function waterBudget(feed: {
  solidsKgPerHour: number;
  feedSolidsPercent: number;
  solidsKgPerM3: number;
  washLitresPerMinute: number;
  hoursPerDay?: number;
}): WaterBudget {
  const solids = above0("Dry feed, kg/h", feed.solidsKgPerHour);
  const wash = within("Wash water, L/min", feed.washLitresPerMinute, 0, 10_000);
  const hours = within("Hours a day", feed.hoursPerDay ?? 24, 0, 24);
  const water = waterWithSolids(solids, feed.feedSolidsPercent);
  const total = water + wash;
  const pulpKgPerMinute = solids / 60 / (feed.feedSolidsPercent / 100);
  return {
    feedWaterLitresPerMinute: water,
    feedPulpLitresPerMinute: (1000 * pulpKgPerMinute) / pulpDensity(feed.feedSolidsPercent, feed.solidsKgPerM3),
    washWaterLitresPerMinute: wash,
    totalLitresPerMinute: total,
    waterPerSolids: (total * 60) / solids,
    washPerSolids: (wash * 60) / solids,
    outSolidsPercent: (100 * solids) / (solids + 60 * total),
    cubicMetresPerDay: (total * 60 * hours) / 1000,
  };
}

/**
 * Water a pipe or launder gives, L/min, from a timed can. Do it three times; a splash lost counts against you.
 *
 * @throws {ProcessError} `out-of-range`.
 */
export const flowFromCan = (litres: number, seconds: number): number =>
  (60 * above0("Can, litres", litres)) / above0("Time, s", seconds);
