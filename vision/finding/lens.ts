import type { Pair } from "../geometry.ts";
import { bend, straighten } from "../lens-bulge.ts";
import { type OpenCv, withMats } from "../opencv.ts";
import type { Photo } from "../stages.ts";
import { fitEdge } from "./edge-line.ts";
import { shrink } from "./pixels.ts";
import { LENS_ERROR } from "./plane-fit.ts";
import { findLines, type Line } from "./straight-lines.ts";

export interface LensFound {
  /** The radial term, 0 where it could not be told; see DEVELOPERS.md. */
  readonly lens: number;
  /** One standard error of it. */
  readonly error: number;
  /** Points of the edges it was told from, pixels of the photo. */
  readonly lines: readonly (readonly Pair[])[];
}

/** Longest side of the picture whose edges are followed, and of the one where lines are sought, px. */
const LOOK_PX = 2000;
const SEARCH_PX = 900;
/** A line must be seen over this share of the photo's longer side, by at least so many points. */
const LEAST_SHARE = 0.22;
const LEAST_POINTS = 24;
/** Fewer lines tell nothing: one may be a hose or a bent pipe. */
const LEAST_LINES = 6;
/** Known better than this share of what it would be otherwise, and this many standard errors from 0, it is used. */
const KNOWN_SHARE = 0.5;
const CLEAR = 3;
/** Points count less beyond this misfit, px of the photo (Huber). */
const HUBER_PX = 1;

/**
 * The lens's radial term from the picture's own straight lines: deck sides, riffles, rails, posts. What is straight must come
 * out straight: of each line's points, the part of their bow that the term explains and no straight line does.
 *
 * Source: Devernay & Faugeras (2001), Machine Vision and Applications 13, 14-24; here one term, linear in it, and lines that
 * disagree with the others are dropped (median of all lines first, then within three standard errors).
 *
 * @returns 0 with the error of an unknown lens when too few lines tell it.
 */
export function estimateLens(cv: OpenCv, whole: Photo): LensFound {
  const photo = shrink(cv, whole, LOOK_PX);
  const atFullSize = (lines: LensFound["lines"], lens: number) =>
    lines.map((points) =>
      points.map((p): Pair => {
        const [x, y] = bend(photo, lens, p);
        return [x * photo.scale, y * photo.scale];
      }),
    );
  const first = oneLook(cv, photo);
  if (first.lens === 0) return { ...first, lines: atFullSize(first.lines, 0) };
  // strongly bowed lines were only partly followed: look again at the straightened photo, and add what is left
  let [lens, last, lines] = [first.lens, first, first.lines];
  for (let look = 0; look < 2; look++) {
    last = oneLook(cv, unbend(cv, photo, lens));
    lines = atFullSize(last.lines, lens);
    lens += last.lens;
    if (last.lens === 0) break;
  }
  // the looks share their lines, so the surer one is not believed alone
  return { lens, error: Math.max(first.error, last.error), lines };
}

/** The photo as a lens without bulge would have taken it. */
function unbend(cv: OpenCv, photo: Photo, lens: number): Photo {
  const { width, height } = photo;
  return withMats(cv, (own) => {
    const from = own(new cv.Mat(height, width, cv.CV_8UC4));
    from.data.set(photo.rgba);
    const xs = own(new cv.Mat(height, width, cv.CV_32F));
    const ys = own(new cv.Mat(height, width, cv.CV_32F));
    const to = own(new cv.Mat());
    const [mapX, mapY] = [new Float32Array(width * height), new Float32Array(width * height)];
    const [cx, cy] = [width / 2, height / 2];
    for (let j = 0; j < height; j++) {
      for (let i = 0; i < width; i++) {
        const [dx, dy] = [i + 0.5 - cx, j + 0.5 - cy];
        const r2 = (dx * dx + dy * dy) / (cx * cx + cy * cy);
        // inverse of s = r·(1 + lens·r²), two steps of it; enough below |lens| 0.1
        const once = 1 / (1 + lens * r2);
        const by = 1 / (1 + lens * r2 * once * once);
        mapX[j * width + i] = cx + dx * by - 0.5;
        mapY[j * width + i] = cy + dy * by - 0.5;
      }
    }
    xs.data32F.set(mapX);
    ys.data32F.set(mapY);
    cv.remap(from, to, xs, ys, cv.INTER_LINEAR, cv.BORDER_REPLICATE, new cv.Scalar());
    return { width, height, rgba: new Uint8ClampedArray(to.data) };
  });
}

function oneLook(cv: OpenCv, photo: Photo): LensFound {
  const small = shrink(cv, photo, SEARCH_PX);
  const traced = findLines(cv, small).lines.flatMap((line) => trace(photo, small, line) ?? []);
  const unknown: LensFound = { lens: 0, error: LENS_ERROR, lines: traced };
  if (traced.length < LEAST_LINES) return unknown;
  let lens = 0;
  let error = Number.POSITIVE_INFINITY;
  for (let step = 0; step < 4; step++) {
    const votes = traced.map((points) => bowOf(photo, points, lens));
    const middle = weightedMedian(votes);
    const agree = votes.filter(({ shift, error }) => Math.abs(shift - middle) < 3 * Math.hypot(error, 0.002));
    if (agree.length < LEAST_LINES) return unknown;
    const weight = agree.reduce((sum, v) => sum + 1 / v.error ** 2, 0);
    const shift = agree.reduce((sum, v) => sum + v.shift / v.error ** 2, 0) / weight;
    // how well the lines agree with each other counts, not only how smooth each is
    const chi = agree.reduce((sum, v) => sum + ((v.shift - shift) / v.error) ** 2, 0) / Math.max(1, agree.length - 1);
    lens += shift;
    error = Math.sqrt(Math.max(1, chi) / weight);
  }
  const known = error < KNOWN_SHARE * LENS_ERROR && Math.abs(lens) > CLEAR * error && Math.abs(lens) < 0.3;
  if (known) return { lens, error, lines: traced };
  // seen to be near 0: the unknown lens's error shrinks to what was seen
  return { ...unknown, error: Math.min(LENS_ERROR, Math.hypot(error, lens)) };
}

/** RMS distance of points from their own straight lines after the lens term, pixels. */
export function bowRms(
  photo: Pick<Photo, "width" | "height">,
  lines: readonly (readonly Pair[])[],
  lens: number,
): number {
  let [sum, count] = [0, 0];
  for (const points of lines) {
    const { residual } = throughPoints(points.map((p) => straighten(photo, lens, p)));
    sum += residual.reduce((s, r) => s + r * r, 0);
    count += points.length;
  }
  return Math.sqrt(sum / Math.max(1, count));
}

/** Points of the edge along one line, over its longest stretch that the line itself sees. */
function trace(photo: Photo, small: Photo & { scale: number }, line: Line): [readonly Pair[]] | null {
  const along: Pair = [-line.normal[1], line.normal[0]];
  const at = (t: number): Pair => [
    line.normal[0] * line.offset + along[0] * t,
    line.normal[1] * line.offset + along[1] * t,
  ];
  const step = 12;
  const reach = Math.hypot(small.width, small.height);
  let best: [number, number] | null = null;
  let start: number | null = null;
  for (let t = -reach; t <= reach; t += step) {
    const [a, b] = [at(t), at(t + step)];
    const within = [a, b].every(([x, y]) => x > 4 && y > 4 && x < small.width - 4 && y < small.height - 4);
    if (within && line.support(a, b) > 0.5) {
      start ??= t;
      if (!best || t + step - start > best[1] - best[0]) best = [start, t + step];
    } else start = null;
  }
  if (!best || best[1] - best[0] < LEAST_SHARE * Math.max(small.width, small.height)) return null;
  const [from, to] = best.map((t) => at(t).map((v) => v * small.scale) as unknown as Pair) as [Pair, Pair];
  const edge = fitEdge(photo, from, to, {
    reachPx: 3 * small.scale,
    trim: 0.01,
    peaks: 2,
    tolerancePx: Math.max(2, 1.2 * small.scale),
    everyPx: 6,
  });
  return edge && edge.points.length >= LEAST_POINTS && edge.support > 0.6 ? [edge.points] : null;
}

/** How much the term would have to change for these points to lie straight, with its error. */
function bowOf(photo: Photo, points: readonly Pair[], lens: number): { shift: number; error: number } {
  const straight = points.map((p) => straighten(photo, lens, p));
  const { residual, normal, place } = throughPoints(straight);
  const [cx, cy] = [photo.width / 2, photo.height / 2];
  const pull = points.map(([x, y]) => {
    const r2 = ((x - cx) ** 2 + (y - cy) ** 2) / (cx * cx + cy * cy);
    return ((x - cx) * normal[0] + (y - cy) * normal[1]) * r2;
  });
  const free = withoutLine(pull, place);
  const weights = residual.map((r) => Math.min(1, HUBER_PX / Math.max(1e-9, Math.abs(r))));
  const information = free.reduce((s, d, i) => s + weights[i]! * d * d, 0);
  const shift = -free.reduce((s, d, i) => s + weights[i]! * d * residual[i]!, 0) / Math.max(1e-9, information);
  const left = residual.reduce((s, r, i) => s + weights[i]! * (r + shift * free[i]!) ** 2, 0) / points.length;
  // neighbouring points err alike: as if only a quarter of them were there
  return { shift, error: 2 * Math.sqrt((left + 0.01) / Math.max(1e-9, information)) };
}

/** Straight line through points by total least squares: signed distances, and places along it. */
function throughPoints(points: readonly Pair[]) {
  const n = points.length;
  const [mx, my] = [points.reduce((s, p) => s + p[0], 0) / n, points.reduce((s, p) => s + p[1], 0) / n];
  const [xx, xy, yy] = points.reduce(
    ([a, b, c], [x, y]) => [a + (x - mx) ** 2, b + (x - mx) * (y - my), c + (y - my) ** 2] as [number, number, number],
    [0, 0, 0] as [number, number, number],
  );
  const angle = 0.5 * Math.atan2(2 * xy, xx - yy);
  const normal: Pair = [-Math.sin(angle), Math.cos(angle)];
  return {
    normal,
    residual: points.map(([x, y]) => (x - mx) * normal[0] + (y - my) * normal[1]),
    place: points.map(([x, y]) => (x - mx) * Math.cos(angle) + (y - my) * Math.sin(angle)),
  };
}

/** What of the values no straight line over the places explains. */
function withoutLine(values: readonly number[], places: readonly number[]): number[] {
  const n = values.length;
  const mean = values.reduce((s, v) => s + v, 0) / n;
  const centre = places.reduce((s, p) => s + p, 0) / n;
  const spread = places.reduce((s, p) => s + (p - centre) ** 2, 0);
  const slope = values.reduce((s, v, i) => s + (v - mean) * (places[i]! - centre), 0) / Math.max(1e-9, spread);
  return values.map((v, i) => v - mean - slope * (places[i]! - centre));
}

function weightedMedian(votes: readonly { shift: number; error: number }[]): number {
  const sorted = votes.toSorted((a, b) => a.shift - b.shift);
  const total = sorted.reduce((s, v) => s + 1 / v.error, 0);
  let passed = 0;
  for (const { shift, error } of sorted) {
    passed += 1 / error;
    if (passed >= total / 2) return shift;
  }
  return 0;
}
