import { SMOOTH_K, sheetDepth } from "./film.ts";
import { above0, GRAVITY, within } from "./range.ts";
import { sineOfSlope } from "./slope-units.ts";
import type { Water } from "./water.ts";

/** Length below which surface tension outweighs gravity, m: √(σ / (ρ g)). Source: textbooks of wetting (definition). */
export const capillaryLength = (water: Water): number =>
  Math.sqrt(water.surfaceTensionNPerM / (water.densityKgPerM3 * GRAVITY));

/**
 * Sheet thinner than which a hole in still water on a level deck stays open, m: 2 l_c sin(θ/2).
 *
 * Source: de Gennes, Brochard-Wyart & Quéré (2004), Capillarity and Wetting Phenomena, section 2.2 (from memory).
 *
 * @param contactDegrees  Angle water makes with the deck where it recedes or stands, 0 to 180.
 */
export function puddleDepth(water: Water, contactDegrees: number): number {
  const angle = (within("Contact angle, degrees", contactDegrees, 0, 180) * Math.PI) / 180;
  return 2 * capillaryLength(water) * Math.sin(angle / 2);
}

/**
 * Film thinner than which the running water cannot cover a dry patch again, m, by its speed alone:
 * h = 15^(1/5) (σ (1 − cos θ) / ρ)^(1/5) (ν / (g sin β))^(2/5). Laminar, smooth, gravity across the film left out.
 *
 * Source: Hartley & Murgatroyd (1964), Int. J. Heat Mass Transfer 7, 1003–1015, force balance at the upstream edge of
 * the patch: ∫ ½ ρ u² dy = σ (1 − cos θ) (from memory; the factor, printed 1.72, is worked out again).
 */
export function rewettingDepth(water: Water, sine: number, contactDegrees: number): number {
  const angle = (within("Contact angle, degrees", contactDegrees, 0, 180) * Math.PI) / 180;
  const tension = (water.surfaceTensionNPerM * (1 - Math.cos(angle))) / water.densityKgPerM3;
  return (15 * tension * (water.kinematicM2PerS / (GRAVITY * sine)) ** 2) ** 0.2;
}

/**
 * Least water that covers a dry patch again by itself, with speed and the film's own weight together:
 * ∫ ½ ρ u² dy + ½ ρ g cos β h² = σ (1 − cos θ); computed from the two balances above.
 *
 * A film below it is not bound to break: it stays whole on a clean, wetted deck until something parts it, and then the
 * patch stays. So this is a wide upper guide; what the deck shows decides. Grease and plastic raise the contact angle.
 *
 * @param settings  wetted length mm, slope mm/m, contact angle degrees (receding; 20–40 for a clean wetted deck is a
 *                  guess from memory, 60–90 for a greasy one).
 * @throws {ProcessError} `out-of-range`.
 */
export function leastWholeFilm(settings: {
  wettedLengthMm: number;
  slopeMmPerM: number;
  water: Water;
  contactDegrees: number;
  frictionK?: number;
}): { readonly depthMm: number; readonly litresPerMinute: number } {
  const { water, frictionK = SMOOTH_K } = settings;
  above0("Wetted length, mm", settings.wettedLengthMm);
  const sine = sineOfSlope(above0("Slope, mm/m", settings.slopeMmPerM));
  const angle = (within("Contact angle, degrees", settings.contactDegrees, 0, 180) * Math.PI) / 180;
  const pull = (water.surfaceTensionNPerM * (1 - Math.cos(angle))) / water.densityKgPerM3;
  // a rough sheet runs 24/K as fast at the same depth
  const rate = (GRAVITY * sine * SMOOTH_K) / (frictionK * water.kinematicM2PerS);
  const push = (h: number) => (rate ** 2 * h ** 5) / 15 + (GRAVITY * Math.sqrt(1 - sine ** 2) * h ** 2) / 2;
  let low = 0;
  let high = puddleDepth(water, settings.contactDegrees) * 1.5 + 1e-9; // weight alone would do at this depth
  for (let step = 0; step < 60; step++) {
    const middle = (low + high) / 2;
    if (push(middle) < pull) low = middle;
    else high = middle;
  }
  const flow = high ** 3 / sheetDepth(1, sine, water.kinematicM2PerS, frictionK) ** 3; // h³ is in proportion to q
  return { depthMm: 1000 * high, litresPerMinute: flow * 60 * settings.wettedLengthMm };
}
