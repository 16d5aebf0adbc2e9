import { clamp01 } from "./noise.ts";
import type { Point, Scenario } from "./scenario.ts";

/** Where a deck's parts lie, mm, and values on its grid. */
export const CELL_MM = 2;

/** Where the drive end and the dense-product end lie along x at a place down the deck. */
export function endsAt({ deck: { lengthMm: L, widthMm: W, slantMm = 0 } }: Scenario, y: number): Point {
  return [(slantMm * y) / W, L - slantMm + (slantMm * y) / W];
}
export function deckShape(s: Scenario): { outline: Point[]; outletPath: Point[] } {
  const { lengthMm: L, widthMm: W, slantMm = 0, cutCornerMm: cut } = s.deck;
  const lowEnd: Point[] = cut
    ? [
        [L, W - cut[1]],
        [L - cut[0], W],
      ]
    : [[L, W]];
  const outletPath: Point[] = [[L - slantMm, 0], ...lowEnd, [slantMm, W]];
  return { outline: [[0, 0], ...outletPath], outletPath };
}
export function isInside([x, y]: Point, polygon: Point[]): boolean {
  let inside = false;
  polygon.forEach(([x1, y1], i) => {
    const [x2, y2] = polygon[(i + 1) % polygon.length]!;
    if (y1 > y !== y2 > y && x < x1 + ((y - y1) / (y2 - y1)) * (x2 - x1)) inside = !inside;
  });
  return inside;
}
export function distanceToPath([x, y]: Point, path: Point[]): number {
  let best = Infinity;
  for (let i = 0; i + 1 < path.length; i++) {
    const [x1, y1] = path[i]!,
      [x2, y2] = path[i + 1]!;
    const dx = x2 - x1,
      dy = y2 - y1;
    const t = clamp01(((x - x1) * dx + (y - y1) * dy) / (dx * dx + dy * dy));
    best = Math.min(best, Math.hypot(x - x1 - t * dx, y - y1 - t * dy));
  }
  return best;
}

/** A value on the 2 mm deck grid, read in between cells. */
export class Grid {
  readonly values: Float32Array;
  constructor(
    readonly columns: number,
    readonly rows: number,
  ) {
    this.values = new Float32Array(columns * rows);
  }
  at(xMm: number, yMm: number): number {
    const gx = Math.min(this.columns - 1.001, Math.max(0, xMm / CELL_MM - 0.5)),
      gy = Math.min(this.rows - 1.001, Math.max(0, yMm / CELL_MM - 0.5));
    const ix = gx | 0,
      iy = gy | 0,
      fx = gx - ix,
      fy = gy - iy,
      i = iy * this.columns + ix,
      v = this.values;
    return (
      (v[i]! * (1 - fx) + v[i + 1]! * fx) * (1 - fy) +
      (v[i + this.columns]! * (1 - fx) + v[i + this.columns + 1]! * fx) * fy
    );
  }
}

/** Height of the riffles at a place as a share of full height: tapers along x, nothing past the riffle ends. */
export function riffleTaper(s: Scenario, x: number, y: number): number {
  const [high, low] = s.deck.riffleEndMm;
  const end = high + ((low - high) * y) / s.deck.widthMm;
  return clamp01((end - x) / (0.85 * (end - endsAt(s, y)[0])));
}
export const riffleRow = (s: Scenario, y: number): number =>
  Math.floor((y - s.deck.riffle.firstMm) / s.deck.riffle.pitchMm);
