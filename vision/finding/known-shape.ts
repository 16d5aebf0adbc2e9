import type { Pair } from "../geometry.ts";

/** A quadrilateral stranger than this is no deck of the stated shape seen by a phone: half a sum of three squared misfits, chance below 1 %. */
const TOO_STRANGE = 6;
/** What is slid must be less strange than this share of what it was: else the shape is no reason. */
const LESS_STRANGE = 0.6;
/** A corner is slid along its sides by up to this share of them, in steps of a hundredth. */
const FARTHEST = 0.2;
const STEP = 0.01;
/**
 * So much worth at most may a corner cost to slide, and a whole side, which a launder's sand takes as one. What sight is surer of stays where it is,
 * however strange: a cropped photo, whose middle the lens did not look at, shows decks in shapes that no whole photo does.
 */
const MOST_LOST = { corner: 0.07, side: 0.14 };
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
  const asFound = strange(corners);
  if (asFound < TOO_STRANGE) return corners;
  const held = worth(corners);
  let best = { corners, value: held - COST * Math.min(MOST, asFound) };
  const away = (k: number, from: number, t: number): Pair => {
    const [[x, y], [u, v]] = [corners[k % 4]!, corners[from % 4]!];
    return [x + t * (x - u), y + t * (y - v)];
  };
  for (let k = 0; k < 4; k++) {
    for (let t = -FARTHEST; t <= FARTHEST; t += STEP) {
      const [along, back] = [away(k, k + 1, t), away(k, k + 3, t)];
      const sideMoved = corners.with(k, back).with((k + 1) % 4, away(k + 1, k + 2, t));
      for (const tried of [corners.with(k, along), corners.with(k, back), sideMoved]) {
        const fits = worth(tried);
        if (fits < held - (tried === sideMoved ? MOST_LOST.side : MOST_LOST.corner)) continue;
        const unlike = strange(tried);
        if (unlike > LESS_STRANGE * asFound) continue;
        const value = fits - COST * Math.min(MOST, unlike);
        if (value > best.value) best = { corners: tried, value };
      }
    }
  }
  return best.corners;
}
