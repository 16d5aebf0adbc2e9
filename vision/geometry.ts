/** Plane geometry on [x, y] pairs, y down; no units of its own. */
export type Pair = readonly [number, number];

/** Signed area; positive when the polygon turns clockwise on a picture with y down (shoelace formula). */
export function signedArea(polygon: readonly Pair[]): number {
  let twice = 0;
  polygon.forEach(([x, y], i) => {
    const [nextX, nextY] = polygon[(i + 1) % polygon.length]!;
    twice += x * nextY - nextX * y;
  });
  return twice / 2;
}

const turn = (a: Pair, b: Pair, c: Pair) => Math.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));

/** Does any side of the polygon cross another that is not its neighbour? */
export function selfCrossing(polygon: readonly Pair[]): boolean {
  const n = polygon.length;
  for (let i = 0; i < n; i++) {
    for (let j = i + 2; j < n; j++) {
      if (i === 0 && j === n - 1) continue;
      const [a, b, c, d] = [polygon[i]!, polygon[(i + 1) % n]!, polygon[j]!, polygon[(j + 1) % n]!];
      if (turn(a, b, c) !== turn(a, b, d) && turn(c, d, a) !== turn(c, d, b)) return true;
    }
  }
  return false;
}

/** Is the point inside the polygon? Even-odd rule. */
export function inside(polygon: readonly Pair[], [x, y]: Pair): boolean {
  let odd = false;
  for (let i = 0, j = polygon.length - 1; i < polygon.length; j = i++) {
    const [xi, yi] = polygon[i]!;
    const [xj, yj] = polygon[j]!;
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) odd = !odd;
  }
  return odd;
}

/** 1 for each cell whose centre is inside the polygon (given in cell coordinates), `rows × columns`; by scan lines. */
export function fillPolygon(polygon: readonly Pair[], columns: number, rows: number): Uint8Array {
  const mask = new Uint8Array(columns * rows);
  for (let row = 0; row < rows; row++) {
    const y = row + 0.5;
    const crossings: number[] = [];
    polygon.forEach(([x1, y1], i) => {
      const [x2, y2] = polygon[(i + 1) % polygon.length]!;
      if (y1 > y !== y2 > y) crossings.push(x1 + ((y - y1) / (y2 - y1)) * (x2 - x1));
    });
    crossings.sort((a, b) => a - b);
    for (let i = 0; i + 1 < crossings.length; i += 2) {
      const from = Math.max(0, Math.ceil(crossings[i]! - 0.5));
      const to = Math.min(columns - 1, Math.ceil(crossings[i + 1]! - 0.5) - 1);
      if (to >= from) mask.fill(1, row * columns + from, row * columns + to + 1);
    }
  }
  return mask;
}

export function pathLength(path: readonly Pair[]): number {
  return path.slice(1).reduce((sum, p, i) => sum + Math.hypot(p[0] - path[i]![0], p[1] - path[i]![1]), 0);
}

/** The point a distance along a polyline, and the unit direction of travel there. Beyond its ends: its ends. */
export function alongPath(path: readonly Pair[], distance: number): { at: Pair; direction: Pair } {
  let left = Math.max(0, distance);
  for (let i = 0; i + 1 < path.length; i++) {
    const [a, b] = [path[i]!, path[i + 1]!];
    const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
    const direction: Pair = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
    if (left <= length || i + 2 === path.length) {
      const step = Math.min(left, length);
      return { at: [a[0] + direction[0] * step, a[1] + direction[1] * step], direction };
    }
    left -= length;
  }
  throw new RangeError("alongPath: a path needs two points");
}

/** Where the ray from `origin` through `through` first meets the path: distance along the path, and the ray's length in units of |through − origin|. */
export function rayToPath(path: readonly Pair[], origin: Pair, through: Pair): { along: number; reach: number } | null {
  const [dx, dy] = [through[0] - origin[0], through[1] - origin[1]];
  let before = 0;
  let best: { along: number; reach: number } | null = null;
  for (let i = 0; i + 1 < path.length; i++) {
    const [a, b] = [path[i]!, path[i + 1]!];
    const [ex, ey] = [b[0] - a[0], b[1] - a[1]];
    const length = Math.hypot(ex, ey);
    const det = ex * dy - ey * dx;
    if (Math.abs(det) > 1e-9) {
      const reach = (ex * (a[1] - origin[1]) - ey * (a[0] - origin[0])) / det;
      const share = (dx * (a[1] - origin[1]) - dy * (a[0] - origin[0])) / det;
      if (reach > 0 && share >= -1e-9 && share <= 1 + 1e-9 && (!best || reach < best.reach)) {
        best = { along: before + share * length, reach };
      }
    }
    before += length;
  }
  return best;
}
