import type { Reading } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import { CLASSES, type Class, type OutletCurves } from "./outlet-curves.ts";

/** Where two bands that follow each other divide along the outlet, as a photo shows it. */
export interface Border {
  readonly between: readonly [Class, Class];
  readonly atMm: Measured;
  /** 10-90 % width of the change from one to the other, mm; null where none was seen. */
  readonly blurMm: number | null;
  /** How sure the less sure of the two bands is, 0 to 1. */
  readonly confidence: number;
}

const UNIFORM_SD = 1 / Math.sqrt(12);
/** Stretches of the outlet narrower than this against their band's widest are stray. */
const STRAY = 0.1;

/**
 * Where a reading's bands divide; bands it does not show are passed over, so dense may divide from light.
 *
 * A bare gap between two bands is halved, and its width counts as doubt: a uniform spread over it.
 */
export function bordersOf({ bands }: Pick<Reading, "bands">): Border[] {
  const seen = CLASSES.flatMap((name) => {
    const band = bands.find(({ kind }) => kind === name);
    const widest = Math.max(0, ...(band?.outlet ?? []).map(({ fromMm, toMm }) => toMm - fromMm));
    const stretches = (band?.outlet ?? [])
      .filter(({ fromMm, toMm }) => toMm - fromMm >= STRAY * widest)
      .toSorted((a, b) => a.fromMm - b.fromMm);
    return band && widest > 0 ? [{ name, band, first: stretches[0]!, last: stretches.at(-1)! }] : [];
  });
  return seen.slice(1).flatMap((lower, i): Border[] => {
    const upper = seen[i]!;
    const errors = [upper.last.toErrorMm, lower.first.fromErrorMm].filter((error) => error !== null);
    const gap = lower.first.fromMm - upper.last.toMm;
    if (errors.length === 0 || lower.first.fromMm <= upper.first.fromMm) return [];
    // one edge shared by both has one error; two edges apart have each their own, and the middle half of each
    const edge = Math.abs(gap) < 1 || errors.length < 2 ? Math.max(...errors) : Math.hypot(...errors) / 2;
    const blurs = [upper.band.edgeBlurMm, lower.band.edgeBlurMm].filter((blur) => blur !== null);
    return [
      {
        between: [upper.name, lower.name],
        atMm: { value: (upper.last.toMm + lower.first.fromMm) / 2, error: Math.hypot(edge, gap * UNIFORM_SD) },
        blurMm: blurs.length > 0 ? blurs.reduce((a, b) => a + b, 0) / blurs.length : null,
        confidence: Math.min(upper.band.confidence, lower.band.confidence),
      },
    ];
  });
}

/** The outer rims of the fan along the outlet, mm: where solids begin and where they end; null where nobody saw that. */
export interface Rims {
  readonly first: Measured | null;
  readonly last: Measured | null;
}

/** Where solids of any class begin and end in a reading; null at an end of the path or beside what is hidden. */
export function rimsOf({ bands }: Pick<Reading, "bands">): Rims {
  const stretches = bands.flatMap(({ outlet }) => outlet).toSorted((a, b) => a.fromMm - b.fromMm);
  const [first, last] = [stretches[0], stretches.toSorted((a, b) => a.toMm - b.toMm).at(-1)];
  const at = (value?: number, error?: number | null) => (value === undefined || !error ? null : { value, error });
  return { first: at(first?.fromMm, first?.fromErrorMm), last: at(last?.toMm, last?.toErrorMm) };
}

/** Solids cover a third of the deck's rim where this share of the mean load leaves (judgement: bands are a few grains thick). */
const RIM_LOAD = 0.25;

/** Where a photo of these curves would show solids to begin and to end, mm. */
export function rimsIn({ dense, middling, light, mmPerBin }: OutletCurves): { first: number; last: number } {
  const load = dense.map((mass, bin) => mass + middling[bin]! + light[bin]!);
  const least = (RIM_LOAD * load.reduce((sum, mass) => sum + mass, 0)) / load.length;
  const from = load.findIndex((mass) => mass >= least);
  const to = load.findLastIndex((mass) => mass >= least);
  // between bins by the load
  const beyond = (inside: number, outside: number) =>
    (load[inside]! - least) / (load[inside]! - (load[outside] ?? 0) || 1);
  return {
    first: (from + 0.5 - beyond(from, from - 1)) * mmPerBin,
    last: (to + 0.5 + beyond(to, to + 1)) * mmPerBin,
  };
}

/** ln 9: the log of one class over the other where it has 90 % of both. */
const NINE_TENTHS = Math.log(9);

/**
 * Where a photo of these curves would show two classes to divide: as much of the one as of the other by weight, with the
 * 10-90 % width of the change.
 *
 * @returns null where they do not divide: one of them nowhere leads the other.
 */
export function divideOf(curves: OutletCurves, [upper, lower]: readonly [Class, Class]) {
  const [a, b] = [curves[upper], curves[lower]];
  const floor = 1e-6 * Math.max(...a, ...b);
  const lead = (bin: number) => Math.log((a[bin]! + floor) / (b[bin]! + floor));
  // from where the upper one leads most down to where the lower one leads most
  const most = (sign: 1 | -1, mass: Float64Array) => {
    let best = 0;
    const weight = (bin: number) => sign * lead(bin) * Math.min(1, mass[bin]! / (100 * floor));
    for (let bin = 1; bin < a.length; bin++) if (weight(bin) > weight(best)) best = bin;
    return best;
  };
  const [from, to] = [most(1, a), most(-1, b)];
  if (from >= to || lead(from) <= 0 || lead(to) >= 0) return null;
  let best = from;
  while (lead(Math.floor(best) + 1) > 0) best++;
  best += lead(best) / (lead(best) - lead(best + 1));
  const reach = (goal: number, step: 1 | -1) => {
    let bin = step > 0 ? Math.ceil(best) : Math.floor(best);
    while (bin > 0 && bin < a.length - 1 && step * lead(bin) > step * goal) bin += step;
    const [here, last] = [lead(bin), lead(bin - step)];
    return here === last ? bin : bin - step * Math.min(1, Math.max(0, (goal - here) / (last - here)));
  };
  const width = reach(-NINE_TENTHS, 1) - reach(NINE_TENTHS, -1);
  return { atMm: (best + 0.5) * curves.mmPerBin, blurMm: width * curves.mmPerBin };
}
