import type { AimFile } from "../contract/index.ts";
import type { Deck } from "../stages.ts";
import { bestCuts, type CutAim, type CutPlace } from "../twin/cuts.ts";
import {
  type ByClass,
  CLASSES,
  carriedShares,
  launderMasses,
  type OutletCurves,
  purityOf,
} from "../twin/outlet-curves.ts";
import { outletLength, sum } from "./case.ts";

/** Money an hour, or the share that goes where it should. */
export interface Worth {
  /** Of these curves, cut here; above 0 is better. The unit is the aim's own: compare, never add. */
  of(curves: OutletCurves, cutsMm: readonly number[]): number;
  /** Cuts that serve the aim best where the splitters reach; null where no place meets a floor. */
  cuts(curves: OutletCurves): readonly number[] | null;
}

/** What is lost for each share that a floor is missed by: enough that meeting it comes first. */
const FLOOR_WEIGHT = 5;

/**
 * What the person aims for, as a number for any curves and cuts. Without an aim: each class in its own launder.
 *
 * @param leastStepMm  Places no finer than this, where many curves are compared and none is set.
 */
export function worthOf(deck: Deck, aim: AimFile | undefined, shares: ByClass, leastStepMm = 0): Worth | null {
  const splitters = deck.splitters;
  if (splitters.length === 0 || splitters.length > 5) return null;
  const outletMm = outletLength(deck);
  const places = splitters.map(
    ({ atMm, minMm = 0, maxMm = outletMm, stepMm = 5, movable }): CutPlace => ({
      atMm,
      minMm,
      maxMm: Math.min(maxMm, outletMm),
      stepMm: Math.max(stepMm, leastStepMm),
      movable: movable && deck.file.controls.splitters,
    }),
  );
  const { densePurity = 0, denseRecovery = 0, perTonne } = aim ?? {};
  if (!perTonne && densePurity + denseRecovery > 0) return floors(places, densePurity, denseRecovery);
  const prices = perTonne?.length === splitters.length + 1 ? perTonne : ownLaunder(deck, shares);
  const value: CutAim = { kind: "value", perTonne: prices };
  return {
    of: (curves, cuts) => {
      const masses = launderMasses(curves, cuts);
      const all = sum(masses.map(({ dense, middling, light }) => dense + middling + light));
      const money = sum(masses.map((mass, i) => sum(CLASSES.map((name) => prices[i]![name] * mass[name]))));
      return all > 0 ? money / all : 0;
    },
    cuts: (curves) => bestCuts(curves, places, value)?.cutsMm ?? null,
  };
}

/** Each class counts alike, however little of it is fed: 1 when all of it leaves by its own launder. */
function ownLaunder({ launders, splitters }: Deck, shares: ByClass): ByClass[] {
  const fed = CLASSES.filter((name) => shares[name] > 0);
  return Array.from({ length: splitters.length + 1 }, (_, i) => {
    const product = launders[i]?.product ?? (splitters[i]?.between[0] || splitters[i - 1]!.between[1]);
    const worth = (name: (typeof CLASSES)[number]) =>
      name === product && shares[name] > 0 ? 1 / (shares[name] * fed.length) : 0;
    return { dense: worth("dense"), middling: worth("middling"), light: worth("light") };
  });
}

function floors(places: readonly CutPlace[], purity: number, recovery: number): Worth {
  const first = (curves: OutletCurves, cuts: readonly number[]) => ({
    purity: purityOf(launderMasses(curves, cuts)[0]!) ?? 0,
    recovery: carriedShares(curves, cuts)[0]!.dense,
  });
  return {
    of: (curves, cuts) => {
      const got = first(curves, cuts);
      const missed = Math.max(0, purity - got.purity) + Math.max(0, recovery - got.recovery);
      return (purity > 0 ? got.recovery : got.purity) - FLOOR_WEIGHT * missed;
    },
    cuts: (curves) => {
      const aim: CutAim = purity > 0 ? { kind: "purity", least: purity } : { kind: "recovery", least: recovery };
      const cuts = bestCuts(curves, places, aim)?.cutsMm ?? null;
      return cuts && first(curves, cuts).recovery >= recovery - 1e-9 ? cuts : null;
    },
  };
}
