import { type Band, CLASS_NAMES, type Product } from "./contract/index.ts";
import { type Pair, pathLength } from "./geometry.ts";
import { connectedBlobs, type OpenCv } from "./opencv.ts";
import type { Classes, Deck, Grid, Outlet } from "./stages.ts";

const SMALLEST_MM2 = 400;
/** The centre line follows blobs of at least this share of the largest. */
const MAIN_SHARE = 0.1;
const SECTIONS = 12;
const PRODUCTS: readonly Product[] = ["dense", "middling", "light"];

/** Each product's band on the deck, in the order dense, middling, light; none for a product the deck does not show. */
export function findBands(cv: OpenCv, classes: Classes, outlet: Outlet, deck: Deck): Band[] {
  const { grid, labels, confidence } = classes;
  const cellMm2 = grid.mmPerCell ** 2;
  return PRODUCTS.flatMap((kind): Band[] => {
    const number = CLASS_NAMES.indexOf(kind);
    const mask = labels.map((label) => (label === number ? 1 : 0));
    const found = connectedBlobs(cv, mask, grid.columns, grid.rows);
    const kept = found.blobs.filter((blob) => blob.cells * cellMm2 >= SMALLEST_MM2);
    if (!kept.length) return [];
    const largest = Math.max(...kept.map((blob) => blob.cells));
    // of each blob: 0 left out, 1 counted, 2 one of those that the centre line follows
    const part = new Uint8Array(Math.max(...found.blobs.map((blob) => blob.label)) + 1);
    for (const blob of kept) part[blob.label] = blob.cells >= MAIN_SHARE * largest ? 2 : 1;
    const places = new Uint32Array(grid.columns * grid.rows);
    let [count, sure, inMain] = [0, 0, 0];
    for (let i = 0; i < places.length; i++) {
      if (!mask[i]) continue;
      const of = part[found.labels[i]!]!;
      if (of === 0) continue;
      count++;
      sure += confidence[i]!;
      if (of === 2) places[inMain++] = i;
    }
    const cells = places.subarray(0, inMain);
    const stretches = outlet.stretches.filter((stretch) => stretch.class === kind);
    const blurs = stretches.flatMap((s) => [s.fromBlurMm, s.toBlurMm]).filter((blur) => blur !== null);
    const { line, lengthMm } = centreLine(cells, deck, grid);
    return [
      {
        kind,
        areaMm2: count * cellMm2,
        meanWidthMm: (cells.length * cellMm2) / lengthMm,
        outlet: stretches.map(({ fromMm, toMm, fromErrorMm, toErrorMm }) => ({ fromMm, toMm, fromErrorMm, toErrorMm })),
        centreLine: line.map(([x, y]): [number, number] => [x, y]),
        edgeBlurMm: blurs.length ? blurs.reduce((a, b) => a + b, 0) / blurs.length : null,
        confidence: sure / count / 255,
      },
    ];
  });
}

/** Means of sections across the cells' longer extent, from the feed's end, and the line's length to the ends of the band. */
function centreLine(cells: Uint32Array, deck: Deck, grid: Grid) {
  const { mmPerCell } = grid;
  const [xs, ys] = spansOf(cells, grid);
  const axis = xs.to - xs.from >= ys.to - ys.from ? 0 : 1;
  const { from, to } = axis === 0 ? xs : ys;
  const feed = axis === 0 ? (deck.feed.from.x + deck.feed.to.x) / 2 : (deck.feed.from.y + deck.feed.to.y) / 2;
  const binMm = Math.max(mmPerCell, (to - from) / SECTIONS);
  const means = sectionMeans(cells, grid, axis, from, binMm);
  if (Math.abs(feed - to) < Math.abs(feed - from)) means.reverse();
  const line = means.map((point, i): Pair => {
    const [before, after] = [means[i - 1], means[i + 1]];
    if (!before || !after) return point;
    return [(before[0] + 2 * point[0] + after[0]) / 4, (before[1] + 2 * point[1] + after[1]) / 4];
  });
  // The first and last sections' means lie half a section inside the band's ends.
  return { line, lengthMm: pathLength(line) + binMm };
}

/** The cells' extent along x and along y, mm. */
function spansOf(cells: Uint32Array, { columns, mmPerCell }: Grid) {
  let [left, right, top, bottom] = [columns, 0, Number.POSITIVE_INFINITY, 0];
  for (const i of cells) {
    const row = Math.floor(i / columns);
    const column = i - row * columns;
    left = Math.min(left, column);
    right = Math.max(right, column);
    top = Math.min(top, row);
    bottom = Math.max(bottom, row);
  }
  const span = (first: number, last: number) => ({ from: first * mmPerCell, to: (last + 1) * mmPerCell });
  return [span(left, right), span(top, bottom)] as const;
}

/** Mean point, mm, of the cells (places in the grid) in each section `binMm` long along the axis; empty sections are passed over. */
export function sectionMeans(
  cells: ArrayLike<number>,
  { columns, mmPerCell }: Grid,
  axis: 0 | 1,
  from: number,
  binMm: number,
): Pair[] {
  const sums: [number, number, number][] = [];
  for (let n = 0; n < cells.length; n++) {
    const row = Math.floor(cells[n]! / columns);
    const [x, y] = [(cells[n]! - row * columns + 0.5) * mmPerCell, (row + 0.5) * mmPerCell];
    const bin = Math.floor(((axis === 0 ? x : y) - from) / binMm);
    sums[bin] ??= [0, 0, 0];
    const sum = sums[bin];
    sum[0] += x;
    sum[1] += y;
    sum[2]++;
  }
  return sums.filter((sum) => sum).map(([x, y, count]): Pair => [x / count, y / count]);
}
