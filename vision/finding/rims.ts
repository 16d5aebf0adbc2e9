import type { Pair } from "../geometry.ts";
import { invert, project } from "../homography.ts";
import { bend } from "../lens-bulge.ts";
import type { FirstLook } from "../model/first-look.ts";
import type { Deck, Photo, View } from "../stages.ts";
import { mainCorners, meetPoints } from "./outline.ts";

/** Each side is looked at in so many parts, its ends left out, with so many places in each. */
const PARTS = 8;
const ENDS = 0.08;
const PLACES = 16;
/** Rims are sought this far in, as a share of the deck's width, in steps of mm; what reaches farther is no rim. */
const DEEPEST = 0.09;
const STEP_MM = 2;
/** A part with more than this chance of no deck is rim. */
const RIM = 0.5;
/** Fewer parts than this that show an end of the rim tell nothing. */
const FEWEST = 4;

/**
 * The deck's four main corners in the photo when the view's outline took rims for deck: along each side the line from which
 * on inward the model sees deck. Null where it sees deck up to every side.
 *
 * @param look  The model's look at the deck laid flat by this view.
 */
export function cornersWithinRims(photo: Photo, deck: Deck, view: View, look: FirstLook): Pair[] | null {
  const main = mainCorners(deck);
  const sides = main.map((corner, k) => {
    const next = main[(k + 1) % 4]!;
    // before the high side hang wash pipe and feed box, and look no other than a rim
    return k === 0 ? { from: corner, to: next, moved: false } : sideWithin(corner, next, deck, look);
  });
  if (sides.every(({ moved }) => !moved)) return null;
  const toPhoto = invert(view.photoToDeck);
  return main.map((_, k) => {
    const [before, after] = [sides[(k + 3) % 4]!, sides[k]!];
    const met = meetPoints(before.from, before.to, after.from, after.to);
    return bend(photo, view.lens, project(toPhoto, met));
  });
}

interface Side {
  readonly from: Pair;
  readonly to: Pair;
  readonly moved: boolean;
}

function sideWithin(from: Pair, to: Pair, deck: Deck, look: FirstLook): Side {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const [ux, uy] = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
  // the outline runs clockwise in deck coordinates: the deck lies to the right of the way
  const place = (along: number, deep: number): Pair => [
    from[0] + ux * along * length - uy * deep,
    from[1] + uy * along * length + ux * deep,
  ];
  const deepest = DEEPEST * deck.widthMm;
  const part = (1 - 2 * ENDS) / PARTS;
  const ends: Pair[] = [];
  for (let k = 0; k < PARTS; k++) {
    const start = ENDS + k * part;
    let deep = 0;
    while (deep < deepest) {
      let sum = 0;
      for (let n = 0; n < PLACES; n++)
        sum += noDeckAt(look, deck, place(start + ((n + 0.5) / PLACES) * part, deep + STEP_MM / 2));
      if (sum < RIM * PLACES) break;
      deep += STEP_MM;
    }
    if (deep < deepest) ends.push([start + part / 2, deep]);
  }
  const still = { from, to, moved: false };
  if (ends.length < FEWEST || middle(ends.map(([, deep]) => deep)) < STEP_MM) return still;
  // the line through the middle of all ends, at the middle slope of all pairs (Theil-Sen: Sen (1968), J. Am. Stat. Assoc. 63, 1379-1389)
  const slope = middle(ends.flatMap(([x, y], i) => ends.slice(i + 1).map(([u, v]) => (v - y) / (u - x))));
  const level = middle(ends.map(([x, y]) => y - slope * x));
  const at = (along: number) => place(along, Math.max(0, level + slope * along));
  return { from: at(0), to: at(1), moved: true };
}

/** The model's chance that no deck shows at a place of the deck, mm. */
function noDeckAt({ rows, columns, planes }: FirstLook, deck: Deck, [x, y]: Pair): number {
  const column = Math.min(columns - 1, Math.max(0, Math.floor((x / deck.lengthMm) * columns)));
  const row = Math.min(rows - 1, Math.max(0, Math.floor((y / deck.widthMm) * rows)));
  return planes[(5 * rows + row) * columns + column]!;
}

function middle(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2;
}
