import { type Criterion, concentrationCriterion } from "./concentration-criterion.ts";
import { ProcessError, within } from "./range.ts";
import { equalSettlingSize } from "./settling.ts";
import { waterAt } from "./water.ts";

/** One material of a feed. Sizes in µm, from the finest to the coarsest grain that matters. */
export interface Constituent {
  readonly name: string;
  readonly densityKgPerM3: number;
  readonly sizeUm: readonly [from: number, to: number];
}

export type Verdict = "yes" | "with care" | "no";

export interface Difficulty {
  readonly kind: "floats" | "alike" | "too-fine" | "too-coarse" | "near-water" | "wide-sizes" | "close-densities";
  readonly say: string;
  readonly source: string;
}

/** Two materials that follow each other in density. */
export interface Pairing {
  readonly dense: string;
  readonly light: string;
  readonly criterion: Criterion;
  readonly verdict: Verdict;
  /** Sizes in which both are within the reach of the method, µm; null when none are. */
  readonly workableUm: readonly [number, number] | null;
  /** Coarsest light grain over the finest dense one that a single feed should hold; null when it cannot be said. */
  readonly sizeRatioLimit: number | null;
  readonly difficulties: readonly Difficulty[];
}

/** Finest sand a full-size table treats well, µm; slimes decks go to about 15. */
const FINEST_UM = 15;
const COARSEST_UM = 3000;
const COARSEST_LIGHT_UM = 15_000;
const SIZES_SOURCE = "Burt, 1984; Wills: 3 mm to 0.1 mm sands, slimes to 15-20 µm, coal to 15 mm (from memory)";
const CRITERION_SOURCE = "Taggart, 1945: concentration criterion and its size limits (from memory)";
/** Densest light material that still counts as coal-like for its top size, kg/m³ (common practice). */
const COAL_LIKE_KG_PER_M3 = 1800;

/**
 * Whether a table can part these materials, in which sizes, and what will be hard: each material against the next lighter
 * one. A sorting of cases from published limits, no promise; a trial on a small deck decides.
 *
 * @param temperatureC  Water, for the settling of the size limit.
 * @returns Pairs, densest first. `sizeRatioLimit` comes from equal settling of spheres.
 * @throws {ProcessError} `too-few-readings` below two materials; `out-of-range` for densities or sizes.
 */
export function canBeTabled(feed: readonly Constituent[], temperatureC = 20): readonly Pairing[] {
  if (feed.length < 2) throw new ProcessError("too-few-readings", "Name two materials or more.");
  for (const { name, densityKgPerM3, sizeUm } of feed) {
    within(`Density of ${name}, kg/m³`, densityKgPerM3, 100, 25_000);
    within(`Finest ${name}, µm`, sizeUm[0], 0.1, sizeUm[1]);
    within(`Coarsest ${name}, µm`, sizeUm[1], sizeUm[0], 50_000);
  }
  const order = [...feed].sort((a, b) => b.densityKgPerM3 - a.densityKgPerM3);
  return order.slice(1).map((light, i) => pair(order[i]!, light, temperatureC));
}

function pair(dense: Constituent, light: Constituent, temperatureC: number): Pairing {
  const water = waterAt(temperatureC);
  const criterion = concentrationCriterion(dense.densityKgPerM3, light.densityKgPerM3, 1000);
  const names = { dense: dense.name, light: light.name, criterion };
  if (criterion.ease === "floats") {
    const say = `${light.name} floats on water: part it by floating and sinking first, not on a table.`;
    const difficulties = [{ kind: "floats", say, source: "Archimedes" }] as const;
    return { ...names, verdict: "no", workableUm: null, sizeRatioLimit: null, difficulties };
  }
  const top = light.densityKgPerM3 < COAL_LIKE_KG_PER_M3 ? COARSEST_LIGHT_UM : COARSEST_UM;
  const least = Math.max(criterion.downToUm ?? Number.POSITIVE_INFINITY, FINEST_UM);
  const from = Math.max(least, Math.min(dense.sizeUm[0], light.sizeUm[0]));
  const to = Math.min(top, Math.max(dense.sizeUm[1], light.sizeUm[1]));
  const workableUm = from < to ? ([from, to] as const) : null;
  const finest = Math.max(dense.sizeUm[0], FINEST_UM);
  const partner = equalSettlingSize(finest, dense.densityKgPerM3, light.densityKgPerM3, water);
  const sizeRatioLimit = partner === null ? null : partner / finest;
  const difficulties = difficultiesOf(dense, light, criterion, least, top, sizeRatioLimit);
  return {
    ...names,
    verdict: verdictOf(criterion, workableUm, difficulties),
    workableUm,
    sizeRatioLimit,
    difficulties,
  };
}

function verdictOf({ downToUm }: Criterion, workable: unknown, difficulties: readonly Difficulty[]): Verdict {
  if (downToUm === null || workable === null) return "no";
  return difficulties.length > 0 ? "with care" : "yes";
}

function difficultiesOf(
  dense: Constituent,
  light: Constituent,
  { ease, value }: Criterion,
  leastUm: number,
  topUm: number,
  ratio: number | null,
): Difficulty[] {
  const found: Difficulty[] = [];
  const both = [dense, light];
  const note = (kind: Difficulty["kind"], say: string, source: string) => found.push({ kind, say, source });
  const shown = value?.toFixed(2);
  if (ease === "not practicable") {
    note("alike", `${dense.name} and ${light.name} are too alike for water (criterion ${shown}).`, CRITERION_SOURCE);
    return found;
  }
  if (ease === "difficult" || ease === "very difficult") {
    note("close-densities", `Densities are close (criterion ${shown}): ${ease}, and only coarse.`, CRITERION_SOURCE);
  }
  const fine = both.filter(({ sizeUm }) => sizeUm[0] < leastUm).map(({ name }) => name);
  if (fine.length > 0) {
    note("too-fine", `${fine.join(" and ")} finer than ${leastUm} µm will be lost or mixed.`, CRITERION_SOURCE);
  }
  const coarse = both.filter(({ sizeUm }) => sizeUm[1] > topUm).map(({ name }) => name);
  if (coarse.length > 0) {
    note("too-coarse", `${coarse.join(" and ")} coarser than ${topUm / 1000} mm roll: screen them out.`, SIZES_SOURCE);
  }
  if (light.densityKgPerM3 < 1100) {
    const source = "Carvalho, Agante & Durão, 2007, abstract: plastics near water's density took several stages";
    note("near-water", `${light.name} is nearly as light as water: the criterion promises too much.`, source);
  }
  if (ratio !== null && light.sizeUm[1] / Math.max(dense.sizeUm[0], FINEST_UM) > ratio) {
    const say = `Coarse ${light.name} will lie with fine ${dense.name}: feed size ranges apart, within ${ratio.toFixed(1)} to 1.`;
    note("wide-sizes", say, "Wills: equal settling; a middling of coarse light and fine dense grains (from memory)");
  }
  return found;
}
