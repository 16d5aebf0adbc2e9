import type { Product } from "../contract/index.ts";
import { paidPerTonne, type Terms } from "./buyer.ts";

/** Money of what a launder takes, and the places of splitters that bring most. */

export type MiddlingWay = "rerun" | "regrind" | "discard";

/** What things bring and cost; shares 0 to 1. Costs that nobody told are null: that way is then no choice. */
export interface Pricing {
  readonly terms: Terms;
  readonly metal: string;
  /** What a tonne of metal brings that is won from the middling into the dense product, all charges off. */
  readonly perMetal: number;
  readonly rerun: number | null;
  readonly regrind: number | null;
  readonly discard: number;
  readonly freeWon: number;
  readonly freeWonAfterGrinding: number;
  readonly lockedWonAfterGrinding: number;
  /** Of the metal that middling and light grains hold, the share that is locked; what the dense grains hold is free. */
  readonly locked: number;
}

/** What a launder takes, in tonnes of feed or any one unit: its mass, each assay in it, and the metal in dense grains. */
export interface Load {
  readonly mass: number;
  readonly assays: Readonly<Record<string, number>>;
  readonly freeMetal: number;
}

/** What a launder brings, in money for that much, and what is best done with it where it is middling. */
export function bringOf(product: Product, load: Load, pricing: Pricing): { money: number; way: MiddlingWay | null } {
  const { mass, assays } = load;
  if (mass <= 0) return { money: 0, way: product === "middling" ? "discard" : null };
  if (product === "light") return { money: -pricing.discard * mass, way: null };
  if (product === "dense") {
    const percent = (name: string) => Math.min(100, (100 * (assays[name] ?? 0)) / mass);
    const others = Object.fromEntries(pricing.terms.penalties.map(({ assay }) => [assay, percent(assay)]));
    return { money: mass * paidPerTonne(pricing.terms, percent(pricing.metal), others), way: null };
  }
  const worth = middlingWorth(load, pricing);
  return worth.reduce((best, one) => (one.money > best.money ? one : best));
}

/** What each way with a middling brings that has a cost; discarding is always one. */
function middlingWorth({ mass, assays, freeMetal }: Load, pricing: Pricing): { money: number; way: MiddlingWay }[] {
  const { perMetal, rerun, regrind, discard, freeWon, freeWonAfterGrinding, lockedWonAfterGrinding } = pricing;
  const locked = pricing.locked * Math.max(0, (assays[pricing.metal] ?? 0) - freeMetal);
  const free = (assays[pricing.metal] ?? 0) - locked;
  const ground = free * freeWonAfterGrinding + locked * lockedWonAfterGrinding;
  return [
    { way: "discard", money: -discard * mass },
    ...(rerun === null ? [] : [{ way: "rerun" as const, money: perMetal * free * freeWon - rerun * mass }]),
    ...(rerun === null || regrind === null
      ? []
      : [{ way: "regrind" as const, money: perMetal * ground - (regrind + rerun) * mass }]),
  ];
}

/**
 * The places, one a splitter, that bring most; among equals those nearest to now.
 *
 * @param places  Each splitter's, in order along the outlet.
 * @param worth  Of a launder from one place to another.
 * @returns null where the splitters have no places in order.
 *
 * Method: a launder's worth depends on its two ends alone, so the best of the first k grows from the best of k − 1
 * (Bellman, 1957, Dynamic Programming: the principle of optimality, from memory).
 */
export function bestPlaces(
  places: readonly (readonly number[])[],
  nowMm: readonly number[],
  endMm: number,
  worth: (launder: number, fromMm: number, toMm: number) => number,
): number[] | null {
  interface Chain {
    readonly cuts: readonly number[];
    readonly money: number;
    readonly moved: number;
  }
  const better = (a: Chain, b: Chain | null) => {
    if (b === null) return true;
    const small = 1e-9 * (1 + Math.abs(b.money));
    return a.money > b.money + small || (a.money > b.money - small && a.moved < b.moved);
  };
  let chains: Chain[] = [{ cuts: [], money: 0, moved: 0 }];
  for (const [i, own] of [...places, [endMm]].entries()) {
    const next: Chain[] = [];
    for (const mm of own) {
      let best: Chain | null = null;
      for (const { cuts, money, moved } of chains) {
        const from = cuts.at(-1) ?? 0;
        if (from > mm) continue;
        const far = i < nowMm.length ? Math.abs(mm - nowMm[i]!) : 0;
        const chain = { cuts: [...cuts, mm], money: money + worth(i, from, mm), moved: moved + far };
        if (better(chain, best)) best = chain;
      }
      if (best) next.push(best);
    }
    chains = next;
  }
  return chains[0] ? chains[0].cuts.slice(0, -1) : null;
}
