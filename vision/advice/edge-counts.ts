import { solve } from "../linear-system.ts";
import { asMm, hintOf, said } from "../said.ts";
import { SOURCES } from "../sources.ts";
import { EDGE_COUNT } from "../telling/hint-order.ts";
import { countedShare, type EdgeCount, LEAST_SHARE } from "../twin/counted.ts";
import { type ByClass, CLASSES, type Class, type OutletCurves } from "../twin/outlet-curves.ts";
import { CAUTIONS, type Case, type Draft, hold, outletLength, sum } from "./case.ts";
import { sameBands, sameSet } from "./steadied.ts";

/** Grains to be counted in each cut: shares then scatter by up to 7 % (√(p (1 − p) / n)). */
const GRAINS = 50;
/** How wide a cut is, mm. */
const CUT_MM = 20;
/** Cuts are taken this far from where a splitter would serve best, mm. */
const ASIDE_MM = [-150, -50, 50, 150];
/** How far curves are off before a count, as the error of a logarithm, and over how many mm of outlet alike (judgement). */
const CURVES_OFF = 0.8;
const ALIKE_MM = 150;

/** Counts of this look and of those before it, since water, slope or feed were last set and the bands stood still. */
export function edgeCountsOf(seen: Case): EdgeCount[] {
  const counts = [...(seen.notes.settings?.edgeCounts ?? [])];
  for (const look of [...(seen.notes.earlier ?? [])].reverse()) {
    if (!sameBands(look, seen)) break;
    counts.push(...(look.settings?.edgeCounts ?? []));
  }
  return counts;
}

/**
 * Curves that heed counts: each class is raised or lowered by what the counts say of it, most where they were taken and
 * less further off.
 *
 * Method: simple kriging (Gaussian process regression, from memory) of the logarithm of counted over expected share; a
 * count's error from its scatter, half a grain added to each class.
 */
export function heeding(curves: OutletCurves, counts: readonly EdgeCount[], densities: ByClass): OutletCurves {
  if (counts.length === 0) return curves;
  const { mmPerBin } = curves;
  const at = (mm: number) => Math.min(curves.dense.length - 1, Math.max(0, Math.floor(mm / mmPerBin)));
  const alike = (a: number, b: number) => CURVES_OFF ** 2 * Math.exp(-(((a - b) / ALIKE_MM) ** 2) / 2);
  const floorAt = (bin: number) => LEAST_SHARE * sum(CLASSES.map((name) => curves[name][bin]!));
  const corrected = (name: Class) => {
    const off = counts.map((count) => {
      const bin = at(count.atMm);
      const expected = curves[name][bin]! / (sum(CLASSES.map((one) => curves[one][bin]!)) || 1);
      return countedShare(count, densities, name).log - Math.log(Math.max(expected, LEAST_SHARE));
    });
    const system = counts.map((a, i) => [
      ...counts.map((b, j) => alike(a.atMm, b.atMm) + (i === j ? countedShare(a, densities, name).error ** 2 : 0)),
      off[i]!,
    ]);
    const weights = solve(system);
    return curves[name].map((mass, bin) => {
      const mm = (bin + 0.5) * mmPerBin;
      const raised = sum(counts.map(({ atMm }, i) => weights[i]! * alike(mm, atMm)));
      return Math.max(mass, Math.abs(raised) > 0.01 ? floorAt(bin) : 0) * Math.exp(raised);
    });
  };
  return { mmPerBin, dense: corrected("dense"), middling: corrected("middling"), light: corrected("light") };
}

/** A count was taken near enough to a place to say what falls there. */
export const countedNear = (counts: readonly EdgeCount[], mm: number) =>
  counts.some(({ atMm }) => Math.abs(atMm - mm) <= ALIKE_MM / 2);

/**
 * Asks for counts where the tails of the bands decide what a splitter earns and no photo shows them: when nothing else is
 * left to change; once until something was set, once more where the counts lead elsewhere.
 *
 * @param placesMm  Where each splitter would serve best.
 */
export function askForCounts(seen: Case, placesMm: readonly number[]): Draft[] {
  const { reading, deck, notes } = seen;
  if (reading.scale !== "deck file" || !notes.aim?.perTonne || reading.deckState === "stopped") return [];
  const counts = edgeCountsOf(seen);
  const open = placesMm.filter((mm) => !countedNear(counts, mm));
  const asks = (notes.earlier ?? []).filter(
    (look) => sameSet(look.settings, notes.settings) && look.reading.advice[0]?.target === EDGE_COUNT,
  );
  if (open.length === 0 || asks.length > (counts.length > 0 ? 1 : 0)) return [];
  const wanted = open.flatMap((mm) => ASIDE_MM.map((by) => mm + by));
  const within = wanted.map((mm) => Math.round(Math.min(outletLength(deck) - 10, Math.max(10, mm))));
  const places = [...new Set(within)].toSorted((a, b) => a - b);
  const hint = hintOf({
    ...hold("inspect", EDGE_COUNT),
    because: [
      said("said.why.fewGrains"),
      said("said.why.takeCuts", { wide: asMm(CUT_MM), places: { value: places, unit: "mm" }, grains: GRAINS }),
    ],
    evidence: { cutAtMm: places, grainsEach: GRAINS },
    expect: said("said.expect.counts"),
    lookAgainMinutes: 10,
    caution: CAUTIONS.lockOut,
    basis: [SOURCES.edgeCounts, SOURCES.overlap],
    confidence: 0.7,
  });
  return [{ hint, order: "check", gain: null, strength: 1 }];
}
