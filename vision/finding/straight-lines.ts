import type { Pair } from "../geometry.ts";
import { type OpenCv, withMats } from "../opencv.ts";
import type { Photo } from "../stages.ts";

/** A straight line in the picture: points p with p·(cos, sin)(normal) = offset. */
export interface Line {
  /** Direction of the line, radians, 0 to π. */
  readonly angle: number;
  readonly normal: Pair;
  readonly offset: number;
  readonly votes: number;
  /** Share of the stretch between two points on it that follows an edge, 0 to 1. */
  readonly support: (from: Pair, to: Pair) => number;
}
export interface Straights {
  readonly lines: readonly Line[];
  /** Strength of edges that run in a direction at a place: 1 strong, 0 none. */
  readonly alongEnergy: (x: number, y: number, angle: number) => number;
  /** Share of the stretch between two points that follows an edge, 0 to 1: for any stretch, found as a line or not. */
  readonly supportOf: (from: Pair, to: Pair) => number;
}

/** Steps of the Hough table: degrees and pixels. */
const STEP_DEGREES = 1;
const STEP_PX = 1.5;
/** Fewer votes than this share of the longer side are no line. */
const LEAST_VOTES = 0.025;
/** Lines kept. */
const MOST = 100;
/** Share of pixels that count as edges, the steepest. */
const EDGE_SHARE = 0.22;
const LEAST_SLOPE = 6;
/** An edge belongs to a line within this angle. */
const AGREE = Math.cos((14 * Math.PI) / 180);

/**
 * The strongest straight lines. Each edge pixel votes only for lines near its own direction.
 *
 * Source: Duda & Hart (1972), Commun. ACM 15, 11; votes held to the edge's direction after O'Gorman & Clowes (1976), IEEE
 * Trans. Computers C-25, 449.
 */
export function findLines(cv: OpenCv, { width, height, rgba }: Photo): Straights {
  const { gx, gy } = slopes(cv, width, height, rgba);
  const size = new Float32Array(width * height);
  const counts = new Uint32Array(1024);
  for (let i = 0; i < size.length; i++) {
    size[i] = Math.sqrt(gx[i]! * gx[i]! + gy[i]! * gy[i]!);
    counts[Math.min(1023, Math.floor(size[i]! * 4))]!++;
  }
  let [bin, above] = [1023, 0];
  while (bin > 0 && above + counts[bin]! < EDGE_SHARE * size.length) above += counts[bin--]!;
  const limit = Math.max(LEAST_SLOPE, bin / 4);
  const edges: number[] = [];
  for (let y = 2; y < height - 2; y++) {
    for (let x = 2; x < width - 2; x++) {
      const i = y * width + x;
      const s = size[i]!;
      if (s < limit) continue;
      const beside = Math.round(gy[i]! / s) * width + Math.round(gx[i]! / s);
      if (size[i + beside]! > s || size[i - beside]! >= s) continue;
      edges.push(i);
    }
  }
  const bins = Math.round(180 / STEP_DEGREES);
  const reach = Math.hypot(width, height);
  const offsets = Math.ceil((2 * reach) / STEP_PX);
  const table = new Float32Array(bins * offsets);
  const turns = Array.from({ length: bins }, (_, b) => (b * STEP_DEGREES * Math.PI) / 180);
  const cos = turns.map(Math.cos);
  const sin = turns.map(Math.sin);
  for (const i of edges) {
    const [x, y] = [i % width, Math.floor(i / width)];
    const own = (Math.atan2(gy[i]!, gx[i]!) * 180) / Math.PI / STEP_DEGREES;
    for (let d = -3; d <= 3; d++) {
      const b = (((Math.round(own) + d) % bins) + bins) % bins;
      const k = Math.round((x * cos[b]! + y * sin[b]! + reach) / STEP_PX);
      table[b * offsets + k]! += 1 - Math.abs(d) / 5;
    }
  }
  const peaks: { b: number; k: number; votes: number }[] = [];
  for (let b = 0; b < bins; b++) {
    for (let k = 2; k < offsets - 2; k++) {
      const votes = table[b * offsets + k]!;
      if (votes < LEAST_VOTES * Math.max(width, height)) continue;
      let top = true;
      for (let db = -2; db <= 2 && top; db++) {
        for (let dk = -1; dk <= 1; dk++) {
          const other = b + db;
          if ((db === 0 && dk === 0) || other < 0 || other >= bins) continue;
          const v = table[other * offsets + k + dk]!;
          if (v > votes || (v === votes && (db < 0 || (db === 0 && dk < 0)))) {
            top = false;
            break;
          }
        }
      }
      if (top) peaks.push({ b, k, votes });
    }
  }
  peaks.sort((a, b) => b.votes - a.votes);
  const edgeMap = new Uint8Array(width * height);
  for (const i of edges) edgeMap[i] = 1;
  const chosen = spreadOut(peaks, bins);
  const lines = chosen.map(({ b, k, votes }) => {
    const normal: Pair = [cos[b]!, sin[b]!];
    return refined({ normal, offset: k * STEP_PX - reach, votes }, edges, { width, height, gx, gy, size, edgeMap });
  });
  const near = new Float32Array(width * height);
  for (const i of edges) near[i] = Math.min(1, size[i]! / (4 * limit));
  const field = { width, height, gx, gy, size, edgeMap };
  return {
    lines,
    supportOf: (from, to) => {
      const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
      const normal: Pair = [-(to[1] - from[1]) / length, (to[0] - from[0]) / length];
      const steps = Math.max(8, Math.round(length / 3));
      let seen = 0;
      for (let k = 0; k < steps; k++) {
        const t = (k + 0.5) / steps;
        if (seesEdge(from[0] + (to[0] - from[0]) * t, from[1] + (to[1] - from[1]) * t, normal, field)) seen++;
      }
      return seen / steps;
    },
    alongEnergy: (x, y, angle) => {
      const [nx, ny] = [-Math.sin(angle), Math.cos(angle)];
      let sum = 0;
      for (let dy = -4; dy <= 4; dy++) {
        for (let dx = -4; dx <= 4; dx++) {
          const [i, j] = [Math.floor(x) + dx, Math.floor(y) + dy];
          if (i < 0 || j < 0 || i >= width || j >= height) continue;
          const k = j * width + i;
          if (near[k] && Math.abs(gx[k]! * nx + gy[k]! * ny) > AGREE * size[k]!) sum += near[k]!;
        }
      }
      return Math.min(1, sum / 18);
    },
  };
}

/** The strongest, but only so many within 10 degrees of each other: riffles must not crowd out the ends. */
function spreadOut(peaks: readonly { b: number; k: number; votes: number }[], bins: number) {
  const chosen: (typeof peaks)[number][] = [];
  const near = new Array<number>(bins).fill(0);
  for (const peak of peaks) {
    if (chosen.length >= MOST) break;
    if (near[peak.b]! >= MOST * 0.3) continue;
    chosen.push(peak);
    for (let d = -10; d <= 10; d++) near[(((peak.b + d) % bins) + bins) % bins]!++;
  }
  return chosen;
}

interface EdgeField {
  readonly width: number;
  readonly height: number;
  readonly gx: Float32Array;
  readonly gy: Float32Array;
  readonly size: Float32Array;
  readonly edgeMap: Uint8Array;
}

/** Least squares through the edge pixels of a line (twice), and where along it they lie. */
function refined(
  start: { normal: Pair; offset: number; votes: number },
  edges: readonly number[],
  field: EdgeField,
): Line {
  let { normal, offset } = start;
  const { width, gx, gy, size } = field;
  for (const within of [2.5, 1.5]) {
    let [n, sx, sy, sxx, sxy, syy] = [0, 0, 0, 0, 0, 0];
    for (const i of edges) {
      const [x, y] = [(i % width) + 0.5, Math.floor(i / width) + 0.5];
      if (Math.abs(x * normal[0] + y * normal[1] - offset) > within) continue;
      if (Math.abs(gx[i]! * normal[0] + gy[i]! * normal[1]) < AGREE * size[i]!) continue;
      n++;
      sx += x;
      sy += y;
      sxx += x * x;
      sxy += x * y;
      syy += y * y;
    }
    if (n < 10) break;
    const [mx, my] = [sx / n, sy / n];
    const angle = 0.5 * Math.atan2(2 * (sxy / n - mx * my), sxx / n - mx * mx - (syy / n - my * my));
    normal = [-Math.sin(angle), Math.cos(angle)];
    offset = mx * normal[0] + my * normal[1];
  }
  const along: Pair = [-normal[1], normal[0]];
  const reach = Math.ceil(Math.hypot(field.width, field.height));
  // running count of steps along the line that see an edge, from −reach
  const runs = new Uint16Array(2 * reach + 2);
  for (let t = -reach; t <= reach; t++) {
    const [x, y] = [normal[0] * offset + along[0] * t, normal[1] * offset + along[1] * t];
    runs[t + reach + 1] = runs[t + reach]! + (seesEdge(x, y, normal, field) ? 1 : 0);
  }
  const place = (p: Pair) => Math.max(0, Math.min(2 * reach, Math.round(p[0] * along[0] + p[1] * along[1]) + reach));
  const turn = Math.atan2(along[1], along[0]);
  return {
    angle: turn < 0 ? turn + Math.PI : turn,
    normal,
    offset,
    votes: start.votes,
    support: (from, to) => {
      const [a, b] = [place(from), place(to)].sort((p, q) => p - q) as [number, number];
      return b > a ? (runs[b + 1]! - runs[a]!) / (b + 1 - a) : 0;
    },
  };
}

function seesEdge(x: number, y: number, normal: Pair, { width, height, gx, gy, size, edgeMap }: EdgeField): boolean {
  for (const d of [0, -1, 1]) {
    const [i, j] = [Math.floor(x + d * normal[0]), Math.floor(y + d * normal[1])];
    if (i < 0 || j < 0 || i >= width || j >= height) continue;
    const k = j * width + i;
    if (edgeMap[k] && Math.abs(gx[k]! * normal[0] + gy[k]! * normal[1]) > AGREE * size[k]!) return true;
  }
  return false;
}

/** Where two lines cross; null when nearly parallel. */
export function meet(a: Line, b: Line): Pair | null {
  const det = a.normal[0] * b.normal[1] - a.normal[1] * b.normal[0];
  if (Math.abs(det) < 0.05) return null;
  return [
    (a.offset * b.normal[1] - b.offset * a.normal[1]) / det,
    (a.normal[0] * b.offset - b.normal[0] * a.offset) / det,
  ];
}

/** Slopes of the channel that changes most, after a light blur. */
function slopes(cv: OpenCv, width: number, height: number, rgba: Photo["rgba"]) {
  const planes = withMats(cv, (own) => {
    const colour = own(new cv.Mat(height, width, cv.CV_8UC4));
    colour.data.set(rgba);
    const [rgb, soft, floats] = [own(new cv.Mat()), own(new cv.Mat()), own(new cv.Mat())];
    cv.cvtColor(colour, rgb, cv.COLOR_RGBA2RGB);
    cv.GaussianBlur(rgb, soft, new cv.Size(5, 5), 1.1, 1.1, cv.BORDER_REFLECT);
    soft.convertTo(floats, cv.CV_32F);
    return new Float32Array(floats.data32F);
  });
  const gx = new Float32Array(width * height);
  const gy = new Float32Array(width * height);
  for (let y = 1; y < height - 1; y++) {
    for (let x = 1; x < width - 1; x++) {
      const i = y * width + x;
      let best = -1;
      for (let c = 0; c < 3; c++) {
        const dx = planes[3 * (i + 1) + c]! - planes[3 * (i - 1) + c]!;
        const dy = planes[3 * (i + width) + c]! - planes[3 * (i - width) + c]!;
        const s = dx * dx + dy * dy;
        if (s > best) {
          best = s;
          gx[i] = dx;
          gy[i] = dy;
        }
      }
    }
  }
  return { gx, gy };
}
