import { checked } from "./fault.ts";
import { type Material, smallestSample } from "./gy.ts";
import { normalLimit } from "./odds.ts";

export interface SamplingAim {
  readonly material: Material;
  /** Largest error wanted of the grade, over the grade: 0.05 is 5 %; and how surely, such as 0.95. */
  readonly relativeError: number;
  readonly confidence: number;
  /** Times the sample is parted on its way to the assay, each as exact as the others: 1 where it goes in whole. */
  readonly stages?: number;
  /** Takes the formula's own roughness: 2 is usual. */
  readonly safety?: number;
  readonly lotGrams?: number;
  /** Spread from cut to cut of the grade, one standard deviation over the grade, where it was found; and minutes of the run. */
  readonly spreadOfCuts?: number;
  readonly runMinutes?: number;
}

export interface SamplingPlan {
  /** To be taken in all, g. */
  readonly grams: number;
  /** Equal cuts to take it in. */
  readonly cuts: number;
  readonly gramsPerCut: number;
  readonly minutesBetweenCuts: number | null;
  /** The cutter's opening across the stream, mm, and its speed, m/s, at most. */
  readonly leastOpeningMm: number;
  readonly mostSpeedMPerS: number;
}

/** At least three cuts. Source: common practice. */
const LEAST = 3;
/** Opening of three top sizes, 10 mm at least; 0.6 m/s at most. Source: Gy (1979); Pitard (1993) (from memory). */
const OPENING_SIZES = 3;
const OPENING_MM = 10;
const SPEED_M_PER_S = 0.6;

/**
 * How much to take, in how many cuts, and how.
 *
 * Each stage is given an equal part of the variance; cuts are as many as bring their own spread to the error wanted.
 *
 * @throws {AccountsError} `out-of-range`.
 * Source: Gy's formula; layout of the masses as in Wills (1982, re-issued 2005), sampling module.
 */
export function samplingPlan(aim: SamplingAim): SamplingPlan {
  const { material, stages = 1, safety = 2, lotGrams, spreadOfCuts, runMinutes } = aim;
  const wanted = checked("Relative error", aim.relativeError, 1e-6, 1);
  const z = normalLimit(0.5 + checked("Confidence", aim.confidence, 0.5, 0.9999) / 2);
  checked("Stages", stages, 1, 20);
  checked("Safety", safety, 1, 10);
  const grams = safety * smallestSample(material, wanted / z / Math.sqrt(stages), lotGrams);
  const spread = spreadOfCuts === undefined ? 0 : checked("Spread of cuts", spreadOfCuts, 0, 10);
  const cuts = Math.max(LEAST, Math.ceil(((z * spread) / wanted) ** 2 - 1e-9));
  return {
    grams,
    cuts,
    gramsPerCut: grams / cuts,
    minutesBetweenCuts: runMinutes === undefined ? null : checked("Minutes of the run", runMinutes, 0) / cuts,
    leastOpeningMm: Math.max(OPENING_MM, OPENING_SIZES * 10 * material.topSizeCm),
    mostSpeedMPerS: SPEED_M_PER_S,
  };
}
