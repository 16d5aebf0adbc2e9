import { above0, ProcessError, within } from "../process/range.ts";

/** What leaves the deck along the outlet path: mass of each class in each bin, in any one unit. Bin i starts at i · mmPerBin. */
export interface OutletCurves {
  readonly mmPerBin: number;
  readonly dense: Float64Array;
  readonly middling: Float64Array;
  readonly light: Float64Array;
}
export type Class = "dense" | "middling" | "light";
export const CLASSES: readonly Class[] = ["dense", "middling", "light"];
/** One number for each class. */
export type ByClass = Readonly<Record<Class, number>>;

/**
 * The curves smeared along the outlet by a Gaussian, as a stroke or an uncertain edge smears them. Nothing is lost: what
 * would pass an end of the path falls off at that end.
 *
 * @param sdMm  Standard deviation, mm; 0 gives the curves back. A sine of stroke s along the edge: s / (2√2).
 * @throws {ProcessError} `out-of-range`.
 */
export function smeared(curves: OutletCurves, sdMm: number): OutletCurves {
  const sd = within("Spread, mm", sdMm, 0, 1000) / above0("Bin, mm", curves.mmPerBin);
  if (sd === 0) return curves;
  const reach = Math.ceil(4 * sd);
  const weights = Array.from({ length: 2 * reach + 1 }, (_, i) => Math.exp(-(((i - reach) / sd) ** 2) / 2));
  const whole = weights.reduce((sum, weight) => sum + weight, 0);
  const smear = (curve: Float64Array) => {
    const out = new Float64Array(curve.length);
    for (let i = 0; i < curve.length; i++) {
      for (let k = 0; k < weights.length; k++) {
        const to = Math.min(Math.max(i + k - reach, 0), curve.length - 1);
        out[to]! += (curve[i]! * weights[k]!) / whole;
      }
    }
    return out;
  };
  return {
    mmPerBin: curves.mmPerBin,
    dense: smear(curves.dense),
    middling: smear(curves.middling),
    light: smear(curves.light),
  };
}

/**
 * Mass of a class that leaves before each mm: a function of the place along the outlet, straight within a bin.
 *
 * @throws {ProcessError} `out-of-range` for a mass below 0 or no number.
 */
export function massBefore({ mmPerBin }: OutletCurves, curve: Float64Array): (mm: number) => number {
  const sums = new Float64Array(curve.length + 1);
  for (let i = 0; i < curve.length; i++) {
    if (!(curve[i]! >= 0)) throw new ProcessError("out-of-range", `Mass in bin ${i}: ${curve[i]} must be 0 or more.`);
    sums[i + 1] = sums[i]! + curve[i]!;
  }
  return (mm) => {
    const at = Math.min(Math.max(mm / mmPerBin, 0), curve.length);
    const bin = Math.min(Math.floor(at), curve.length - 1);
    return curve.length === 0 ? 0 : sums[bin]! + (at - bin) * curve[bin]!;
  };
}

/** Masses of the classes between places; the first launder starts at 0, the last one takes the rest. */
export function launderMasses(curves: OutletCurves, cutsMm: readonly number[]): readonly ByClass[] {
  const before = byClass((name) => massBefore(curves, curves[name]));
  const ends = [0, ...cutsMm, curves.dense.length * curves.mmPerBin];
  return ends.slice(1).map((end, i) => byClass((name) => Math.max(0, before[name](end) - before[name](ends[i]!))));
}

/** Share of each class that each launder takes, 0 to 1; 0 for a class that is not there. */
export function carriedShares(curves: OutletCurves, cutsMm: readonly number[]): readonly ByClass[] {
  const masses = launderMasses(curves, cutsMm);
  const whole = byClass((name) => masses.reduce((sum, mass) => sum + mass[name], 0));
  return masses.map((mass) => byClass((name) => (whole[name] > 0 ? mass[name] / whole[name] : 0)));
}

/** Dense share of what a launder takes, 0 to 1; null when it takes nothing. */
export function purityOf({ dense, middling, light }: ByClass): number | null {
  const all = dense + middling + light;
  return all > 0 ? dense / all : null;
}

function byClass<T>(of: (name: Class) => T): Record<Class, T> {
  return { dense: of("dense"), middling: of("middling"), light: of("light") };
}
