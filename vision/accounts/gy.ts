import { checked } from "./fault.ts";

/** What Gy's formula asks of a material. Sizes cm, densities g/cm³, as the formula is written. */
export interface Material {
  /** Opening that 95 % by weight passes, cm. */
  readonly topSizeCm: number;
  /** Size at which the mineral's grains come free, cm. */
  readonly liberationCm: number;
  /** Grade over the grade of the pure mineral, 0 to 1: 5 % lead in galena is 0.05 / 0.866. */
  readonly mineralShare: number;
  readonly mineralGPerCm3: number;
  readonly gangueGPerCm3: number;
  /** 0.5 for grains; 0.2 for flakes of gold; 1 for cubes. */
  readonly shape: number;
  /** 0.25 for a wide range of sizes; see `gradationOf`. */
  readonly gradation: number;
}

/**
 * Gradation factor from the ratio of the sizes that 95 % and 5 % by weight pass.
 *
 * Source: Wills, ch. 3; a course note on sampling (2009).
 */
export function gradationOf(sizeRatio: number): 0.25 | 0.5 | 0.75 | 1 {
  checked("Ratio of the 95 % to the 5 % size", sizeRatio, 1);
  if (sizeRatio > 4) return 0.25;
  if (sizeRatio >= 2) return 0.5;
  return sizeRatio > 1 ? 0.75 : 1;
}

/** The factors as they came out, so that each can be read. */
export interface Factors {
  /** m = (1 − a) / a · ((1 − a) r_m + a r_g), g/cm³. */
  readonly mineral: number;
  /** l = √(L / d), 1 where the grains are free. */
  readonly liberation: number;
  /** C = f g l m, g/cm³. */
  readonly constant: number;
}

/**
 * Sampling constant C = f g l m.
 *
 * Holds for broken ore of one mineral in gangue, taken by correct cuts; not for a few coarse nuggets, which are counted
 * (`nuggetError`).
 *
 * @throws {AccountsError} `out-of-range` for sizes of 1 µm to 30 cm, shares and factors outside their limits.
 * Source: Gy (1979), Sampling of Particulate Materials, as in Wills, ch. 3.
 */
export function gyFactors(material: Material): Factors {
  const d = checked("Top size, cm", material.topSizeCm, 1e-4, 30);
  const L = checked("Liberation size, cm", material.liberationCm, 1e-4, 30);
  const a = checked("Share of mineral", material.mineralShare, 1e-9, 1 - 1e-9);
  const f = checked("Shape factor", material.shape, 0.05, 1);
  const g = checked("Gradation factor", material.gradation, 0.1, 1);
  const rm = checked("Density of the mineral, g/cm³", material.mineralGPerCm3, 1, 23);
  const rg = checked("Density of the gangue, g/cm³", material.gangueGPerCm3, 1, 23);
  const mineral = ((1 - a) / a) * ((1 - a) * rm + a * rg);
  const liberation = d > L ? Math.sqrt(L / d) : 1;
  return { mineral, liberation, constant: f * g * liberation * mineral };
}

/**
 * Relative standard error of a sample's grade: s² = C d³ (1 / M_s − 1 / M_L).
 *
 * @param sampleGrams, lotGrams  The lot may be endless: Infinity.
 * @throws {AccountsError} `out-of-range`, also for a sample larger than its lot.
 */
export function samplingError(material: Material, sampleGrams: number, lotGrams = Number.POSITIVE_INFINITY): number {
  checked("Sample, g", sampleGrams, Number.MIN_VALUE, lotGrams);
  return Math.sqrt(gyFactors(material).constant * material.topSizeCm ** 3 * (1 / sampleGrams - 1 / lotGrams));
}

/**
 * Smallest sample for a relative standard error, g: from the same formula.
 *
 * @param relativeError  One standard error over the grade: 0.05 is 5 %.
 * @throws {AccountsError} `out-of-range`.
 */
export function smallestSample(material: Material, relativeError: number, lotGrams = Number.POSITIVE_INFINITY): number {
  checked("Relative standard error", relativeError, 1e-6, 1);
  checked("Lot, g", lotGrams, Number.MIN_VALUE, Number.POSITIVE_INFINITY);
  const variance = gyFactors(material).constant * material.topSizeCm ** 3;
  return 1 / (relativeError ** 2 / variance + 1 / lotGrams);
}

/**
 * Grains of free metal in a sample and the relative error that chance alone gives their number, 1 / √n: no sample of that
 * mass can be better.
 *
 * @param gradeShare  Metal by weight, 0 to 1: 10 g/t is 1e-5. Grains are taken as balls of one size.
 * @throws {AccountsError} `out-of-range`.
 */
export function nuggetError(
  sampleGrams: number,
  gradeShare: number,
  grainCm: number,
  metalGPerCm3: number,
): { readonly grains: number; readonly error: number } {
  checked("Sample, g", sampleGrams, Number.MIN_VALUE);
  checked("Grade, share", gradeShare, Number.MIN_VALUE, 1);
  checked("Grain, cm", grainCm, 1e-5, 10);
  const grainGrams = (Math.PI / 6) * grainCm ** 3 * checked("Density of the metal, g/cm³", metalGPerCm3, 1, 23);
  const grains = (sampleGrams * gradeShare) / grainGrams;
  return { grains, error: 1 / Math.sqrt(grains) };
}
