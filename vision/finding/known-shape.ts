import type { Pair } from "../geometry.ts";

/** A quadrilateral stranger than this is no deck of the stated shape seen by a phone: half a sum of three squared misfits, chance below 1 %. */
const TOO_STRANGE = 6;
/** A corner is slid along its sides by up to this share of them, in steps of a hundredth. */
const FARTHEST = 0.2;
const STEP = 0.01;
/** What one unit of strangeness takes from a quadrilateral's worth, and the most it can. */
const COST = 0.03;
const MOST = 12;

/**
 * Where the corners would lie if one of them was misplaced along one of its sides, or a whole side was, as happens where the sand in a launder
 * goes on from the sand on the deck: of all such places the one that the deck's known shape and the look of its sides like best. The corners as they are
 * when their shape can be the deck's.
 *
 * @param strange  How unlikely corners are for the deck's shape (`strangeness`).
 * @param worth  How well corners fit what is seen, about 0 to 2.
 */
export function slidToShape(
  corners: readonly Pair[],
  strange: (corners: readonly Pair[]) => number,
  worth: (corners: readonly Pair[]) => number,
): readonly Pair[] {
  if (strange(corners) < TOO_STRANGE) return corners;
  let best = { corners, value: Number.NEGATIVE_INFINITY };
  const away = (k: number, from: number, t: number): Pair => {
    const [[x, y], [u, v]] = [corners[k % 4]!, corners[from % 4]!];
    return [x + t * (x - u), y + t * (y - v)];
  };
  for (let k = 0; k < 4; k++) {
    for (let t = -FARTHEST; t <= FARTHEST; t += STEP) {
      const [along, back] = [away(k, k + 1, t), away(k, k + 3, t)];
      const sideMoved = corners.with(k, back).with((k + 1) % 4, away(k + 1, k + 2, t));
      for (const tried of [corners.with(k, along), corners.with(k, back), sideMoved]) {
        const value = worth(tried) - COST * Math.min(MOST, strange(tried));
        if (value > best.value) best = { corners: tried, value };
      }
    }
  }
  return best.corners;
}
