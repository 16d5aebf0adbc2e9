import { type ByClass, CLASSES, type Class } from "./outlet-curves.ts";

/** Grains counted under a lens in a narrow cut taken where product leaves, outlet mm. */
export interface EdgeCount {
  readonly atMm: number;
  readonly grains: ByClass;
}

/** Least share of a class that a model is held to, so that a count can raise what it leaves out. */
export const LEAST_SHARE = 0.002;
/** Error of a count's logarithm beyond its scatter, grains being of unlike size; share of grains named wrongly, and how far that itself is off, as a share (judgement). */
const UNLIKE = 0.1;
const NAMED_WRONG = 0.05;
const WRONG_OFF = 0.5;

/**
 * The logarithm of a class's share by weight in a cut, with its error. Grains are taken for those next in density, now and
 * then: what is so expected of the neighbours is taken off, since it is most of a rare one. Half a grain is added to each class
 * (Krichevsky & Trofimov, 1981, from memory), so that none found is not none there.
 *
 * @param densities  kg/m³; grains are taken as equally large: count a narrow range of sizes.
 */
export function countedShare({ grains }: EdgeCount, densities: ByClass, name: Class) {
  const wrong = (one: Class) => NAMED_WRONG * (one === "middling" ? grains.dense + grains.light : grains.middling / 2);
  const own = (one: Class) => Math.max(0, grains[one] - wrong(one)) + 0.5;
  const all = CLASSES.reduce((sum, one) => sum + own(one) * densities[one], 0);
  const scatter = Math.sqrt(grains[name] + 0.5) / own(name);
  return {
    log: Math.log((own(name) * densities[name]) / all),
    error: Math.hypot(scatter, UNLIKE, (WRONG_OFF * wrong(name)) / own(name)),
  };
}
