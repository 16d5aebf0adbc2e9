import type { Classes, Deck } from "../stages.ts";
import { inside } from "./picture-frame.ts";

/** A coarse map of the deck for drawing: class number of each block of cells, 255 outside the outline. */
export interface BlockMap {
  readonly columns: number;
  readonly rows: number;
  readonly mmPerBlock: number;
  readonly labels: Uint8Array;
}
/** Closed line round an area, deck mm. Holes run the other way round and have a negative area. */
export interface Loop {
  readonly points: readonly (readonly [number, number])[];
  readonly areaMm2: number;
}
const OUTSIDE = 255;

/**
 * Blocks of about `blockMm`, each with the class most common in it and the blocks round it (30 mm): what is finer than
 * that is grain, not shape, and only clutters the picture.
 */
export function blockMap(classes: Classes, deck: Deck, blockMm = 6): BlockMap {
  const { grid, labels: cells } = classes;
  const factor = Math.max(1, Math.round(blockMm / grid.mmPerCell));
  const columns = Math.ceil(grid.columns / factor);
  const rows = Math.ceil(grid.rows / factor);
  const mmPerBlock = factor * grid.mmPerCell;
  const counts = Array.from({ length: 6 }, () => new Uint16Array(columns * rows));
  for (let row = 0; row < grid.rows; row++) {
    const start = Math.floor(row / factor) * columns;
    for (let column = 0; column < grid.columns; column++) {
      counts[cells[row * grid.columns + column]!]![start + Math.floor(column / factor)]!++;
    }
  }
  const isInside = Uint8Array.from({ length: columns * rows }, (_, index) =>
    inside(deck.outline, ((index % columns) + 0.5) * mmPerBlock, (Math.floor(index / columns) + 0.5) * mmPerBlock)
      ? 1
      : 0,
  );
  const labels = new Uint8Array(columns * rows).fill(OUTSIDE);
  const sums = new Float64Array(6);
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      if (!isInside[row * columns + column]) continue;
      sums.fill(0);
      for (let r = Math.max(0, row - 2); r <= Math.min(rows - 1, row + 2); r++) {
        for (let c = Math.max(0, column - 2); c <= Math.min(columns - 1, column + 2); c++) {
          if (!isInside[r * columns + c]) continue;
          for (let k = 0; k < 6; k++) sums[k]! += counts[k]![r * columns + c]!;
        }
      }
      let most = 0;
      for (let k = 1; k < 6; k++) if (sums[k]! > sums[most]!) most = k;
      labels[row * columns + column] = most;
    }
  }
  return { columns, rows, mmPerBlock, labels };
}

/** Lines round every area of class `kind` larger than `leastMm2`, corners rounded off. */
export function traceLoops(map: BlockMap, kind: number, leastMm2 = 6000): Loop[] {
  const next = boundarySteps(map, kind);
  const loops: Loop[] = [];
  for (const [start, ways] of next) {
    while (ways.length > 0) {
      const corners = [start];
      let heading = -1;
      let at = start;
      do {
        const open = next.get(at)!;
        // where two areas touch at a corner, turning right keeps them apart
        const pick = open.length > 1 ? open.findIndex((way) => way.heading === (heading + 1) % 4) : 0;
        const [way] = open.splice(Math.max(0, pick), 1);
        heading = way!.heading;
        at = way!.to;
        corners.push(at);
      } while (at !== start);
      const points = simplify(middles(corners, map), map.mmPerBlock * 0.6);
      const areaMm2 = signedArea(points);
      if (Math.abs(areaMm2) >= leastMm2 && points.length > 2) loops.push({ points, areaMm2 });
    }
  }
  return loops;
}

type Way = { readonly to: number; readonly heading: number };
/** Steps along block sides with the area on the right hand: heading 0 right, 1 down, 2 left, 3 up. */
function boundarySteps({ columns, rows, labels }: BlockMap, kind: number): Map<number, Way[]> {
  const steps = new Map<number, Way[]>();
  const corner = (column: number, row: number) => row * (columns + 1) + column;
  const is = (column: number, row: number) =>
    column >= 0 && row >= 0 && column < columns && row < rows && labels[row * columns + column] === kind;
  const add = (from: number, to: number, heading: number) => {
    const ways = steps.get(from);
    if (ways) ways.push({ to, heading });
    else steps.set(from, [{ to, heading }]);
  };
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      if (!is(column, row)) continue;
      if (!is(column, row - 1)) add(corner(column, row), corner(column + 1, row), 0);
      if (!is(column + 1, row)) add(corner(column + 1, row), corner(column + 1, row + 1), 1);
      if (!is(column, row + 1)) add(corner(column + 1, row + 1), corner(column, row + 1), 2);
      if (!is(column - 1, row)) add(corner(column, row + 1), corner(column, row), 3);
    }
  }
  return steps;
}

/** Middles of the steps between corners, mm: cuts the stairs of a slanting edge. */
function middles(corners: readonly number[], { columns, mmPerBlock }: BlockMap): [number, number][] {
  const xy = (c: number) => [c % (columns + 1), Math.floor(c / (columns + 1))] as const;
  return corners.slice(1).map((c, index) => {
    const [[x0, y0], [x1, y1]] = [xy(corners[index]!), xy(c)];
    return [((x0 + x1) / 2) * mmPerBlock, ((y0 + y1) / 2) * mmPerBlock];
  });
}

/** Shoelace formula; positive for an area, negative for a hole. */
function signedArea(points: readonly (readonly [number, number])[]): number {
  return points.reduce((sum, [x, y], index) => {
    const [x1, y1] = points[(index + 1) % points.length]!;
    return sum + (x * y1 - x1 * y) / 2;
  }, 0);
}

/** A closed line with fewer points, nowhere further than `tolerance` from the first (Douglas & Peucker 1973). */
function simplify(points: readonly [number, number][], tolerance: number): [number, number][] {
  const half = Math.floor(points.length / 2);
  const keep = new Set([0, half]);
  const closed = [...points, points[0]!];
  const pending: [number, number][] = [
    [0, half],
    [half, points.length],
  ];
  while (pending.length > 0) {
    const [from, to] = pending.pop()!;
    const [[ax, ay], [bx, by]] = [closed[from]!, closed[to]!];
    const length = Math.hypot(bx - ax, by - ay) || 1;
    let [far, farAt] = [tolerance, -1];
    for (let i = from + 1; i < to; i++) {
      const off = Math.abs((closed[i]![0] - ax) * (by - ay) - (closed[i]![1] - ay) * (bx - ax)) / length;
      if (off > far) [far, farAt] = [off, i];
    }
    if (farAt < 0) continue;
    keep.add(farAt);
    pending.push([from, farAt], [farAt, to]);
  }
  return points.filter((_, index) => keep.has(index));
}

/** Deck places inside the areas of class `kind`, those furthest from the edge first, and how far that is, mm. */
export function roomyPlaces(map: BlockMap, kind: number): { at: [number, number]; roomMm: number }[] {
  const { columns, rows, labels, mmPerBlock } = map;
  const steps = new Uint16Array(columns * rows);
  const least = (index: number, offsets: readonly (readonly [number, number])[]) => {
    const [column, row] = [index % columns, Math.floor(index / columns)];
    let fewest = Number.POSITIVE_INFINITY;
    for (const [dx, dy] of offsets) {
      const [c, r] = [column + dx, row + dy];
      fewest = Math.min(fewest, c < 0 || r < 0 || c >= columns || r >= rows ? 0 : steps[r * columns + c]!);
    }
    return fewest;
  };
  for (let i = 0; i < steps.length; i++) {
    if (labels[i] === kind) steps[i] = 1 + least(i, BEFORE);
  }
  const places: { at: [number, number]; roomMm: number }[] = [];
  for (let i = steps.length - 1; i >= 0; i--) {
    if (labels[i] !== kind) continue;
    steps[i] = Math.min(steps[i]!, 1 + least(i, AFTER));
    const [column, row] = [i % columns, Math.floor(i / columns)];
    if (column % 3 > 0 || row % 2 > 0) continue;
    places.push({ at: [(column + 0.5) * mmPerBlock, (row + 0.5) * mmPerBlock], roomMm: steps[i]! * mmPerBlock });
  }
  return places.sort((a, b) => b.roomMm - a.roomMm);
}
/** Neighbours already passed when going forward, and when going back. */
const BEFORE = [
  [-1, 0],
  [0, -1],
  [-1, -1],
  [1, -1],
] as const;
const AFTER = [
  [1, 0],
  [0, 1],
  [1, 1],
  [-1, 1],
] as const;
