import type { Pair } from "../geometry.ts";
import { invert, project, squareTo } from "../homography.ts";
import { bend } from "../lens-bulge.ts";
import type { FirstLook } from "../model/first-look.ts";
import type { Deck, Photo, View } from "../stages.ts";
import { mainCorners, meetPoints } from "./outline.ts";
import { strangeness } from "./outline-cues.ts";

/** Each side is looked at in so many parts, its ends left out, with so many places in each. */
const PARTS = 8;
const ENDS = 0.08;
const PLACES = 16;
/** Rims are sought this far in, as a share of the deck's width, in steps of mm; what reaches farther is no rim. */
const DEEPEST = 0.09;
const STEP_MM = 2;
/** A part with more than this chance of no deck is rim. */
const RIM = 0.5;
/** Most parts of a rim end this near each other, mm; and what hangs before the high side is a rim only where that makes the deck's shape likelier by so much. */
const EVEN_MM = 4;
const SURE = 0.5;
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
  const sides = main.map((corner, k) => sideWithin(corner, main[(k + 1) % 4]!, deck, look));
  const toPhoto = invert(view.photoToDeck);
  const cornersOf = (some: readonly Side[]) =>
    main.map((_, k) => {
      const [before, after] = [some[(k + 3) % 4]!, some[k]!];
      return bend(photo, view.lens, project(toPhoto, meetPoints(before.from, before.to, after.from, after.to)));
    });
  // before the high side hang wash pipe and feed box, and look no other than a rim: there the deck's shape decides
  const [high, ...others] = sides as [Side, ...Side[]];
  const asItWas = [{ from: main[0]!, to: main[1]!, moved: false }, ...others];
  if (high.moved && high.even && deck.scale === "deck file") {
    const fromMain = invert(squareTo(main));
    const [within, without] = [cornersOf(sides), cornersOf(asItWas)];
    if (strangeness(photo, within, fromMain, deck) < strangeness(photo, without, fromMain, deck) - SURE) return within;
  }
  return others.some(({ moved }) => moved) ? cornersOf(asItWas) : null;
}

interface Side {
  readonly from: Pair;
  readonly to: Pair;
  readonly moved: boolean;
  /** Most parts of it end near the same depth. */
  readonly even?: boolean;
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
  const depth = middle(ends.map(([, deep]) => deep));
  if (ends.length < FEWEST || depth < STEP_MM) return still;
  // the line through the middle of all ends, at the middle slope of all pairs (Theil-Sen: Sen (1968), J. Am. Stat. Assoc. 63, 1379-1389)
  const slope = middle(ends.flatMap(([x, y], i) => ends.slice(i + 1).map(([u, v]) => (v - y) / (u - x))));
  const level = middle(ends.map(([x, y]) => y - slope * x));
  const at = (along: number) => place(along, Math.max(0, level + slope * along));
  const even = ends.filter(([, deep]) => Math.abs(deep - depth) <= EVEN_MM).length > PARTS / 2;
  return { from: at(0), to: at(1), moved: true, even };
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
