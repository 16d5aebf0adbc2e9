/** Places along a deck's outlet, mm. Pure. */

type Pair = readonly [x: number, y: number];
export interface OutletPlace {
  readonly at: Pair;
  /** Unit vector off the deck. */
  readonly off: Pair;
}

/** @param path  The outlet path, deck mm. @param middle  A place on the deck, mm: off the deck is away from it. */
export function outletLine(path: readonly Pair[], middle: Pair) {
  let sum = 0;
  const parts = path.slice(1).map((to, i) => {
    const from = path[i]!;
    const lengthMm = Math.hypot(to[0] - from[0], to[1] - from[1]);
    const along: Pair = [(to[0] - from[0]) / lengthMm, (to[1] - from[1]) / lengthMm];
    const side = (middle[0] - from[0]) * along[1] - (middle[1] - from[1]) * along[0] > 0 ? -1 : 1;
    const part = { from, along, off: [along[1] * side, -along[0] * side] as Pair, startMm: sum, lengthMm };
    sum += lengthMm;
    return part;
  });
  const lengthMm = sum;

  /** Where this outlet mm is; beyond an end, that end. */
  const place = (mm: number): OutletPlace => {
    const part = parts.find((p) => mm <= p.startMm + p.lengthMm) ?? parts.at(-1)!;
    const t = Math.max(0, Math.min(part.lengthMm, mm - part.startMm));
    return { at: [part.from[0] + part.along[0] * t, part.from[1] + part.along[1] * t], off: part.off };
  };
  /** The outlet mm nearest to a place, deck mm. */
  const nearest = ([x, y]: Pair): number => {
    let [best, away] = [0, Number.POSITIVE_INFINITY];
    for (const { from, along, startMm, lengthMm: length } of parts) {
      const t = Math.max(0, Math.min(length, (x - from[0]) * along[0] + (y - from[1]) * along[1]));
      const d = Math.hypot(from[0] + along[0] * t - x, from[1] + along[1] * t - y);
      if (d < away) [best, away] = [startMm + t, d];
    }
    return best;
  };
  return { lengthMm, place, nearest };
}
