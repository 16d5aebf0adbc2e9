import { CELL_MM, type Grid, isInside } from "./deck-shape.ts";
import type { Point } from "./scenario.ts";

/** What the picture shows, by the contract's definition of a class: on the deck's grid, and along the outlet. */
export const CLASS = { unseen: 0, bare: 1, dense: 2, middling: 3, light: 4, dry: 5 } as const;
export const CLASS_NAMES = ["unseen", "bare", "dense", "middling", "light", "dry"] as const;

export interface OutletEdge {
  between: [string, string];
  atMm: number;
}

/** Class of each cell from what was drawn, averaged over a 20 mm disc. */
export function truthOf(
  columns: number,
  rows: number,
  outline: Point[],
  drawn: Float32Array[],
  count: Float32Array,
  dryness: Grid,
): Uint8Array {
  const radius = 10 / CELL_MM;
  const disc: Point[] = [];
  for (let dj = -radius; dj <= radius; dj++)
    for (let di = -radius; di <= radius; di++) if (di * di + dj * dj <= radius * radius) disc.push([di, dj]);
  const inside = new Uint8Array(columns * rows);
  for (let n = 0; n < inside.length; n++)
    inside[n] = isInside([((n % columns) + 0.5) * CELL_MM, (Math.floor(n / columns) + 0.5) * CELL_MM], outline) ? 1 : 0;
  const truth = new Uint8Array(columns * rows);
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++) {
      const n = j * columns + i;
      if (!inside[n]) continue;
      if (dryness.values[n]! > 0.5) {
        truth[n] = CLASS.dry;
        continue;
      }
      let seen = 0,
        d = 0,
        m = 0,
        l = 0;
      for (const [di, dj] of disc) {
        const ii = i + di,
          jj = j + dj;
        if (ii < 0 || jj < 0 || ii >= columns || jj >= rows) continue;
        const k = jj * columns + ii;
        if (!inside[k]) continue;
        seen += count[k]!;
        d += drawn[0]![k]!;
        m += drawn[1]![k]!;
        l += drawn[2]![k]!;
      }
      truth[n] = classOf(d / seen, m / seen, l / seen);
    }
  return truth;
}
function classOf(dense: number, middling: number, light: number): number {
  if (dense + middling + light < 1 / 3) return CLASS.bare;
  return dense >= middling && dense >= light ? CLASS.dense : middling >= light ? CLASS.middling : CLASS.light;
}

/** `read` of each place, averaged over the 20 mm inside the outlet path, for each mm of it. */
function outletProfile(path: Point[], outline: Point[], read: (x: number, y: number) => number[]): number[][] {
  const profile: number[][] = [];
  for (let leg = 0; leg + 1 < path.length; leg++) {
    const [x1, y1] = path[leg]!;
    const [x2, y2] = path[leg + 1]!;
    const length = Math.hypot(x2 - x1, y2 - y1);
    const along: Point = [(x2 - x1) / length, (y2 - y1) / length];
    let inward: Point = [-along[1], along[0]];
    if (!isInside([(x1 + x2) / 2 + inward[0], (y1 + y2) / 2 + inward[1]], outline)) inward = [-inward[0], -inward[1]];
    for (let t = 0.5; t < length; t++) {
      const sums: number[] = [];
      for (let depth = 1; depth < 20; depth += 2) {
        read(x1 + along[0] * t + inward[0] * depth, y1 + along[1] * t + inward[1] * depth).forEach((v, k) => {
          sums[k] = (sums[k] ?? 0) + v / 10;
        });
      }
      profile.push(sums);
    }
  }
  return profile;
}

/** Where the class changes; runs shorter than 12 mm are ripples of an edge, not bands, and join the run before. */
function edgesOf(classes: number[]): OutletEdge[] {
  const runs: { class: number; from: number }[] = [];
  for (let t = 0; t < classes.length; ) {
    let end = t;
    while (end < classes.length && classes[end] === classes[t]) end++;
    if (runs.length === 0 || (end - t >= 12 && runs.at(-1)!.class !== classes[t]))
      runs.push({ class: classes[t]!, from: t });
    t = end;
  }
  return runs
    .slice(1)
    .map((run, r) => ({ between: [CLASS_NAMES[runs[r]!.class]!, CLASS_NAMES[run.class]!], atMm: run.from }));
}

/** True edges from the continuous cover fields, before single grains are drawn. */
export function edgesOfFields(path: Point[], outline: Point[], covers: Grid[], dryness: Grid): OutletEdge[] {
  const profile = outletProfile(path, outline, (x, y) => [
    ...covers.map((c) => c.at(x, y)),
    dryness.at(x, y) > 0.5 ? 1 : 0,
  ]);
  return edgesOf(profile.map(([d, m, l, dry]) => (dry! > 0.5 ? CLASS.dry : classOf(d!, m!, l!))));
}

/** Edges as they were drawn: the commonest class in the truth within 15 mm either way along the outlet. */
export function edgesOfTruth(
  truth: Uint8Array,
  columns: number,
  rows: number,
  path: Point[],
  outline: Point[],
): OutletEdge[] {
  const profile = outletProfile(path, outline, (x, y) => {
    const i = Math.min(columns - 1, Math.floor(x / CELL_MM));
    const id = truth[Math.min(rows - 1, Math.floor(y / CELL_MM)) * columns + i];
    return CLASS_NAMES.map((_, k) => (k === id && k !== CLASS.unseen ? 1 : 0));
  });
  return edgesOf(
    profile.map((_, t) => {
      const near = profile.slice(Math.max(0, t - 15), t + 16);
      const sums = CLASS_NAMES.map((_, k) => near.reduce((sum, shares) => sum + shares[k]!, 0));
      return sums.indexOf(Math.max(...sums));
    }),
  );
}
