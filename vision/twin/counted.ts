import { type ByClass, CLASSES, type Class } from "./outlet-curves.ts";

/** Grains counted under a lens in a narrow cut taken where product leaves, outlet mm. */
export interface EdgeCount {
  readonly atMm: number;
  readonly grains: ByClass;
}

/** Least share of a class that a model is held to, so that a count can raise what it leaves out. */
export const LEAST_SHARE = 0.002;
/** Error of a count's logarithm beyond its scatter, grains being of unlike size; share of grains named wrongly (judgement). */
const UNLIKE = 0.1;
const NAMED_WRONG = 0.05;

/**
 * The logarithm of a class's share by weight in a cut, with its error: the scatter of its count, and others wrongly named so,
 * which is most of a rare one. Half a grain is added to each class (Krichevsky & Trofimov, 1981, from memory), so that none
 * found is not none there.
 *
 * @param densities  kg/m³; grains are taken as equally large: count a narrow range of sizes.
 */
export function countedShare({ grains }: EdgeCount, densities: ByClass, name: Class) {
  const mass = (one: Class) => (grains[one] + 0.5) * densities[one];
  const all = CLASSES.reduce((sum, one) => sum + mass(one), 0);
  const own = grains[name] + 0.5;
  const others = CLASSES.reduce((sum, one) => sum + grains[one], 0) - grains[name];
  return { log: Math.log(mass(name) / all), error: Math.hypot(own ** -0.5, UNLIKE, (NAMED_WRONG * others) / own) };
}
