import { type Pair, signedArea } from "../geometry.ts";
import { invert, squareTo } from "../homography.ts";
import type { OpenCv } from "../opencv.ts";
import type { Deck, Photo, View } from "../stages.ts";
import { fitHomography } from "../view.ts";
import { crossing, fitEdge } from "./edge-line.ts";
import { colourCue, riffleCue, strangeness } from "./outline-cues.ts";
import { shrink } from "./pixels.ts";
import { fitPlane, LENS_ERROR, type Sight, viewOf } from "./plane-fit.ts";
import { findLines, type Line, meet, type Straights } from "./straight-lines.ts";

/** One way the deck may lie in the photo. */
export interface OutlineCandidate {
  readonly view: View;
  /** Share of belief among the candidates, 0 to 1. */
  readonly belief: number;
}

/** Longest side of the picture searched, px. */
const SEARCH_PX = 720;
/** The deck fills at least this share of the picture, and at most that. */
const AREA_SHARE = [0.08, 0.95] as const;
/** Mean and least share of a side that must follow an edge. */
const MEAN_SUPPORT = 0.45;
const LEAST_SUPPORT = 0.2;
/** Stranger views of the deck than this are not believed. */
const STRANGEST = 8;
/** Between equals the larger quadrilateral is the deck: riffles inside it make smaller ones. */
const AREA_WEIGHT = 1.2;
const COLOUR_WEIGHT = 3;
/** Rims and folds run beside the true sides: one standard error of which of them was taken, mm (common practice: rims are some 20 to 30 mm wide). */
const RIM_MM = 25;
/** Pairs of sides kept in each sixth of all directions, and quadrilaterals judged by their shape. */
const SECTOR_PAIRS = 260;
const MOST_QUADS = 12_000;
/** Guesses settled further, how far beside their sides edges are sought, px of the searched picture, and edges kept for each. */
const SEEDS = 3;
const NEAR_PX = 18;
const NEAR_SIDES = 11;
/** Guesses whose colours are looked at. */
const LOOKED_AT = 160;
/** Candidates followed to the end. */
const KEPT = 60;

interface Guess {
  /** Four corners, in the order of the deck's main sides. */
  readonly corners: readonly Pair[];
  readonly score: number;
}

/**
 * The deck found by its own straight edges, without corners or marks: best first.
 *
 * Straight lines are found; each two that may be the deck's long sides and each two that may be its ends make a quadrilateral;
 * it is scored by how much of its sides follows an edge and by whether a phone's camera could see this deck so. The best are
 * fitted at full size. How far rivals lie apart goes into `errorMm`: rims, riffles and launders run beside the true sides.
 *
 * @returns null when nothing fits: no deck, or not this one.
 */
export function findOutline(cv: OpenCv, photo: Photo, deck: Deck): OutlineCandidate[] | null {
  const small = shrink(cv, photo, SEARCH_PX);
  const straights = findLines(cv, small);
  const main = mainCorners(deck);
  const guesses = guessAll(straights, small, deck, main);
  if (guesses.length === 0) return null;
  return followed(cv, photo, small, straights, deck, main, guesses);
}

/** The deck's four main sides, extended until they meet: the outline itself when it has four corners. */
export function mainCorners(deck: Deck): Pair[] {
  const outline = deck.outline.map(({ x, y }): Pair => [x, y]);
  if (outline.length === 4) return outline;
  const n = outline.length;
  const sides = outline.map((p, i) => ({
    i,
    length: Math.hypot(outline[(i + 1) % n]![0] - p[0], outline[(i + 1) % n]![1] - p[1]),
  }));
  const four = sides
    .sort((a, b) => b.length - a.length)
    .slice(0, 4)
    .map(({ i }) => i)
    .sort((a, b) => a - b);
  return four.map((_, k) => {
    const [before, after] = [four[(k + 3) % 4]!, four[k]!];
    return meetPoints(outline[before]!, outline[(before + 1) % n]!, outline[after]!, outline[(after + 1) % n]!);
  });
}

/** Where the lines through a, b and through c, d meet; not finite when they are parallel. */
export function meetPoints(a: Pair, b: Pair, c: Pair, d: Pair): Pair {
  const [r, s]: [Pair, Pair] = [
    [b[0] - a[0], b[1] - a[1]],
    [d[0] - c[0], d[1] - c[1]],
  ];
  const t = ((c[0] - a[0]) * s[1] - (c[1] - a[1]) * s[0]) / (r[0] * s[1] - r[1] * s[0]);
  return [a[0] + t * r[0], a[1] + t * r[1]];
}

/** Every sensible quadrilateral, best first. */
function guessAll(straights: Straights, small: Photo, deck: Deck, main: readonly Pair[]): Guess[] {
  const pairs = pairsOf(straights.lines, small);
  const fromMain = invert(squareTo(main));
  const mirrored = deck.hand === "left" && deck.scale === "deck file";
  const quads: { corners: Pair[]; plain: number }[] = [];
  for (let i = 0; i < pairs.length; i++) {
    for (let j = i + 1; j < pairs.length; j++) {
      const quad = quadOf(pairs[i]!, pairs[j]!, small);
      if (quad) quads.push({ corners: quad.corners, plain: 4 * quad.support + AREA_WEIGHT * Math.sqrt(quad.area) });
    }
  }
  quads.sort((a, b) => b.plain - a.plain);
  const guesses: Guess[] = [];
  for (const { corners, plain } of quads.slice(0, MOST_QUADS)) {
    const way = mirrored ? [0, 3, 2, 1].map((k) => corners[k]!) : corners;
    for (let turn = 0; turn < 4; turn++) {
      const placed = [0, 1, 2, 3].map((k) => way[(k + turn) % 4]!);
      const strange = strangeness(small, placed, fromMain, deck);
      if (strange <= STRANGEST) guesses.push({ corners: placed, score: plain - 0.5 * strange });
    }
  }
  const coloured = withColour(guesses, small, fromMain, deck);
  const settled = distinct(coloured, small, SEEDS).flatMap((seed) => settle(seed, straights, small, fromMain, deck));
  return withColour(settled, small, fromMain, deck).slice(0, KEPT);
}

/** The best by edges and shape, with how their colours part added. */
const withColour = (guesses: readonly Guess[], small: Photo, fromMain: readonly number[], deck: Deck): Guess[] =>
  guesses
    .toSorted((a, b) => b.score - a.score)
    .slice(0, LOOKED_AT)
    .map((guess) => ({
      ...guess,
      score: guess.score + COLOUR_WEIGHT * colourCue(small, guess.corners, fromMain, deck),
    }))
    .sort((a, b) => b.score - a.score);

/** The best few that lie or are turned differently. */
function distinct(guesses: readonly Guess[], { width }: Photo, most: number): Guess[] {
  const chosen: Guess[] = [];
  for (const guess of guesses) {
    const far = (other: Guess) =>
      guess.corners.some((p, k) => Math.hypot(p[0] - other.corners[k]![0], p[1] - other.corners[k]![1]) > 0.03 * width);
    if (chosen.every(far)) chosen.push(guess);
    if (chosen.length === most) break;
  }
  return chosen;
}

/**
 * Near one guess, every place of each side that an edge follows, also edges too weak or too crowded to be found as lines;
 * and every four of them, scored like any other.
 */
function settle(seed: Guess, straights: Straights, small: Photo, fromMain: readonly number[], deck: Deck): Guess[] {
  const sides = seed.corners.map((from, k) => nearbySides(from, seed.corners[(k + 1) % 4]!, straights));
  const found: Guess[] = [];
  const clockwise = signedArea(seed.corners) > 0;
  const [s0, s1, s2, s3] = sides as [Side[], Side[], Side[], Side[]];
  for (const a of s0) {
    for (const b of s1) {
      const c1 = meetPoints(a.from, a.to, b.from, b.to);
      for (const c of s2) {
        const c2 = meetPoints(b.from, b.to, c.from, c.to);
        for (const d of s3) {
          const corners = [meetPoints(d.from, d.to, a.from, a.to), c1, c2, meetPoints(c.from, c.to, d.from, d.to)];
          const turned = signedArea(corners);
          if (turned > 0 !== clockwise) continue;
          const strange = strangeness(small, corners, fromMain, deck);
          if (strange > STRANGEST) continue;
          const mean = (a.support + b.support + c.support + d.support) / 4;
          const support = mean + 0.5 * Math.min(a.support, b.support, c.support, d.support);
          const area = Math.abs(turned) / (small.width * small.height);
          found.push({ corners, score: 4 * support + AREA_WEIGHT * Math.sqrt(area) - 0.5 * strange });
        }
      }
    }
  }
  return found.sort((a, b) => b.score - a.score).slice(0, LOOKED_AT / 2);
}

interface Side {
  readonly from: Pair;
  readonly to: Pair;
  readonly support: number;
}
function nearbySides(from: Pair, to: Pair, { supportOf }: Straights): Side[] {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const [nx, ny] = [-(to[1] - from[1]) / length, (to[0] - from[0]) / length];
  const all: (Side & { u: number; v: number })[] = [];
  for (let u = -NEAR_PX; u <= NEAR_PX; u += 2) {
    for (let v = -NEAR_PX; v <= NEAR_PX; v += 2) {
      const [a, b]: [Pair, Pair] = [
        [from[0] + u * nx, from[1] + u * ny],
        [to[0] + v * nx, to[1] + v * ny],
      ];
      all.push({ from: a, to: b, u, v, support: supportOf(a, b) });
    }
  }
  const kept: typeof all = [];
  for (const side of all.sort((a, b) => b.support - a.support)) {
    if (side.support < LEAST_SUPPORT || kept.length === NEAR_SIDES) break;
    if (kept.every((k) => Math.max(Math.abs(k.u - side.u), Math.abs(k.v - side.v)) > 2)) kept.push(side);
  }
  return kept;
}

interface Two {
  readonly a: Line;
  readonly b: Line;
  readonly angle: number;
}

/** Two lines that may be opposite sides. */
function pairsOf(lines: readonly Line[], small: Photo): Two[] {
  const pairs: Two[] = [];
  lines.forEach((a, i) => {
    for (const b of lines.slice(i + 1)) {
      if (angleBetween(a.angle, b.angle) > 1.1 || !apart(a, b, small)) continue;
      pairs.push({ a, b, angle: meanAngle(a.angle, b.angle) });
    }
  });
  // the strongest of each direction: riffles make many pairs, ends few
  const inSector = new Map<number, number>();
  return pairs
    .sort((p, q) => Math.min(q.a.votes, q.b.votes) - Math.min(p.a.votes, p.b.votes))
    .filter(({ angle }) => {
      const sector = Math.floor(((angle + Math.PI) % Math.PI) / (Math.PI / 6));
      const count = (inSector.get(sector) ?? 0) + 1;
      inSector.set(sector, count);
      return count <= SECTOR_PAIRS;
    });
}

/** The quadrilateral of two pairs, clockwise, when it is in the picture and its sides follow edges. */
function quadOf(p: Two, q: Two, { width, height }: Photo) {
  if (angleBetween(p.angle, q.angle) < 0.4) return null;
  const within = (c: Pair | null): c is Pair =>
    c !== null && c[0] > -20 && c[1] > -20 && c[0] < width + 20 && c[1] < height + 20;
  const c0 = meet(p.a, q.a);
  if (!within(c0)) return null;
  const c1 = meet(p.a, q.b);
  if (!within(c1)) return null;
  const top = p.a.support(c0, c1);
  if (top < LEAST_SUPPORT) return null;
  const c2 = meet(p.b, q.b);
  if (!within(c2)) return null;
  const c3 = meet(p.b, q.a);
  if (!within(c3)) return null;
  const rest = [q.b.support(c1, c2), p.b.support(c2, c3), q.a.support(c3, c0)];
  const least = Math.min(top, ...rest);
  const mean = (top + rest[0]! + rest[1]! + rest[2]!) / 4;
  if (least < LEAST_SUPPORT || mean < MEAN_SUPPORT) return null;
  const turned = signedArea([c0, c1, c2, c3]);
  const area = Math.abs(turned) / (width * height);
  if (area < AREA_SHARE[0] || area > AREA_SHARE[1]) return null;
  return { corners: turned > 0 ? [c0, c1, c2, c3] : [c0, c3, c2, c1], support: mean + 0.5 * least, area };
}

function followed(
  cv: OpenCv,
  photo: Photo,
  small: Photo & { scale: number },
  straights: Straights,
  deck: Deck,
  main: readonly Pair[],
  guesses: readonly Guess[],
): OutlineCandidate[] {
  const rated = guesses.map(({ corners, score }) => {
    const big = corners.map(([x, y]): Pair => [x * small.scale, y * small.scale]);
    const riffles = riffleCue(straights, small, corners, main, deck);
    return { big, score: score + riffles };
  });
  rated.sort((a, b) => b.score - a.score);
  const top = rated[0]!.score;
  const weights = rated.map(({ score }) => Math.exp(score - top));
  const total = weights.reduce((s, w) => s + w, 0);
  // how far apart believed places of one corner lie; guesses the other way round count against orientation, not place
  const alike = (a: readonly Pair[], b: readonly Pair[]) =>
    Math.hypot(a[0]![0] - b[0]![0], a[0]![1] - b[0]![1]) < 0.25 * Math.hypot(a[2]![0] - a[0]![0], a[2]![1] - a[0]![1]);
  return rated.slice(0, 4).map(({ big }, k) => {
    let [sum, same] = [0, 0];
    rated.forEach((other, i) => {
      if (!alike(big, other.big)) return;
      same += weights[i]!;
      sum +=
        (weights[i]! *
          big.reduce((s, p, c) => s + (p[0] - other.big[c]![0]) ** 2 + (p[1] - other.big[c]![1]) ** 2, 0)) /
        8;
    });
    const spread = Math.sqrt(sum / same);
    const fitted = sharpen(photo, big, small.scale);
    const pxPerMm = Math.sqrt(Math.abs(signedArea(big) / signedArea(main)));
    const errorPx = Math.hypot(spread, RIM_MM * pxPerMm);
    const sights = main.map((mm, i): Sight => ({ mm, px: fitted[i]!, errorPx }));
    const start = fitHomography(cv, main, fitted);
    const fit = fitPlane(photo, sights, start, { placeMm: 0, lens: 0, lensError: LENS_ERROR });
    const view = viewOf(fit, photo, deck, { source: "outline", lens: 0, orientationConfidence: same / total });
    return { view, belief: weights[k]! / total };
  });
}

/** Corners at full size: a line fitted beside each side, and crossed. */
function sharpen(photo: Photo, corners: readonly Pair[], scale: number): Pair[] {
  const lines = corners.map((from, i) =>
    fitEdge(photo, from, corners[(i + 1) % 4]!, {
      reachPx: 2.5 * scale,
      peaks: 3,
      trim: 0.05,
      tolerancePx: 1.2,
      nearFirst: 0.6,
      everyPx: 5,
      leastStep: 5,
    }),
  );
  return corners.map((corner, i) => {
    const [before, after] = [lines[(i + 3) % 4], lines[i]];
    const met = before && after ? crossing(before, after) : null;
    return met && Math.hypot(met.at[0] - corner[0], met.at[1] - corner[1]) < 6 * scale ? met.at : corner;
  });
}

/** Do the lines run well apart where they cross the picture's middle? A deck's opposite sides do. */
function apart(a: Line, b: Line, { width, height }: Photo): boolean {
  const [cx, cy] = [width / 2, height / 2];
  const flip = a.normal[0] * b.normal[0] + a.normal[1] * b.normal[1] < 0 ? -1 : 1;
  const da = a.normal[0] * cx + a.normal[1] * cy - a.offset;
  const db = flip * (b.normal[0] * cx + b.normal[1] * cy - b.offset);
  return Math.abs(da - db) > 0.18 * Math.min(width, height);
}

const angleBetween = (a: number, b: number) => {
  const d = Math.abs(a - b) % Math.PI;
  return Math.min(d, Math.PI - d);
};
const meanAngle = (a: number, b: number) => {
  const d = b - a;
  const near = d > Math.PI / 2 ? d - Math.PI : d < -Math.PI / 2 ? d + Math.PI : d;
  return a + near / 2;
};
