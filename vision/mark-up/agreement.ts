import { type Agreement, CLASS_NAMES, type MarkedEdge } from "../contract/index.ts";
import type { Grid } from "../stages.ts";

/** How far two accounts of one deck agree: a reading and a mark-up, or the mark-ups of two people. */

/** What each cell of a grid is said to show, class numbers 0 to 5, `rows × columns`. */
export interface Marked {
  readonly grid: Grid;
  readonly labels: Uint8Array;
}
export type Overlap = NonNullable<Agreement["overlap"]>;
export type EdgeAgreement = Agreement["edges"];

/**
 * Overlap by class over the cells that both know (neither calls them unseen); it is the same either way round.
 *
 * Grids may differ in cell size, not in the deck they lie on: each cell of `a` looks up the cell of `b` at its middle.
 */
export function classOverlap(a: Marked, b: Marked): Overlap {
  const same = new Float64Array(6);
  const [ofA, ofB] = [new Float64Array(6), new Float64Array(6)];
  const columnOf = Int32Array.from({ length: a.grid.columns }, (_, column) => cellAt(column, a.grid, b.grid));
  let cells = 0;
  for (let row = 0, i = 0; row < a.grid.rows; row++) {
    const other = cellAt(row, a.grid, b.grid);
    for (let column = 0; column < a.grid.columns; column++, i++) {
      const at = columnOf[column]!;
      const here = a.labels[i]!;
      const there = at < b.grid.columns && other < b.grid.rows ? b.labels[other * b.grid.columns + at]! : 0;
      if (here === 0 || there === 0) continue;
      cells++;
      ofA[here]!++;
      ofB[there]!++;
      if (here === there) same[here]!++;
    }
  }
  const score = (k: number) => {
    const all = ofA[k]! + ofB[k]! - same[k]!;
    return all > 0 ? same[k]! / all : null;
  };
  const iou = Object.fromEntries(CLASS_NAMES.slice(1).map((name, k) => [name, score(k + 1)])) as Overlap["iou"];
  const known = Object.values(iou).filter((value) => value !== null);
  return {
    iou,
    meanIou: known.length > 0 ? known.reduce((sum, value) => sum + value, 0) / known.length : null,
    sameShare: cells > 0 ? same.reduce((sum, n) => sum + n, 0) / cells : null,
    cells,
  };
}
const cellAt = (n: number, from: Grid, to: Grid) => Math.floor(((n + 0.5) * from.mmPerCell) / to.mmPerCell);

/** An edge further off than this is another edge, mm. */
export const SAME_EDGE_MM = 200;

/** Pair edges of the same side of the same band, each used once, the nearest pairs first. */
export function edgeAgreement(a: readonly MarkedEdge[], b: readonly MarkedEdge[]): EdgeAgreement {
  const near = a
    .flatMap((one) => b.map((other) => ({ one, other, far: Math.abs(other.atMm - one.atMm) })))
    .filter(({ one, other, far }) => one.kind === other.kind && one.edge === other.edge && far <= SAME_EDGE_MM)
    .sort((x, y) => x.far - y.far);
  const used = new Set<MarkedEdge>();
  const pairs: EdgeAgreement["pairs"][number][] = [];
  for (const { one, other } of near) {
    if (used.has(one) || used.has(other)) continue;
    used.add(one).add(other);
    const { kind, edge, atMm: aMm } = one;
    pairs.push({ kind, edge, aMm, bMm: other.atMm, apartMm: other.atMm - aMm });
  }
  const far = pairs.map(({ apartMm }) => Math.abs(apartMm));
  return {
    pairs: pairs.sort((x, y) => x.aMm - y.aMm),
    onlyA: a.filter((edge) => !used.has(edge)),
    onlyB: b.filter((edge) => !used.has(edge)),
    medianMm: median(far),
    rmsMm: far.length > 0 ? Math.sqrt(far.reduce((sum, mm) => sum + mm * mm, 0) / far.length) : null,
  };
}

/** Null of nothing. */
export function median(values: readonly number[]): number | null {
  const sorted = values.toSorted((x, y) => x - y);
  const middle = sorted.length / 2;
  return sorted.length > 0 ? (sorted[Math.floor(middle - 0.5)]! + sorted[Math.floor(middle)]!) / 2 : null;
}
