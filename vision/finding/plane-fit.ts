import type { Pair } from "../geometry.ts";
import { invert, project } from "../homography.ts";
import { bend, straighten } from "../lens-bulge.ts";
import { type Deck, type DeckPoint, deckPoint, type Photo, photoPoint, type View } from "../stages.ts";

/**
 * One standard error of the radial term when nothing tells it: the bulge that is left in a phone's main camera after its own
 * correction. From memory: tests of phone cameras mostly report less than 1 % at the picture's corner.
 */
export const LENS_ERROR = 0.004;

/** A known place on the deck seen in the photo. */
export interface Sight {
  readonly px: Pair;
  readonly mm: Pair;
  /** One standard error of each pixel coordinate. */
  readonly errorPx: number;
  /** Sights of one group share one error of their place on the deck. */
  readonly group?: number;
}
/** One standard error of a group's place on the deck, each way, mm. */
export interface FitOptions {
  readonly placeMm: number;
  readonly lens: number;
  readonly lensError: number;
}
export interface PlaneFit {
  /** Deck mm → lens-corrected pixel, row-major, last entry 1. */
  readonly deckToPhoto: readonly number[];
  /** Misfit of each sight, pixels. */
  readonly residualPx: readonly number[];
  /** Misfit over what the stated errors let expect: about 1 when all is well, null with no more sights than needed. */
  readonly strain: number | null;
  readonly errorAt: View["errorAt"];
}

/**
 * The homography that puts known places on the deck where they are seen, least squares in pixels. A group of sights may
 * shift as one by its place's error; how its sights lie to each other is held to the pixel errors.
 *
 * Errors: each pixel, each group's place and the lens are moved by one standard error, the answer's shift follows from the
 * normal equations, and shifts of a mapped point add in quadrature (Hartley & Zisserman, Multiple View Geometry, 2nd ed.
 * (2004), section 5.2, first order). A misfit larger than the stated errors let expect raises all of them alike.
 *
 * @param start  A first deck-to-photo homography, near enough for Gauss–Newton steps.
 */
export function fitPlane(
  photo: Pick<Photo, "width" | "height">,
  sights: readonly Sight[],
  start: readonly number[],
  { placeMm, lens, lensError }: FitOptions,
): PlaneFit {
  const size = Math.hypot(photo.width, photo.height) / 2;
  const seen = sights.map(({ px }) => straighten(photo, lens, px));
  // Scaled unknowns: mm in units of `far`, so that the normal equations stay well conditioned.
  const far = Math.max(...sights.map(({ mm }) => Math.hypot(...mm)), 1);
  const scale = [1 / far, 1 / far, 1, 1 / far, 1 / far, 1, 1 / far, 1 / far].map((s, i) => (i < 6 ? s * size : s));
  // After the eight of the homography come two for each group: how far it lies from its stated place, in units of placeMm.
  const groups = [...new Set(sights.flatMap((s) => s.group ?? []))];
  const unknowns = 8 + 2 * groups.length;
  const weights = sights.flatMap(({ errorPx }) => [1 / errorPx ** 2, 1 / errorPx ** 2]);
  let h = [...start];
  let places = new Array<number>(2 * groups.length).fill(0);
  let rows: number[][] = [];
  let normal: number[][] = [];
  const placeOf = (group: number | undefined) => (group === undefined ? -1 : groups.indexOf(group));
  const moved = ({ mm, group }: Sight): Pair => {
    const k = placeOf(group);
    return k < 0 ? mm : [mm[0] + placeMm * places[2 * k]!, mm[1] + placeMm * places[2 * k + 1]!];
  };
  const misfitOf = () =>
    sights.flatMap((sight, i) => {
      const [x, y] = project(h, moved(sight));
      return [seen[i]![0] - x, seen[i]![1] - y];
    });
  for (let step = 0; step < 15; step++) {
    rows = jacobian(h, sights.map(moved), scale).map((row, k) => {
      const sight = sights[k >> 1]!;
      const group = placeOf(sight.group);
      const full = [...row, ...new Array<number>(2 * groups.length).fill(0)];
      if (group >= 0) {
        for (const axis of [0, 1]) full[8 + 2 * group + axis] = placeMm * stepOf(h, moved(sight), axis)[k & 1]!;
      }
      return full;
    });
    const sum = normalMatrix(rows, weights);
    for (let i = 8; i < unknowns; i++) sum[i]![i]! += 1;
    normal = inverseOf(sum);
    const right = pull(rows, weights, misfitOf());
    places.forEach((place, i) => {
      right[8 + i]! -= place;
    });
    const move = times(normal, right);
    h = h.map((value, i) => (i < 8 ? value + move[i]! * scale[i]! : 1));
    places = places.map((place, i) => place + move[8 + i]!);
    if (move.every((m) => Math.abs(m) < 1e-9)) break;
  }
  const misfit = misfitOf();
  const residualPx = sights.map((_, i) => Math.hypot(misfit[2 * i]!, misfit[2 * i + 1]!));
  const freedom = 2 * sights.length - 8;
  const chi =
    misfit.reduce((total, r, k) => total + r * r * weights[k]!, 0) + places.reduce((total, p) => total + p * p, 0);
  const strain = freedom > 0 ? Math.sqrt(chi / freedom) : null;
  const raise = Math.max(1, strain ?? 1);
  const modes: { h: number[]; lens: number }[] = [];
  const add = (right: readonly number[], lensBy = 0) => {
    const move = times(normal, right);
    modes.push({ h: h.map((v, i) => (i < 8 ? v + move[i]! * scale[i]! : 1)), lens: lens + lensBy });
  };
  const pixels = () => new Array<number>(2 * sights.length).fill(0);
  for (let k = 0; k < 2 * sights.length; k++) {
    const right = pixels();
    right[k] = sights[k >> 1]!.errorPx * raise;
    add(pull(rows, weights, right));
  }
  for (let i = 8; i < unknowns; i++) add(Array.from({ length: unknowns }, (_, k) => (k === i ? raise : 0)));
  if (lensError > 0) {
    const right = sights.flatMap(({ px }, i) => {
      const bent = straighten(photo, lens + lensError, px);
      return [bent[0] - seen[i]![0], bent[1] - seen[i]![1]];
    });
    add(pull(rows, weights, right), lensError);
  }
  const inverses = modes.map((mode) => ({ photoToDeck: invert(mode.h), lens: mode.lens }));
  const errorAt = ({ x, y }: DeckPoint): [number, number] => {
    const pixel = bend(photo, lens, project(h, [x, y]));
    let [xx, yy] = [0, 0];
    for (const mode of inverses) {
      const [u, v] = project(mode.photoToDeck, straighten(photo, mode.lens, pixel));
      xx += (u - x) ** 2;
      yy += (v - y) ** 2;
    }
    return [Math.sqrt(xx), Math.sqrt(yy)];
  };
  return { deckToPhoto: h, residualPx, strain, errorAt };
}

/** A view from a fit. */
export function viewOf(
  fit: Pick<PlaneFit, "deckToPhoto" | "errorAt">,
  photo: Pick<Photo, "width" | "height">,
  deck: Deck,
  about: Pick<View, "source" | "lens" | "orientationConfidence">,
): View {
  return {
    ...about,
    photoToDeck: invert(fit.deckToPhoto),
    errorMm: rmsError(deck, fit.errorAt),
    cornersPx: deck.outline.map(({ x, y }) =>
      photoPoint([...bend(photo, about.lens, project(fit.deckToPhoto, [x, y]))]),
    ),
    errorAt: fit.errorAt,
  };
}

/** One standard error of a mapped point, RMS over the deck, mm. */
export function rmsError({ lengthMm, widthMm }: Pick<Deck, "lengthMm" | "widthMm">, errorAt: View["errorAt"]): number {
  let sum = 0;
  for (let i = 0; i <= 8; i++) {
    for (let j = 0; j <= 4; j++) {
      const [x, y] = errorAt(deckPoint([(i / 8) * lengthMm, (j / 4) * widthMm]));
      sum += x * x + y * y;
    }
  }
  return Math.sqrt(sum / 45);
}

/** How the pixel moves with one mm along one axis of the deck. */
function stepOf(h: readonly number[], mm: Pair, axis: number): Pair {
  const [x, y] = project(h, mm);
  const [u, v] = project(h, axis === 0 ? [mm[0] + 1, mm[1]] : [mm[0], mm[1] + 1]);
  return [u - x, v - y];
}

/** Two rows a sight: how its pixel moves with each scaled unknown. */
function jacobian(h: readonly number[], places: readonly Pair[], scale: readonly number[]): number[][] {
  return places.flatMap(([x, y]) => {
    const w = h[6]! * x + h[7]! * y + 1;
    const u = (h[0]! * x + h[1]! * y + h[2]!) / w;
    const v = (h[3]! * x + h[4]! * y + h[5]!) / w;
    const rowU = [x / w, y / w, 1 / w, 0, 0, 0, (-u * x) / w, (-u * y) / w];
    const rowV = [0, 0, 0, x / w, y / w, 1 / w, (-v * x) / w, (-v * y) / w];
    return [rowU, rowV].map((row) => row.map((value, i) => value * scale[i]!));
  });
}

function normalMatrix(rows: readonly number[][], weights: readonly number[]): number[][] {
  const n = rows[0]!.length;
  const sum = Array.from({ length: n }, () => new Array<number>(n).fill(0));
  rows.forEach((row, k) => {
    for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) sum[i]![j]! += weights[k]! * row[i]! * row[j]!;
  });
  return sum;
}

function pull(rows: readonly number[][], weights: readonly number[], right: readonly number[]): number[] {
  const sum = new Array<number>(rows[0]!.length).fill(0);
  rows.forEach((row, k) => {
    if (right[k] === 0) return;
    row.forEach((value, i) => {
      sum[i]! += weights[k]! * value * right[k]!;
    });
  });
  return sum;
}

const times = (matrix: readonly number[][], vector: readonly number[]): number[] =>
  matrix.map((row) => row.reduce((s, value, i) => s + value * vector[i]!, 0));

/** Inverse of a small positive matrix: Gauss–Jordan with pivots; a hint of ridge keeps a hopeless case finite. */
function inverseOf(matrix: readonly number[][]): number[][] {
  const n = matrix.length;
  const trace = matrix.reduce((s, row, i) => s + row[i]!, 0);
  const work = matrix.map((row, i) => [
    ...row.map((v, j) => (i === j ? v + 1e-13 * trace : v)),
    ...row.map((_, j) => (i === j ? 1 : 0)),
  ]);
  for (let c = 0; c < n; c++) {
    let pivot = c;
    for (let r = c + 1; r < n; r++) if (Math.abs(work[r]![c]!) > Math.abs(work[pivot]![c]!)) pivot = r;
    [work[c], work[pivot]] = [work[pivot]!, work[c]!];
    const by = work[c]![c]!;
    work[c] = work[c]!.map((v) => v / by);
    for (let r = 0; r < n; r++) {
      if (r === c) continue;
      const factor = work[r]![c]!;
      work[r] = work[r]!.map((v, i) => v - factor * work[c]![i]!);
    }
  }
  return work.map((row) => row.slice(n));
}
