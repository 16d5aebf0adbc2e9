import type { Pair } from "../geometry.ts";
import type { Photo } from "../stages.ts";
import { greyAt } from "./pixels.ts";

/** A straight edge in the photo. */
export interface EdgeLine {
  /** Middle of the stretch that was seen, photo pixels. */
  readonly at: Pair;
  /** Unit direction, as `from` → `to` of the search. */
  readonly along: Pair;
  /** Share of the stations along the search whose edge lies on the line, 0 to 1. */
  readonly support: number;
  /** Mean step in grey across it, 0 to 255. */
  readonly step: number;
  /** One standard error of the line's place across itself, a distance along from `at`, pixels. */
  readonly errorAt: (alongPx: number) => number;
  readonly points: readonly Pair[];
}

export interface EdgeSearch {
  /** How far to look to each side, pixels. */
  readonly reachPx: number;
  /** +1: brighter on the right of from → to (y down); −1: darker there; 0: either. */
  readonly polarity?: -1 | 0 | 1;
  /** Share left out at each end, where another side's edge disturbs. */
  readonly trim?: number;
  /** Peaks kept for each station. */
  readonly peaks?: number;
  /** Weaker steps in grey than this are no edge. */
  readonly leastStep?: number;
  /** A station agrees within this many pixels. */
  readonly tolerancePx?: number;
  /** 0 to 1: how much nearer to the searched line a peak counts more. */
  readonly nearFirst?: number;
  /** Stations farther apart than this, px, are never wanted. */
  readonly everyPx?: number;
}

interface Peak {
  readonly along: number;
  readonly across: number;
  readonly step: number;
  readonly station: number;
}

/** What is never known better: sampling, lens and print (common practice: 0.05 to 0.3 px in sharp pictures). */
const FLOOR_PX = 0.05;

/**
 * Fit one straight line to the edge beside `from` → `to`.
 *
 * Method: at stations along the search the grey across it is differenced; each peak is placed by a parabola; the line on
 * which most peaks agree is kept (every pair of distant stations is tried; Fischler & Bolles 1981, Commun. ACM 24, 381,
 * with the pairs taken in order instead of by chance), then fitted by least squares.
 *
 * @returns null when no line has at least a third of the stations.
 */
export function fitEdge(photo: Photo, from: Pair, to: Pair, search: EdgeSearch): EdgeLine | null {
  const { reachPx, trim = 0.1, tolerancePx = 0.75, nearFirst = 0, everyPx = 2 } = search;
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (length < 6) return null;
  const along: Pair = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
  const across: Pair = [-along[1], along[0]]; // to the right of travel, y down
  const stretch = length * (1 - 2 * trim);
  const stations = Math.max(8, Math.min(80, Math.round(stretch / everyPx)));
  const peaks: Peak[] = [];
  let seen = 0;
  for (let s = 0; s < stations; s++) {
    const t = trim * length + ((s + 0.5) / stations) * stretch;
    const [x, y] = [from[0] + along[0] * t, from[1] + along[1] * t];
    if (x < 0 || y < 0 || x > photo.width || y > photo.height) continue;
    seen++;
    peaks.push(...peaksAcross(photo, [x, y], along, across, t, s, search));
  }
  if (seen < 6) return null;
  const best = agreeing(peaks, length, tolerancePx, reachPx, nearFirst);
  if (!best || best.length < seen / 3 || best.length < 5) return null;
  return leastSquares(best, from, along, across, seen);
}

function peaksAcross(
  photo: Photo,
  [x, y]: Pair,
  along: Pair,
  across: Pair,
  t: number,
  station: number,
  { reachPx, polarity = 0, peaks = 1, leastStep = 8 }: EdgeSearch,
): Peak[] {
  const reach = Math.ceil(reachPx) + 2;
  const grey = new Float32Array(2 * reach + 1);
  for (let i = -reach; i <= reach; i++) {
    const [px, py] = [x + across[0] * i, y + across[1] * i];
    // three samples along the edge calm the noise
    grey[i + reach] =
      (greyAt(photo, px, py) +
        greyAt(photo, px + along[0], py + along[1]) +
        greyAt(photo, px - along[0], py - along[1])) /
      3;
  }
  const slope = (i: number) => {
    const d = grey[i + 1]! - grey[i - 1]!;
    return polarity === 0 ? Math.abs(d) : d * polarity;
  };
  const found: Peak[] = [];
  for (let i = 2; i < grey.length - 2; i++) {
    const here = slope(i);
    const [before, after] = [slope(i - 1), slope(i + 1)];
    if (here < leastStep || here < before || here <= after) continue;
    const bend = before - 2 * here + after;
    const shift = bend < 0 ? (0.5 * (before - after)) / bend : 0;
    const place = i - reach + shift;
    if (Math.abs(place) <= reachPx) found.push({ along: t, across: place, step: here, station });
  }
  return found.sort((a, b) => b.step - a.step).slice(0, peaks);
}

/** The peaks on the line most of them share, at most one for each station. Peaks come in the order of their stations. */
function agreeing(peaks: readonly Peak[], length: number, tolerance: number, reach: number, nearFirst: number) {
  let best: { a: Peak; slope: number } | null = null;
  let bestScore = 0;
  const skip = Math.max(1, Math.ceil(peaks.length / 60));
  for (let i = 0; i < peaks.length; i += skip) {
    for (let j = i + 1; j < peaks.length; j += skip) {
      const [a, b] = [peaks[i]!, peaks[j]!];
      const run = b.along - a.along;
      if (run < length / 4) continue;
      const slope = (b.across - a.across) / run;
      if (Math.abs(slope) > 0.35) continue;
      let [stations, last] = [0, -1];
      for (const peak of peaks) {
        if (peak.station === last || Math.abs(peak.across - a.across - slope * (peak.along - a.along)) > tolerance)
          continue;
        stations++;
        last = peak.station;
      }
      const middle = a.across + slope * (length / 2 - a.along);
      const score = stations * (1 - nearFirst * Math.min(1, Math.abs(middle) / reach));
      if (score > bestScore) {
        bestScore = score;
        best = { a, slope };
      }
    }
  }
  return best && nearestEach(peaks, best.a, best.slope, tolerance);
}

function nearestEach(peaks: readonly Peak[], a: Peak, slope: number, tolerance: number): Peak[] {
  const nearest = new Map<number, { off: number; peak: Peak }>();
  for (const peak of peaks) {
    const off = Math.abs(peak.across - a.across - slope * (peak.along - a.along));
    if (off > tolerance) continue;
    const held = nearest.get(peak.station);
    if (!held || off < held.off) nearest.set(peak.station, { off, peak });
  }
  return [...nearest.values()].map((n) => n.peak);
}

function leastSquares(peaks: readonly Peak[], from: Pair, along: Pair, across: Pair, seen: number): EdgeLine {
  const n = peaks.length;
  const mean = peaks.reduce((s, p) => s + p.along, 0) / n;
  const height = peaks.reduce((s, p) => s + p.across, 0) / n;
  const spread = peaks.reduce((s, p) => s + (p.along - mean) ** 2, 0);
  const slope = peaks.reduce((s, p) => s + (p.along - mean) * (p.across - height), 0) / spread;
  const rest = peaks.reduce((s, p) => s + (p.across - height - slope * (p.along - mean)) ** 2, 0);
  const sigma = Math.sqrt(rest / Math.max(1, n - 2));
  const place = (t: number, c: number): Pair => [
    from[0] + along[0] * t + across[0] * c,
    from[1] + along[1] * t + across[1] * c,
  ];
  const norm = Math.hypot(1, slope);
  return {
    at: place(mean, height),
    along: [(along[0] + across[0] * slope) / norm, (along[1] + across[1] * slope) / norm],
    support: n / seen,
    step: peaks.reduce((s, p) => s + p.step, 0) / n,
    errorAt: (t) => Math.hypot(FLOOR_PX, sigma * Math.sqrt(1 / n + t ** 2 / spread)),
    points: peaks.map((p) => place(p.along, p.across)),
  };
}

/** Where two edges cross, with one standard error of the crossing (root of its two axes' sum), pixels. Null: parallel. */
export function crossing(a: EdgeLine, b: EdgeLine): { readonly at: Pair; readonly errorPx: number } | null {
  const det = a.along[0] * b.along[1] - a.along[1] * b.along[0];
  if (Math.abs(det) < 1e-3) return null;
  const [dx, dy] = [b.at[0] - a.at[0], b.at[1] - a.at[1]];
  const s = (dx * b.along[1] - dy * b.along[0]) / det;
  const t = (dx * a.along[1] - dy * a.along[0]) / det;
  const error = Math.hypot(a.errorAt(s), b.errorAt(t)) / Math.abs(det);
  return { at: [a.at[0] + a.along[0] * s, a.at[1] + a.along[1] * s], errorPx: error / Math.SQRT2 };
}

/** Sides that fewer of their stations follow an edge stay where they are. */
const LEAST_SUPPORT = 0.45;

/** A polygon's corners, its sides drawn to the straight edges beside them; a corner that would leap stays. */
export function drawnToEdges(photo: Photo, corners: readonly Pair[], search: EdgeSearch): Pair[] {
  const n = corners.length;
  const lines = corners.map((from, k): EdgeLine => {
    const to = corners[(k + 1) % n]!;
    const line = fitEdge(photo, from, to, search);
    if (line && line.support >= LEAST_SUPPORT) return line;
    const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
    const along: Pair = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
    return { at: from, along, support: 0, step: 0, errorAt: () => search.reachPx, points: [] };
  });
  return corners.map((corner, k): Pair => {
    const met = crossing(lines[(k + n - 1) % n]!, lines[k]!)?.at;
    return met && Math.hypot(met[0] - corner[0], met[1] - corner[1]) < 3 * search.reachPx ? met : corner;
  });
}
