import type { TwinBelief } from "../contract/index.ts";
import { solve } from "../linear-system.ts";
import { above0, ProcessError } from "../process/range.ts";
import { type Border, divideOf, type Rims, rimsIn } from "./as-seen.ts";
import { dryShare } from "./broken-film.ts";
import { countedShare, type EdgeCount, LEAST_SHARE } from "./counted.ts";
import { CLASSES, type OutletCurves } from "./outlet-curves.ts";
import { awayFrom, filmOf, saidAt } from "./steepness.ts";
import {
  FIRST_GUESS,
  predictOutlet,
  type TwinDeck,
  type TwinFeed,
  type TwinParameters,
  type TwinSettings,
} from "./transport.ts";

/** One photo's borders between bands with the settings they were seen at. */
export interface Seen {
  readonly settings: TwinSettings;
  readonly feed: TwinFeed;
  readonly borders: readonly Pick<Border, "between" | "atMm" | "blurMm">[];
  /** Grains counted at the outlet at these settings. */
  readonly counts?: readonly EdgeCount[];
  /** Where the fan's rims were seen. */
  readonly rims?: Rims;
  /** Share of the deck that was seen dry, 0 to 1; left out where nobody looked. */
  readonly dryShare?: number;
}

/** What is believed after some readings, and how well it fits them. */
export interface TwinFit extends TwinBelief {
  /** Root mean square of seen less predicted borders, mm. */
  readonly misfitMm: number;
}

/** Fullness shows in no border and keeps its value; friction does what drift does. */
const NAMES: readonly Fitted[] = [
  "drift",
  "sorting",
  "climbMmPerM",
  "spread",
  "locking",
  "waterResponse",
  "slopeResponse",
  "fading",
  "breaksMm",
];
type Fitted = keyof TwinBelief["logErrors"];
const LIMITS: Record<Fitted, readonly [number, number]> = {
  drift: [0.05, 50],
  sorting: [0.2, 2],
  climbMmPerM: [5, 200],
  spread: [0.01, 0.5],
  locking: [0.3, 3],
  waterResponse: [0.1, 2],
  slopeResponse: [0.1, 2],
  fading: [0.001, 1],
  breaksMm: [0.3, 3],
};

/** What is believed before any photo. The errors are judgement: nothing was measured on real decks yet. */
export const FIRST_BELIEF: TwinBelief = {
  parameters: FIRST_GUESS,
  logErrors: {
    drift: 1.2,
    sorting: 0.3,
    climbMmPerM: 0.7,
    spread: 0.4,
    locking: 0.2,
    waterResponse: 0.3,
    slopeResponse: 0.5,
    fading: 0.7,
    breaksMm: 0.3,
  },
};

/** How far the twin itself may be off at one border, mm, and its blur, as a share: judgement. */
const MODEL_MM = 10;
const BLUR_SHARE = 0.4;
/** How far a dry share seen is off: at least, since patches are missed, and of itself (judgement). */
const DRY_OFF = { least: 0.03, share: 0.4 };
/** The same of a rim of the fan, as a share of the outer band's width: how thick a bed covers the deck nobody knows (judgement). */
const RIM_OFF = 0.15;
/** The same of the logarithm of a class's share in a narrow cut. */
const SHARE_OFF = 0.5;
/** Bins of the fit: borders lie between them by their shares. */
const MM_PER_BIN = 20;
/** Where the descent begins, as logarithms beside the belief, in the order of NAMES; and how many are followed. */
const DRIFTS = [0, -0.7, 0.7, -1.4, 1.4, -2.1, 2.1, -2.8];
const STARTS = [
  [0, 0, 0, 0, 0, 0, 0, 0, 0],
  [0, 0.4, 0, -0.8, 0, 0, 0, 0, 0],
  [0, -0.4, 0, 0.4, 0, 0, 0, 0, 0],
  [0, -0.4, 0, 0, 0.4, 0, 0, 0, 0],
];
const TRIED = 2;
/** Blur below this is the photo's own. */
const BLUR_FLOOR_MM = 20;
/** A band narrower than this may be passed over in a photo, mm. */
const UNSEEN_MM = 60;
/** Stands for a border that the twin does not show at all, mm off. */
const NOWHERE_MM = 1000;

/**
 * The twin's parameters that fit one or several readings best, held near the belief where the readings are silent: what
 * comes out is the belief after them, said of the last one's film.
 *
 * Method: least squares of errors-weighted borders and log-normal priors, by Levenberg (1944) and Marquardt (1963) (from
 * memory), on logarithms, with slopes by differences.
 *
 * @param told  What earlier looks taught; what is believed before any photo when left out.
 * @throws {ProcessError} `too-few-readings` when no border was seen; `out-of-range`.
 */
export function fitTwin(deck: TwinDeck, seen: readonly Seen[], told?: TwinBelief): TwinFit {
  const places = seen.flatMap((one) => one.borders.map((border) => ({ one, ...border })));
  for (const { atMm } of places) above0("Error of a border, mm", atMm.error);
  if (places.length === 0) throw new ProcessError("too-few-readings", "No two bands divide: nothing can be fitted.");
  const last = seen.at(-1)!;
  // before any photo it is said of the film at hand: one reading then says nothing of how bands answer
  const untaught = { ...FIRST_GUESS, ...filmOf(deck, last.settings) };
  const belief = told ?? { ...FIRST_BELIEF, parameters: untaught };
  const withLogs = (logs: readonly number[]): TwinParameters => ({
    ...belief.parameters,
    ...Object.fromEntries(NAMES.map((name, i) => [name, limited(name, belief.parameters[name] * Math.exp(logs[i]!))])),
  });
  const misses = (logs: readonly number[]) => {
    const parameters = withLogs(logs);
    const curves = new Map(
      seen.map((one) => [one, predictOutlet(deck, one.settings, one.feed, parameters, MM_PER_BIN)] as const),
    );
    const off = places.map(({ one, between, atMm, blurMm }) => {
      const divide = divideOf(curves.get(one)!, between);
      const miss = divide ? atMm.value - divide.atMm : NOWHERE_MM;
      const blur =
        divide && blurMm !== null
          ? Math.log(Math.max(blurMm, BLUR_FLOOR_MM) / Math.max(divide.blurMm, BLUR_FLOOR_MM)) / BLUR_SHARE
          : 0;
      const hidden =
        between[1] === "light" && between[0] === "dense" ? leadOfMiddling(curves.get(one)!) / UNSEEN_MM : 0;
      return { miss, scaled: [miss / Math.hypot(atMm.error, MODEL_MM), blur, hidden] };
    });
    const counted = seen.flatMap((one) =>
      (one.counts ?? []).flatMap((count) => missed(curves.get(one)!, count, one.feed)),
    );
    const dry = seen.flatMap((one) => {
      if (one.dryShare === undefined) return [];
      const off = one.dryShare - dryShare(deck, one.settings, parameters);
      return [off / Math.hypot(DRY_OFF.least, DRY_OFF.share * one.dryShare)];
    });
    const rims = seen.flatMap((one) => rimMisses(one, curves.get(one)!));
    const held = NAMES.map((name, i) => -logs[i]! / belief.logErrors[name]);
    return {
      off: off.map(({ miss }) => miss),
      all: [...off.flatMap(({ scaled }) => scaled), ...counted, ...dry, ...rims, ...held],
    };
  };
  const { logs, now, normal } = STARTS.map((start) => nearest(misses, start))
    .toSorted((a, b) => dot(a.now.all, a.now.all) - dot(b.now.all, b.now.all))
    .slice(0, TRIED)
    .map(({ logs: start }) => descend(misses, start))
    .toSorted((a, b) => dot(a.now.all, a.now.all) - dot(b.now.all, b.now.all))[0]!;
  const covariance = NAMES.map((_, k) => solve(normal.map((row, i) => [...row, i === k ? 1 : 0])));
  const { parameters, ways } = saidNow(deck, last, withLogs(logs));
  const errorOf = (way: readonly number[]) =>
    Math.sqrt(
      dot(
        way,
        covariance.map((row) => dot(row, way)),
      ),
    );
  return {
    parameters,
    logErrors: Object.fromEntries(NAMES.map((name, i) => [name, errorOf(ways[i]!)])) as TwinBelief["logErrors"],
    misfitMm: Math.sqrt(dot(now.off, now.off) / places.length),
  };
}

/** Parameters said of the last reading's film, within their limits, and how each answers an error of each fitted one. */
function saidNow(deck: TwinDeck, { settings, feed }: Seen, fitted: TwinParameters) {
  const { water, slope } = awayFrom(deck, settings, fitted);
  const ways = NAMES.map((_, i) => NAMES.map((_, k): number => (i === k ? 1 : 0)));
  const at = (name: Fitted) => NAMES.indexOf(name);
  ways[at("drift")]![at("waterResponse")] = fitted.waterResponse * water;
  ways[at("drift")]![at("slopeResponse")] = fitted.slopeResponse * slope;
  ways[at("sorting")]![at("fading")] = -fitted.fading * (water + slope);
  const said = saidAt(deck, settings, feed, fitted);
  const within = (name: Fitted) => [name, limited(name, said[name])];
  return { parameters: { ...said, ...Object.fromEntries(NAMES.map(within)) }, ways };
}

interface Misses {
  readonly off: readonly number[];
  readonly all: readonly number[];
}
type MissesOf = (logs: readonly number[]) => Misses;

/** Best of some drifts with a start's other parameters: far off, borders lie squeezed at an end and tell no way to go. */
function nearest(misses: MissesOf, [, ...others]: readonly number[]) {
  const tried = DRIFTS.map((drift) => [drift, ...others]).map((logs) => ({ logs, now: misses(logs) }));
  return tried.reduce((a, b) => (dot(b.now.all, b.now.all) < dot(a.now.all, a.now.all) ? b : a));
}

/** Down to where the misses are least, on logarithms; with the curvature there. */
function descend(misses: MissesOf, start: readonly number[]) {
  let logs = start;
  let now = misses(logs);
  let damping = 1e-3;
  let normal: number[][] = [];
  for (let step = 0; step < 10; step++) {
    const slopes = NAMES.map((_, k) => {
      const moved = misses(logs.map((value, i) => value + (i === k ? 0.02 : 0))).all;
      return moved.map((miss, i) => (miss - now.all[i]!) / 0.02);
    });
    normal = slopes.map((a) => slopes.map((b) => dot(a, b)));
    const damped = normal.map((row, i) => row.map((value, j) => (i === j ? value * (1 + damping) : value)));
    const change = solve(damped.map((row, i) => [...row, -dot(slopes[i]!, now.all)]));
    const next = logs.map((value, i) => value + Math.min(1, Math.max(-1, change[i]!)));
    const then = misses(next);
    const gain = dot(now.all, now.all) - dot(then.all, then.all);
    damping = gain > 0 ? damping / 5 : damping * 10;
    if (gain > 0) [logs, now] = [next, then];
    if ((gain >= 0 && gain < 1e-2) || damping > 1e3) break;
  }
  return { logs, now, normal };
}

/** Seen less expected rims over their errors, that of the twin as a share of the outer band. */
function rimMisses({ rims, borders }: Seen, curves: OutletCurves): number[] {
  if (!rims) return [];
  const expected = rimsIn(curves);
  const places = borders.map(({ atMm }) => atMm.value);
  const miss = (seen: Rims["first"], at: number, border: number) =>
    seen ? [(seen.value - at) / Math.hypot(seen.error, RIM_OFF * Math.abs(seen.value - border))] : [];
  return [
    ...miss(rims.first, expected.first, Math.min(...places)),
    ...miss(rims.last, expected.last, Math.max(...places)),
  ];
}

/** Counted less expected shares of a cut, as logarithms over their error. */
function missed(curves: OutletCurves, count: EdgeCount, feed: TwinFeed): number[] {
  const bin = Math.min(curves.dense.length - 1, Math.floor(count.atMm / curves.mmPerBin));
  const all = CLASSES.reduce((sum, name) => sum + curves[name][bin]!, 0) || 1;
  const densities = {
    dense: feed.dense.densityKgPerM3,
    middling: feed.middling.densityKgPerM3,
    light: feed.light.densityKgPerM3,
  };
  return CLASSES.map((name) => {
    const { log, error } = countedShare(count, densities, name);
    return (log - Math.log(Math.max(curves[name][bin]! / all, LEAST_SHARE))) / Math.hypot(error, SHARE_OFF);
  });
}

/** Length of the outlet where middling is the most, mm: none, where a photo shows dense beside light. */
function leadOfMiddling({ dense, middling, light, mmPerBin }: OutletCurves): number {
  const lead = middling.map((mass, bin) => Math.max(0, 1 - Math.max(dense[bin]!, light[bin]!) / (mass + 1e-12)));
  return mmPerBin * lead.reduce((sum, share) => sum + Math.min(1, 4 * share), 0); // soft, so that the fit finds a way
}

const limited = (name: Fitted, value: number) => Math.min(Math.max(value, LIMITS[name][0]), LIMITS[name][1]);
const dot = (a: readonly number[], b: readonly number[]) => a.reduce((sum, value, i) => sum + value * b[i]!, 0);
