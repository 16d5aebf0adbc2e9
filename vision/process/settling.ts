import { type DragLaw, haiderLevenspiel } from "./drag.ts";
import { above0, GRAVITY, ProcessError, within } from "./range.ts";
import type { Water } from "./water.ts";

/** What the settling formulas need of a liquid. */
export type Liquid = Pick<Water, "densityKgPerM3" | "viscosityPaS">;

export interface Fall {
  /** Downward, m/s; below 0 for a grain lighter than the liquid, which rises. */
  readonly metresPerS: number;
  readonly reynolds: number;
}

/**
 * End velocity of one grain in still liquid, by a balance of weight and drag: v = √(4 g d |ρs − ρ| / (3 ρ Cd)).
 *
 * @param sizeUm  Diameter, µm, up to 50 000.
 * @param law  Drag law; Haider & Levenspiel's sphere when left out.
 * @returns  0 for a grain of the liquid's own density.
 * @throws {ProcessError} `out-of-range`; also when the law's Reynolds numbers (up to 2e5) are left behind.
 */
export function settle(sizeUm: number, solidKgPerM3: number, liquid: Liquid, law: DragLaw = haiderLevenspiel): Fall {
  const d = within("Size, µm", above0("Size, µm", sizeUm), 0, 50_000) / 1e6;
  const { densityKgPerM3: rho, viscosityPaS: mu } = liquid;
  const difference = above0("Density of the grain, kg/m³", solidKgPerM3) - rho;
  if (difference === 0) return { metresPerS: 0, reynolds: 0 };
  // Cd Re² does not hold v, and Cd(Re) Re² grows with Re: one crossing, found by halving in log Re
  const goal = (4 * GRAVITY * d ** 3 * rho * Math.abs(difference)) / (3 * mu ** 2);
  let low = Math.log(1e-12);
  let high = Math.log(2e5);
  if (law(2e5) * 4e10 < goal) throw new ProcessError("out-of-range", "The grain falls too fast for the drag law.");
  for (let step = 0; step < 60; step++) {
    const middle = (low + high) / 2;
    const re = Math.exp(middle);
    if (law(re) * re ** 2 < goal) low = middle;
    else high = middle;
  }
  const reynolds = Math.exp((low + high) / 2);
  return { metresPerS: (Math.sign(difference) * reynolds * mu) / (rho * d), reynolds };
}

/** Stokes' velocity, m/s: g d² (ρs − ρ) / (18 μ); right below Re of about 0.2. Source: Stokes (1851). */
export const stokes = (sizeUm: number, solidKgPerM3: number, { densityKgPerM3, viscosityPaS }: Liquid): number =>
  (GRAVITY * (sizeUm / 1e6) ** 2 * (solidKgPerM3 - densityKgPerM3)) / (18 * viscosityPaS);

/**
 * Size at which Stokes' own velocity comes to Re = 0.2, µm: larger grains fall slower than he says. Source: from Stokes.
 */
export function stokesUpTo(solidKgPerM3: number, { densityKgPerM3: rho, viscosityPaS: mu }: Liquid): number {
  const difference = above0("Grain denser than liquid by, kg/m³", Math.abs(solidKgPerM3 - rho));
  return 1e6 * Math.cbrt((0.2 * 18 * mu ** 2) / (GRAVITY * rho * difference));
}

/**
 * Velocity of natural grains by one formula for all sizes, m/s: R g d² / (C1 ν + √(0.75 C2 R g d³)), C1 = 18.
 *
 * Source: Ferguson & Church (2004), J. Sediment. Res. 74 (6), 933–937: C2 = 0.4 smooth spheres, 1.0 natural grains by
 * sieve size. On smooth spheres of 0.3 to 0.5 mm it runs up to 23 % above the drag laws.
 */
export function fergusonChurch(sizeUm: number, solidKgPerM3: number, liquid: Liquid, c2 = 1): number {
  const d = above0("Size, µm", sizeUm) / 1e6;
  const r = solidKgPerM3 / liquid.densityKgPerM3 - 1;
  within("Density of the grain over the liquid's", r, 0, 30);
  const nu = liquid.viscosityPaS / liquid.densityKgPerM3;
  return (r * GRAVITY * d ** 2) / (18 * nu + Math.sqrt(0.75 * c2 * r * GRAVITY * d ** 3));
}

/**
 * Size of the grain of another density that falls as fast as this one, µm; null when none up to 50 mm does, as for a
 * grain that floats.
 *
 * @throws {ProcessError} `out-of-range`.
 */
export function equalSettlingSize(
  sizeUm: number,
  solidKgPerM3: number,
  otherKgPerM3: number,
  liquid: Liquid,
  law: DragLaw = haiderLevenspiel,
): number | null {
  const goal = settle(sizeUm, solidKgPerM3, liquid, law).metresPerS;
  if (goal <= 0 || otherKgPerM3 <= liquid.densityKgPerM3) return null;
  let [low, high] = [sizeUm / 1000, 50_000];
  const speed = (size: number) => {
    try {
      return settle(size, otherKgPerM3, liquid, law).metresPerS;
    } catch {
      return Number.POSITIVE_INFINITY; // beyond the drag law, and faster than any grain within it
    }
  };
  if (speed(high) < goal || speed(low) > goal) return null;
  for (let step = 0; step < 50; step++) {
    const middle = Math.sqrt(low * high);
    if (speed(middle) < goal) low = middle;
    else high = middle;
  }
  return Math.sqrt(low * high);
}

/**
 * Size of a light grain over that of the dense grain it settles with: ((ρ1 − ρf) / (ρ2 − ρf))^n, n = 1/2 for fine grains
 * (Stokes), 1 for coarse ones (Newton). With the pulp's density for ρf it is the hindered ratio.
 *
 * Source: Wills, Mineral Processing Technology, ch. Classification (from memory).
 *
 * @throws {ProcessError} `out-of-range` when either floats.
 */
export function settlingRatio(denseKgPerM3: number, lightKgPerM3: number, fluidKgPerM3: number, n: 0.5 | 1): number {
  const dense = above0("Dense grain over the fluid, kg/m³", denseKgPerM3 - fluidKgPerM3);
  return (dense / above0("Light grain over the fluid, kg/m³", lightKgPerM3 - fluidKgPerM3)) ** n;
}
