import { above0 } from "./range.ts";

export type Ease = "easy" | "effective" | "difficult" | "very difficult" | "not practicable" | "floats";

export interface Criterion {
  /** (ρ dense − ρ fluid) / (ρ light − ρ fluid); null when the light one floats, for which the number says nothing. */
  readonly value: number | null;
  readonly ease: Ease;
  /** Finest size it holds down to, µm; null when there is none. */
  readonly downToUm: number | null;
}

/**
 * Bands of the criterion: above this value, how easy, down to which size µm.
 *
 * Source: Taggart (1945), Handbook of Mineral Dressing; like bands in Wills, and in Aplan's chapter of the SME handbook
 * (from memory). For usual machines; tables alone treat somewhat finer sand.
 */
export const CRITERION_BANDS: readonly (readonly [above: number, ease: Ease, downToUm: number])[] = [
  [2.5, "easy", 75],
  [1.75, "effective", 150],
  [1.5, "difficult", 1700],
  [1.25, "very difficult", 6350],
];

/**
 * How far two materials can be told apart by gravity in a fluid. Size and shape are left out: plates and wires behave
 * lighter than they are.
 *
 * @throws {ProcessError} `out-of-range` for a density not above 0.
 */
export function concentrationCriterion(denseKgPerM3: number, lightKgPerM3: number, fluidKgPerM3 = 1000): Criterion {
  for (const density of [denseKgPerM3, lightKgPerM3, fluidKgPerM3]) above0("Density, kg/m³", density);
  const [dense, light] = [Math.max(denseKgPerM3, lightKgPerM3), Math.min(denseKgPerM3, lightKgPerM3)];
  if (light <= fluidKgPerM3) return { value: null, ease: "floats", downToUm: null };
  const value = (dense - fluidKgPerM3) / (light - fluidKgPerM3);
  const band = CRITERION_BANDS.find(([above]) => value > above);
  return { value, ease: band?.[1] ?? "not practicable", downToUm: band?.[2] ?? null };
}
