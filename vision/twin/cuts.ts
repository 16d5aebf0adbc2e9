import { ProcessError, within } from "../process/range.ts";
import {
  type ByClass,
  CLASSES,
  carriedShares,
  launderMasses,
  massBefore,
  type OutletCurves,
  purityOf,
} from "./outlet-curves.ts";

/** One splitter: where it stands and where it may stand, outlet mm. */
export interface CutPlace {
  readonly atMm: number;
  readonly minMm: number;
  readonly maxMm: number;
  /** Places on whole multiples of this; 1 mm when left out. */
  readonly stepMm?: number;
  /** The only places it fits, when it hangs at fixed ports. */
  readonly portsMm?: readonly number[];
  readonly movable: boolean;
}

/**
 * `purity`: most dense in the first launder with at least this share of it dense. `recovery`: the purest first launder
 * with at least this share of all dense. `value`: most money, for each launder the worth of a tonne of each class in it
 * (below 0: a penalty, or the cost of grinding and running it again).
 */
export type CutAim =
  | { readonly kind: "purity" | "recovery"; readonly least: number }
  | { readonly kind: "value"; readonly perTonne: readonly ByClass[] };

export interface CutAdvice {
  readonly cutsMm: readonly number[];
  /** Share of each class each launder takes with the splitters as they stand, and as advised. */
  readonly carriedNow: readonly ByClass[];
  readonly carriedThen: readonly ByClass[];
}

/** Every place a splitter can stand, in order; its own alone when it cannot move. */
export function placesOf({ atMm, minMm, maxMm, stepMm = 1, portsMm, movable }: CutPlace): readonly number[] {
  if (!movable) return [atMm];
  within("Step of the splitter, mm", stepMm, 0.1, 1000);
  if (portsMm) return [...portsMm].filter((mm) => mm >= minMm && mm <= maxMm).sort((a, b) => a - b);
  const first = Math.ceil(minMm / stepMm - 1e-9);
  const last = Math.floor(maxMm / stepMm + 1e-9);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, i) => (first + i) * stepMm);
}

/**
 * Where the splitters serve an aim best; among equals the place nearest to now, so that nothing moves for nothing.
 *
 * Give curves that are smeared by the stroke and by the doubt of the edges (`smeared`): then a floor holds on average.
 *
 * @param splitters  In outlet order, one to five. For a floor the first moves and the others stay.
 * @returns null when no allowed place meets the floor.
 * @throws {ProcessError} `out-of-range` for 0 or more than five splitters, a floor beyond 0 to 1, or prices that do not
 *         name each launder.
 */
export function bestCuts(curves: OutletCurves, splitters: readonly CutPlace[], aim: CutAim): CutAdvice | null {
  within("Number of splitters", splitters.length, 1, 5);
  const now = splitters.map(({ atMm }) => atMm);
  const cutsMm = aim.kind === "value" ? richest(curves, splitters, aim.perTonne) : floored(curves, splitters, aim);
  return cutsMm && { cutsMm, carriedNow: carriedShares(curves, now), carriedThen: carriedShares(curves, cutsMm) };
}

function floored(curves: OutletCurves, splitters: readonly CutPlace[], aim: Exclude<CutAim, { kind: "value" }>) {
  within("Floor, share", aim.least, 0, 1);
  const [first, ...others] = splitters as [CutPlace, ...CutPlace[]];
  const end = others[0]?.atMm ?? curves.dense.length * curves.mmPerBin;
  let best: { mm: number; worth: number } | null = null;
  for (const mm of placesOf(first)) {
    if (mm > end) continue;
    const result = firstLaunder(curves, mm);
    const [asked, worth] = aim.kind === "purity" ? [result.purity, result.recovery] : [result.recovery, result.purity];
    if (asked === null || worth === null || asked < aim.least - 1e-9) continue;
    const nearer = best !== null && Math.abs(mm - first.atMm) < Math.abs(best.mm - first.atMm);
    if (best === null || worth > best.worth + 1e-9 || (nearer && worth > best.worth - 1e-9)) best = { mm, worth };
  }
  return best && [best.mm, ...others.map(({ atMm }) => atMm)];
}

/** Purity and recovery of dense in the first launder for a cut; null where there is nothing to divide. */
export function firstLaunder(curves: OutletCurves, cutMm: number) {
  const [mass] = launderMasses(curves, [cutMm]);
  const all = curves.dense.reduce((sum, bin) => sum + bin, 0);
  return { purity: purityOf(mass!), recovery: all > 0 ? mass!.dense / all : null };
}

/**
 * Most money over all places in order. Each launder's worth depends on its two ends alone, so the best of the first k
 * cuts grows from the best of k − 1 (Bellman, 1957, Dynamic Programming: the principle of optimality, from memory).
 */
function richest(curves: OutletCurves, splitters: readonly CutPlace[], perTonne: readonly ByClass[]): number[] {
  if (perTonne.length !== splitters.length + 1) {
    throw new ProcessError("out-of-range", `Give a worth for each of the ${splitters.length + 1} launders.`);
  }
  const before = CLASSES.map((name) => [name, massBefore(curves, curves[name])] as const);
  const worth = (launder: number, mm: number) =>
    before.reduce((sum, [name, mass]) => sum + perTonne[launder]![name] * mass(mm), 0);
  const small = 1e-9 * (1 + Math.abs(worth(0, Number.MAX_VALUE)));
  // chain: the best cuts that end at a place, and what all launders before that place are worth
  interface Chain {
    readonly cuts: readonly number[];
    readonly worth: number;
    readonly moved: number;
  }
  const better = (a: Chain, b: Chain | null) =>
    b === null || a.worth > b.worth + small || (a.worth > b.worth - small && a.moved < b.moved);
  let chains: Chain[] = [{ cuts: [0], worth: 0, moved: 0 }];
  for (const [i, splitter] of splitters.entries()) {
    const next: Chain[] = [];
    let best: Chain | null = null; // of the chains that end at or before this place, less what launder i had before
    let seen = 0;
    for (const mm of placesOf(splitter)) {
      while (seen < chains.length && chains[seen]!.cuts.at(-1)! <= mm) {
        const chain = chains[seen++]!;
        const start = { ...chain, worth: chain.worth - worth(i, chain.cuts.at(-1)!) };
        if (better(start, best)) best = start;
      }
      if (best === null) continue;
      const moved = best.moved + Math.abs(mm - splitter.atMm);
      next.push({ cuts: [...best.cuts, mm], worth: best.worth + worth(i, mm), moved });
    }
    chains = next;
  }
  const end = curves.dense.length * curves.mmPerBin;
  let best: Chain | null = null;
  for (const chain of chains) {
    const last = worth(splitters.length, end) - worth(splitters.length, chain.cuts.at(-1)!);
    const whole = { ...chain, worth: chain.worth + last };
    if (better(whole, best)) best = whole;
  }
  if (best === null) throw new ProcessError("out-of-range", "The splitters' limits leave them no place in order.");
  return [...best.cuts.slice(1)];
}

/**
 * Chance that a cut meets a floor when all edges may lie off by a common normal error, 0 to 1.
 *
 * @param errorMm  One standard error of the edges beside the cut, mm.
 */
export function chanceOfFloor(
  curves: OutletCurves,
  cutMm: number,
  aim: { readonly kind: "purity" | "recovery"; readonly least: number },
  errorMm: number,
): number {
  within("Error of the edges, mm", errorMm, 0, 10_000);
  const steps = errorMm === 0 ? [0] : Array.from({ length: 81 }, (_, i) => (i - 40) / 10);
  let met = 0;
  let all = 0;
  for (const z of steps) {
    const weight = Math.exp(-(z ** 2) / 2);
    const found = firstLaunder(curves, cutMm + z * errorMm)[aim.kind];
    all += weight;
    if (found !== null && found >= aim.least - 1e-9) met += weight;
  }
  return met / all;
}
