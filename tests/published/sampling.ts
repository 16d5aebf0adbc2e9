import type { Material } from "../../vision/accounts/gy.ts";

/**
 * Lead ore of 5 % in galena: relative error 2 % at 95 %, four stages, safety 2; top size cm, grams.
 *
 * Source: Wills (1982, re-issued 2005), sampling module, masses as printed. Tolerances 1e-4 and, where few digits are
 * printed, 1e-3 and 5 %.
 */
export const LEAD_ORE: Material = {
  topSizeCm: 2.5,
  liberationCm: 0.015,
  mineralShare: 0.05 / 0.866,
  mineralGPerCm3: 7.5,
  gangueGPerCm3: 2.65,
  shape: 0.5,
  gradation: 0.25,
};
export const LEAD_MASSES = [
  [2.5, 1_369_632, 1e-4],
  [0.5, 24_501, 1e-4],
  [0.1, 438, 1e-3],
  [0.004, 0.07, 5e-2],
] as const;
/** Its factors at 2.5 cm, worked out: share of mineral, mineral, liberation, constant. */
export const LEAD_FACTORS = [0.0577367, 117.83, 0.0774597, 1.140884] as const;
/** One stage without safety, and the error that the printed mass then has: 2 % / √2 at 95 %. */
export const LEAD_ONE_STAGE_GRAMS = 171_198;

/**
 * The same by hand: a relative standard error of 0.01. Source: Wills, ch. 3 (from memory): 176.3 kg at 2.5 cm; ground to
 * 0.015 cm 0.4946 g, or 0.989 g with gradation 0.5. Tolerance 1 %.
 */
export const LEAD_BY_HAND = [
  [2.5, 0.25, 176_300],
  [0.015, 0.25, 0.4946],
  [0.015, 0.5, 0.989],
] as const;

/**
 * Free gold: grade g/t, top size and liberation cm, shape, then constant, relative error of 1 kg and grams for 10 %; null
 * where none was worked out. Density 19.3 and 2.65 g/cm³. Worked out; tolerance 1e-4.
 */
export const GOLD = [
  [10, 0.1, 0.01, 0.2, 30_515.4, 0.174687, 3051.5],
  [10, 0.0106, 0.01, 0.2, 93_727.3, 0.010566, 11.163],
  [500, 0.1, 0.01, 0.2, 609.751, 0.024693, 60.975],
] as const;

/** 1 kg at 10 g/t in balls of 100 µm: grains, their relative error. Worked out; tolerance 1e-4. */
export const GOLD_BALLS = { grains: 989.56, error: 0.031789 } as const;

/** 500 g of a lot of 5000 g, C d³ = 17.8266 g: relative error. Worked out; tolerance 1e-4. */
export const FINITE_LOT = { variance: 17.8266, sampleGrams: 500, lotGrams: 5000, error: 0.179131 } as const;

/**
 * Shares of counted grains: hits, all, from, to with 95 %. Source: Newcombe (1998), Stat. Med. 17, 857, table I, score method
 * without continuity correction (from memory). Tolerance 1e-4.
 */
export const SCORE_INTERVALS = [
  [81, 263, 0.2553, 0.3662],
  [15, 148, 0.0624, 0.1605],
  [0, 20, 0, 0.1611],
  [1, 29, 0.0061, 0.1718],
] as const;

/** Mean of a count: grains, from, to with 95 %. Source: Garwood (1936), Biometrika 28, 437 (from memory). Tolerance 1e-3. */
export const POISSON_LIMITS = [
  [0, 0, 3.689],
  [1, 0.0253, 5.572],
  [5, 1.623, 11.668],
  [10, 4.795, 18.39],
] as const;
