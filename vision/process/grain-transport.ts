import { type Film, speedAt } from "./film.ts";
import { above0, GRAVITY, within } from "./range.ts";
import { settle } from "./settling.ts";
import { sineOfSlope } from "./slope-units.ts";
import type { Water } from "./water.ts";

/** Grain size without a unit: d (g (s − 1) / ν²)^(1/3). Source: Soulsby (1997), Dynamics of Marine Sands (from memory). */
export function dimensionlessSize(sizeUm: number, solidKgPerM3: number, water: Water): number {
  const heavier = above0("Grain over water", solidKgPerM3 / water.densityKgPerM3 - 1);
  return (above0("Size, µm", sizeUm) / 1e6) * Math.cbrt((GRAVITY * heavier) / water.kinematicM2PerS ** 2);
}

/**
 * Shields number at which grains of a bed of their like begin to move.
 *
 * Source: Soulsby (1997), Dynamics of Marine Sands, eq. SC(77): 0.30 / (1 + 1.2 D*) + 0.055 (1 − exp(−0.020 D*)) (from
 * memory). A single grain on a smooth deck moves sooner: an order of magnitude (common practice).
 */
export const shieldsThreshold = (dStar: number): number =>
  0.3 / (1 + 1.2 * dStar) + 0.055 * (1 - Math.exp(-0.02 * dStar));

/** Pull of the film on the bed over the grain's hold: τ / ((ρs − ρ) g d). Source: Shields (1936). */
export const shieldsNumber = (shearPa: number, sizeUm: number, solidKgPerM3: number, water: Water): number =>
  shearPa / ((solidKgPerM3 - water.densityKgPerM3) * GRAVITY * (sizeUm / 1e6));

/**
 * Film's pull over the pull that moves the grain: above 1 it is carried down the slope.
 *
 * @throws {ProcessError} `out-of-range` for a grain no denser than water.
 */
export const shieldsRatio = (shearPa: number, sizeUm: number, solidKgPerM3: number, water: Water): number =>
  shieldsNumber(shearPa, sizeUm, solidKgPerM3, water) /
  shieldsThreshold(dimensionlessSize(sizeUm, solidKgPerM3, water));

/** Way a grain drifts down the slope while it sinks through the film from the surface, mm: depth × mean speed / fall. */
export function sinkingRunMm(film: Film, sizeUm: number, solidKgPerM3: number, water: Water): number {
  const fall = 1000 * settle(sizeUm, solidKgPerM3, water).metresPerS;
  return fall > 0 ? (film.depthMm * film.meanMmPerS) / fall : Number.POSITIVE_INFINITY;
}

/**
 * Drag on a still sphere that touches the deck in a slow film, N: 1.7005 · 6π μ a u(a), u the film's speed at the height
 * of its centre. Grain Reynolds number below about 1; above that it falls short.
 *
 * Source: Goldman, Cox & Brenner (1967), Chem. Eng. Sci. 22, 653–660; O'Neill (1968) has 1.7009 (both from memory).
 */
export const dragOnDeck = (radiusM: number, speedAtCentre: number, viscosityPaS: number): number =>
  1.7005 * 6 * Math.PI * viscosityPaS * radiusM * speedAtCentre;

/**
 * Push on a single grain lying on the smooth deck over what friction holds: above 1 it slides down the slope. Drag and
 * the weight's share along the slope push; friction times the weight's share into the deck holds. No lift, no shake.
 * Above a grain Reynolds number of 1 the drag is let grow as Schiller & Naumann's sphere in free stream: ours, unpublished.
 *
 * Of grains that settle alike, the small dense one lies low where the film is slow and is held: why tables work.
 * Source: the balance in Gaudin (1939), Principles of Mineral Dressing, flowing-film concentration (from memory).
 *
 * @param friction  Grain on wet deck, 0.1 to 1.5; 0.3 to 0.6 is a guess from memory.
 * @throws {ProcessError} `out-of-range` for a grain no denser than water.
 */
export function slideRatio(
  grain: { sizeUm: number; densityKgPerM3: number; friction: number },
  film: Film,
  slopeMmPerM: number,
  water: Water,
): number {
  const radius = above0("Size, µm", grain.sizeUm) / 2e6;
  const heavier = above0("Grain over water, kg/m³", grain.densityKgPerM3 - water.densityKgPerM3);
  const friction = within("Friction", grain.friction, 0.1, 1.5);
  const sine = sineOfSlope(above0("Slope, mm/m", slopeMmPerM));
  const weight = (4 / 3) * Math.PI * radius ** 3 * heavier * GRAVITY;
  const speed = speedAt(radius, film.depthMm / 1000, sine, water.kinematicM2PerS);
  const reynolds = (2 * radius * speed) / water.kinematicM2PerS;
  const drag = dragOnDeck(radius, speed, water.viscosityPaS) * (1 + 0.15 * reynolds ** 0.687);
  return (drag + weight * sine) / (friction * weight * Math.sqrt(1 - sine ** 2));
}
