import { CLASS_NAMES, type ClassName, type MarkedEdge } from "../contract/index.ts";
import { type Pair, pathLength } from "../geometry.ts";
import type { Grid } from "../stages.ts";

export interface Stretch {
  readonly class: ClassName;
  readonly fromMm: number;
  readonly toMm: number;
}
export interface Edge {
  readonly before: ClassName;
  readonly after: ClassName;
  readonly atMm: number;
}

/** How far inside the outlet path classes are counted, and the shortest stretch, mm: the reading's contract. */
const INSIDE_MM = 20;
const SHORTEST_MM = 20;
/** Solids on less than this share of what is seen: bare (or dry). */
const SOLIDS_SHARE = 1 / 3;

/**
 * What truly leaves along the outlet path: for each mm of it the class that the 20 mm inside it hold, in stretches of at
 * least 20 mm; a shorter one falls to its longer neighbour, the shortest first.
 */
export function stretchesOf(labels: ArrayLike<number>, grid: Grid, path: readonly Pair[]): Stretch[] {
  const classes: number[] = [];
  for (let i = 0; i + 1 < path.length; i++) {
    const [a, b] = [path[i]!, path[i + 1]!];
    const length = pathLength([a, b]);
    const [ux, uy] = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
    // the outline runs clockwise in deck coordinates, and the path along it: the deck lies to the right of the way
    const [inX, inY] = [-uy, ux];
    for (let mm = classes.length - pathLength(path.slice(0, i + 1)) + 0.5; mm < length; mm++) {
      const counts = [0, 0, 0, 0, 0, 0];
      for (let depth = 0.5; depth < INSIDE_MM; depth++) {
        const [x, y] = [a[0] + ux * mm + inX * depth, a[1] + uy * mm + inY * depth];
        const [column, row] = [Math.floor(x / grid.mmPerCell), Math.floor(y / grid.mmPerCell)];
        const within = column >= 0 && row >= 0 && column < grid.columns && row < grid.rows;
        counts[within ? labels[row * grid.columns + column]! : 0]!++;
      }
      classes.push(classOf(counts));
    }
  }
  const runs: { k: number; from: number; to: number }[] = [];
  classes.forEach((k, mm) => {
    const last = runs.at(-1);
    if (last?.k === k) last.to = mm + 1;
    else runs.push({ k, from: mm, to: mm + 1 });
  });
  const size = ({ from, to }: { from: number; to: number }) => to - from;
  for (;;) {
    const [short] = runs.filter((run) => size(run) < SHORTEST_MM).sort((a, b) => size(a) - size(b));
    if (!short || runs.length === 1) break;
    const at = runs.indexOf(short);
    const [left, right] = [runs[at - 1], runs[at + 1]];
    const heir = !right || (left && size(left) >= size(right)) ? left! : right;
    heir.from = Math.min(heir.from, short.from);
    heir.to = Math.max(heir.to, short.to);
    runs.splice(at, 1);
    for (let i = runs.length - 1; i > 0; i--) {
      if (runs[i]!.k !== runs[i - 1]!.k) continue;
      runs[i - 1]!.to = runs[i]!.to;
      runs.splice(i, 1);
    }
  }
  return runs.map(({ k, from, to }) => ({ class: CLASS_NAMES[k]!, fromMm: from, toMm: to }));
}

function classOf(counts: readonly number[]): number {
  const seen = counts.reduce((a, b) => a + b, 0) - counts[0]!;
  if (seen < INSIDE_MM / 2) return 0;
  const largest = (kinds: readonly number[]) => kinds.reduce((best, k) => (counts[k]! > counts[best]! ? k : best));
  const solids = counts[2]! + counts[3]! + counts[4]!;
  return solids >= SOLIDS_SHARE * seen ? largest([2, 3, 4]) : largest([1, 5]);
}

/** Where one seen class gives way to another; what borders on unseen is no edge. */
export function edgesOf(stretches: readonly Stretch[]): Edge[] {
  return stretches.slice(1).flatMap((right, i) => {
    const left = stretches[i]!;
    const touching = Math.abs(right.fromMm - left.toMm) < 1e-6;
    if (!touching || left.class === "unseen" || right.class === "unseen" || left.class === right.class) return [];
    return [{ before: left.class, after: right.class, atMm: right.fromMm }];
  });
}

const isBand = (name: ClassName): name is MarkedEdge["kind"] =>
  name === "dense" || name === "middling" || name === "light";

/** Where bands begin and end; an end of the outlet path, or of what is seen, is no edge. */
export const bandEdges = (stretches: readonly Stretch[]): MarkedEdge[] =>
  edgesOf(stretches).flatMap(({ before, after, atMm }) => [
    ...(isBand(before) ? [{ kind: before, edge: "to" as const, atMm }] : []),
    ...(isBand(after) ? [{ kind: after, edge: "from" as const, atMm }] : []),
  ]);
