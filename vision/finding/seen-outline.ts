import { type Pair, signedArea } from "../geometry.ts";
import { invert, squareTo } from "../homography.ts";
import type { DeckEyes, DeckLook } from "../model/deck-look.ts";
import type { OpenCv } from "../opencv.ts";
import type { Deck, Photo } from "../stages.ts";
import { drawnToEdges, type EdgeSearch } from "./edge-line.ts";
import { slidToShape } from "./known-shape.ts";
import { meetPoints } from "./outline.ts";
import { strangeness } from "./outline-cues.ts";
import { shrink } from "./pixels.ts";
import { onBestLines } from "./side-lines.ts";

/** A quadrilateral whose corners are those of the deck's main sides, in their order, photo pixels. */
export interface SeenOutline {
  readonly corners: readonly Pair[];
  /** One standard error of each corner's coordinates, photo pixels. */
  readonly errorsPx: readonly number[];
  /** Chance that it lies this way round, among all eight; the corners are of the deck's hand when a deck file states it. */
  readonly wayRound: number;
  /** The hand that the deck looks to have, and the chance of the likeliest way round of that hand, among all eight. */
  readonly hand: "right" | "left";
  readonly handChance: number;
  /** Mean chance, along its sides, that a side shows there, 0 to 1. */
  readonly support: number;
  /** How well the deck plane fills it: overlap over union, 0 to 1. */
  readonly overlap: number;
}

/** Photos are looked at, and their sides drawn to edges, at these longer sides, px; and how far beside a side an edge is sought. */
const LOOK_PX = 800;
const FINE_PX = 1600;
const LOOK_REACH_PX = 8;
const FINE_REACH_PX = 4;
/** Peaks kept when corners are told apart by place alone. */
const PEAKS = 6;
/** Cells to each side of a side in which its line is sought, and rounds of doing so. */
const REACH = 4;
const ROUNDS = 3;
/** A stranger shape of deck than this counts no more against a way round. */
const STRANGEST = 6;
/** What a strange shape takes from the worth of lying on other edges, and from where on no more (on scenes of odd seeds). */
const STRANGE_COSTS = 0.02;
const STRANGEST_SHAPE = 4;
/**
 * One standard error of a corner's coordinates where its sides are seen this clearly (`support`), as a share of the longest side, and by which
 * power it grows where they are not. It covers rims taken for deck (on scenes of odd seeds: DEVELOPERS.md).
 */
const LEAST_ERROR = 0.004;
const CLEAR = 0.88;
const DIMMER = 6;

/**
 * The deck as the networks see it: the quadrilateral that the planes of corners, sides and deck agree on best, its sides drawn
 * to the plane of sides and then to straight edges of the photo, turned the way the second network says.
 *
 * @param main  The deck's four main corners, mm.
 * @param firstCorner  A tap near the first of them, photo pixels: only ways round that put it nearest count.
 * @returns null when the planes show no quadrilateral.
 */
export function seeOutline(
  cv: OpenCv,
  eyes: DeckEyes,
  photo: Photo,
  deck: Deck,
  main: readonly Pair[],
  firstCorner?: Pair,
): SeenOutline | null {
  const small = shrink(cv, photo, LOOK_PX);
  const look = eyes.seeDeck(small);
  let corners: readonly Pair[] | null = bestQuad(look);
  if (!corners) return null;
  for (let round = 0; round < ROUNDS; round++) corners = drawnToSides(look, corners);
  const [overlap, support] = [overlapOf(look, corners), supportOf(look, corners)];
  corners = corners.map(([x, y]): Pair => [(x / look.size) * small.width, (y / look.size) * small.height]);
  corners = drawnToEdges(small, corners, { ...EDGES, reachPx: LOOK_REACH_PX });
  const tapped = firstCorner && ([firstCorner[0] / small.scale, firstCorner[1] / small.scale] as const);
  const way = turned(eyes, small, corners, deck, main, tapped);
  const worth = worthIn(look, small);
  const strange = strangeIn(small, deck, main);
  const shaped = deck.scale === "deck file" ? ofKnownShape(small, way.corners, strange, worth) : way.corners;
  const seated = onBestLines(
    small,
    shaped,
    (some) => worth(some) - STRANGE_COSTS * Math.min(STRANGEST_SHAPE, strange(some)),
  );
  const full = seated.corners.map(([x, y]): Pair => [x * small.scale, y * small.scale]);
  const atLeast = LEAST_ERROR * Math.exp(DIMMER * Math.max(0, CLEAR - support)) * longestSide(full);
  const errorsPx = seated.doubtPx.map((px) => Math.hypot(atLeast, px * small.scale));
  return { ...way, corners: drawnNear(cv, photo, full), errorsPx, overlap, support };
}

const longestSide = (corners: readonly Pair[]) =>
  Math.max(...corners.map(([x, y], k) => Math.hypot(x - corners[(k + 1) % 4]![0], y - corners[(k + 1) % 4]![1])));

type OfCorners = (corners: readonly Pair[]) => number;

/** How well corners, px of the small photo, fit the planes of deck and sides, about 0 to 2. */
const worthIn =
  (look: DeckLook, small: Photo): OfCorners =>
  (corners) => {
    const cells = corners.map(([x, y]): Pair => [(x / small.width) * look.size, (y / small.height) * look.size]);
    const turn = signedArea(cells) < 0 ? cells.reverse() : cells;
    return overlapOf(look, turn) + supportOf(look, turn);
  };

const strangeIn = (small: Photo, deck: Deck, main: readonly Pair[]): OfCorners => {
  const fromMain = invert(squareTo(main));
  return (corners) => strangeness(small, corners, fromMain, deck);
};

/** Corners in the outline's order, px of the small photo; when the deck cannot look so, one of them slid along a side. */
function ofKnownShape(small: Photo, corners: readonly Pair[], strange: OfCorners, worth: OfCorners) {
  const slid = slidToShape(corners, strange, worth);
  return slid === corners ? corners : drawnToEdges(small, slid, { ...EDGES, reachPx: LOOK_REACH_PX });
}

/** Corners, photo pixels, whose sides are drawn to straight edges close by. */
export function drawnNear(cv: OpenCv, photo: Photo, corners: readonly Pair[]): Pair[] {
  const { scale, ...fine } = shrink(cv, photo, FINE_PX);
  const scaled = corners.map(([x, y]): Pair => [x / scale, y / scale]);
  return drawnToEdges(fine, scaled, { ...EDGES, reachPx: FINE_REACH_PX }).map(([x, y]): Pair => [x * scale, y * scale]);
}
const EDGES: Omit<EdgeSearch, "reachPx"> = {
  peaks: 4,
  trim: 0.04,
  tolerancePx: 1,
  nearFirst: 0.6,
  everyPx: 3,
  leastStep: 6,
};

/** The convex quadrilateral of corner peaks that deck and sides fill best, clockwise, in cells. */
function bestQuad(look: DeckLook): Pair[] | null {
  let best: { corners: Pair[]; worth: number } | null = null;
  for (const quad of [namedQuad(look), ...peakQuads(look)]) {
    const corners = clockwise(quad);
    if (!corners) continue;
    const worth = overlapOf(look, corners) + supportOf(look, corners);
    if (!best || worth > best.worth) best = { corners, worth };
  }
  return best?.corners ?? null;
}

/** The likeliest place of each named corner. */
function namedQuad({ corners, size }: DeckLook): Pair[] {
  return corners.map((plane) => {
    let best = 0;
    for (let i = 1; i < plane.length; i++) if (plane[i]! > plane[best]!) best = i;
    return centred(plane, size, best);
  });
}

/** Quadrilaterals of the strongest corner places, whatever their names. */
function peakQuads({ corners, size }: DeckLook): Pair[][] {
  const sum = corners[0]!.map((_, i) => Math.max(...corners.map((plane) => plane[i]!)));
  const peaks: Pair[] = [];
  const left = sum.slice();
  for (let n = 0; n < PEAKS; n++) {
    let best = 0;
    for (let i = 1; i < left.length; i++) if (left[i]! > left[best]!) best = i;
    if (left[best]! < 0.08) break;
    peaks.push(centred(sum, size, best));
    const [x, y] = [best % size, Math.floor(best / size)];
    for (let row = Math.max(0, y - 8); row <= Math.min(size - 1, y + 8); row++) {
      left.fill(0, row * size + Math.max(0, x - 8), row * size + Math.min(size, x + 9));
    }
  }
  const quads: Pair[][] = [];
  for (let a = 0; a < peaks.length; a++)
    for (let b = a + 1; b < peaks.length; b++)
      for (let c = b + 1; c < peaks.length; c++)
        for (let d = c + 1; d < peaks.length; d++) quads.push([peaks[a]!, peaks[b]!, peaks[c]!, peaks[d]!]);
  return quads;
}

/** Mean place of a peak's cells, in cells from the outer corner. */
function centred(plane: Float32Array, size: number, best: number): Pair {
  let [sum, sx, sy] = [0, 0, 0];
  const [x, y] = [best % size, Math.floor(best / size)];
  for (let row = Math.max(0, y - 3); row <= Math.min(size - 1, y + 3); row++) {
    for (let column = Math.max(0, x - 3); column <= Math.min(size - 1, x + 3); column++) {
      const p = plane[row * size + column]!;
      sum += p;
      sx += p * (column + 0.5);
      sy += p * (row + 0.5);
    }
  }
  return sum > 0 ? [sx / sum, sy / sum] : [x + 0.5, y + 0.5];
}

/** The four points in clockwise order (y down); null when they make no convex quadrilateral of some size. */
function clockwise(points: readonly Pair[]): Pair[] | null {
  const [cx, cy] = [0, 1].map((k) => points.reduce((s, p) => s + p[k]!, 0) / 4) as [number, number];
  const order = points.toSorted((a, b) => Math.atan2(a[1] - cy, a[0] - cx) - Math.atan2(b[1] - cy, b[0] - cx));
  const convex = order.every((p, k) => {
    const [q, r] = [order[(k + 1) % 4]!, order[(k + 2) % 4]!];
    return (q[0] - p[0]) * (r[1] - q[1]) - (q[1] - p[1]) * (r[0] - q[0]) > 20;
  });
  return convex && signedArea(order) > 400 ? order : null;
}

/** Overlap over union of a convex quadrilateral, clockwise, and the deck plane, both as shares; cells count by their middles. */
function overlapOf(look: DeckLook, corners: readonly Pair[]): number {
  const { size } = look;
  const { sums, all } = rowSums(look);
  let [both, cells] = [0, 0];
  for (let row = 0; row < size; row++) {
    let [from, to] = [0, size];
    for (let k = 0; k < 4; k++) {
      const [[x, y], [u, v]] = [corners[k]!, corners[(k + 1) % 4]!];
      // inside is a·x + b·y + c > 0
      const [a, rest] = [y - v, (u - x) * (row + 0.5) + x * (v - y) - y * (u - x)];
      if (a > 0) from = Math.max(from, Math.floor(-rest / a - 0.5) + 1);
      else if (a < 0) to = Math.min(to, Math.ceil(-rest / a - 0.5));
      else if (rest <= 0) to = 0;
    }
    if (to <= from) continue;
    both += sums[row * (size + 1) + to]! - sums[row * (size + 1) + from]!;
    cells += to - from;
  }
  return both / (cells + all - both + 1e-6);
}

interface RowSums {
  /** Along each row up to each cell, `size × (size + 1)`. */
  readonly sums: Float64Array;
  readonly all: number;
}
const summed = new WeakMap<DeckLook, RowSums>();
/** The deck plane summed, once a look. */
function rowSums(look: DeckLook): RowSums {
  const held = summed.get(look);
  if (held) return held;
  const { deck, size } = look;
  const sums = new Float64Array(size * (size + 1));
  for (let row = 0; row < size; row++) {
    for (let column = 0; column < size; column++) {
      const i = row * (size + 1) + column;
      sums[i + 1] = sums[i]! + deck[row * size + column]!;
    }
  }
  const made = { sums, all: deck.reduce((sum, chance) => sum + chance, 0) };
  summed.set(look, made);
  return made;
}

const at = (plane: Float32Array, size: number, x: number, y: number) => {
  const [u, v] = [Math.min(size - 1.001, Math.max(0, x - 0.5)), Math.min(size - 1.001, Math.max(0, y - 0.5))];
  const i = Math.floor(v) * size + Math.floor(u);
  const [fu, fv] = [u - Math.floor(u), v - Math.floor(v)];
  return (
    (plane[i]! * (1 - fu) + plane[i + 1]! * fu) * (1 - fv) +
    (plane[i + size]! * (1 - fu) + plane[i + size + 1]! * fu) * fv
  );
};

function supportOf({ sides, size }: DeckLook, corners: readonly Pair[]): number {
  let sum = 0;
  corners.forEach(([x, y], k) => {
    const [u, v] = corners[(k + 1) % 4]!;
    for (let t = 0.05; t < 0.96; t += 0.05) sum += at(sides, size, x + t * (u - x), y + t * (v - y)) / 76;
  });
  return sum;
}

/** Each side moved to the line through the plane of sides beside it (weighted least squares), and the lines crossed. In cells. */
function drawnToSides({ sides, size }: DeckLook, corners: readonly Pair[]): readonly Pair[] {
  const lines = corners.map(([x, y], k) => {
    const [u, v] = corners[(k + 1) % 4]!;
    const length = Math.hypot(u - x, v - y);
    const [dx, dy] = [(u - x) / length, (v - y) / length];
    // across = a + b · along, by weight
    let [w0, w1, w2, c0, c1] = [1e-9, 0, 0, 0, 0];
    for (let n = 0; n < 60; n++) {
      const t = length * (0.03 + (0.94 * (n + 0.5)) / 60);
      for (let across = -REACH; across <= REACH; across += 0.5) {
        const [px, py] = [x + dx * t - dy * across, y + dy * t + dx * across];
        if (px < 0 || py < 0 || px > size || py > size) continue;
        const weight = at(sides, size, px, py) ** 2 * (1 - Math.abs(across) / (REACH + 1));
        const along = t - length / 2;
        w0 += weight;
        w1 += weight * along;
        w2 += weight * along * along;
        c0 += weight * across;
        c1 += weight * along * across;
      }
    }
    const det = w0 * w2 - w1 * w1;
    const sure = w0 > 6 && det > 1e-6;
    const [a, b] = sure ? [(c0 * w2 - c1 * w1) / det, (c1 * w0 - c0 * w1) / det] : [0, 0];
    const place = (along: number): Pair => {
      const across = a + b * (along - length / 2);
      return [x + dx * along - dy * across, y + dy * along + dx * across];
    };
    return [place(0), place(length)] as const;
  });
  return corners.map((corner, k) => {
    const [[a, b], [c, d]] = [lines[(k + 3) % 4]!, lines[k]!];
    const met = meetPoints(a, b, c, d);
    return Math.hypot(met[0] - corner[0], met[1] - corner[1]) < 3 * REACH ? met : corner;
  });
}

/** The corners in the outline's order: by what the deck shows, and by which order gives the deck a shape it can have. */
function turned(
  eyes: DeckEyes,
  small: Photo,
  quad: readonly Pair[],
  deck: Deck,
  main: readonly Pair[],
  firstCorner?: Pair,
) {
  const chances = eyes.seeWayRound(small, quad);
  const fromMain = invert(squareTo(main));
  const far = ([x, y]: Pair) => (firstCorner ? Math.hypot(x - firstCorner[0], y - firstCorner[1]) : 0);
  const nearest = Math.min(...quad.map(far));
  const ways = chances.map((chance, way) => {
    const mirrored = way >= 4;
    // quad is clockwise, as a right-hand deck's outline
    const hand = mirrored ? ("left" as const) : ("right" as const);
    const corners = new Array<Pair>(4);
    quad.forEach((p, j) => {
      const k = (j + way) % 4;
      corners[mirrored ? [1, 0, 3, 2][k]! : k] = p;
    });
    const strange = Math.min(STRANGEST, strangeness(small, corners, fromMain, deck));
    const weight = far(corners[0]!) > nearest ? 0 : (chance + 1e-4) * Math.exp(-strange);
    return { corners, hand, weight };
  });
  const sum = (some: typeof ways) => some.reduce((s, { weight }) => s + weight, 0);
  const likeliest = (some: typeof ways) => some.reduce((a, b) => (b.weight > a.weight ? b : a));
  const allowed = deck.scale === "deck file" ? ways.filter(({ hand }) => hand === deck.hand) : ways;
  const best = likeliest(allowed);
  const { hand, weight } = likeliest(ways);
  // who has said where the first corner lies, and of which hand the deck is, has said all
  const wayRound = best.weight / sum(firstCorner ? allowed : ways);
  return { corners: best.corners, hand, handChance: weight / sum(ways), wayRound };
}
