import type { Pair } from "../geometry.ts";
import type { Photo } from "../stages.ts";
import { meetPoints } from "./outline.ts";
import { greyAt } from "./pixels.ts";

/** A line beside a side of a quadrilateral, through these points beside the side's ends. */
interface SideLine {
  readonly from: Pair;
  readonly to: Pair;
  /** Share of the stations along the side at which an edge lies on it, 0 to 1. */
  readonly support: number;
}

/** Lines are sought up to this far beside a side, as a share of how far the opposite one lies, px at most. */
const REACH_SHARE = 0.1;
const REACH_PX = [6, 32] as const;
/** Others kept beside each side's own line, the strongest first; they differ by so many px, both ends together. */
const MOST = 4;
const APART_PX = 5;
const LEAST_SUPPORT = 0.4;
/** Stations along a side, its ends left out; px between two of them. */
const STATIONS = [12, 64] as const;
const EVERY_PX = 6;
const END = 0.05;
/** A weaker step in grey is no edge, and one farther from a line than this, px, is not on it. */
const LEAST_STEP = 8;
const TOLERANCE_PX = 1.2;
/** Places across a side for each px. */
const FINE = 2;

/** What lying on edges counts beside `worth`, and how much better a quadrilateral must be than the one given (on scenes of odd seeds). */
const EDGES_COUNT = 0.8;
const BETTER = 0.03;
/** A quadrilateral worth so much less than the best counts as e times less likely (judgement, so that stated errors hold on scenes). */
const DOUBT = 0.04;

/** A quadrilateral, and by how much each corner may be off since another one is nearly as good: one standard error of a coordinate, px. */
export interface Seated {
  readonly corners: readonly Pair[];
  readonly doubtPx: readonly number[];
}

/**
 * Where the sides of a quadrilateral lie if each may move to another strong straight edge beside it, as a deck has with its rim, and a launder
 * with its wall: of all such quadrilaterals the one that is worth most and lies on edges best; as given when none is clearly better.
 *
 * @param worth  How well corners fit what is seen, about 0 to 2.
 */
export function onBestLines(
  photo: Photo,
  corners: readonly Pair[],
  worth: (corners: readonly Pair[]) => number,
): Seated {
  const sides = corners.map((from, k) => linesOf(photo, from, corners[(k + 1) % 4]!, reachOf(corners, k)));
  const [high, end, low, drive] = sides as [SideLine[], SideLine[], SideLine[], SideLine[]];
  const all: { readonly corners: readonly Pair[]; readonly value: number }[] = [];
  for (const a of high)
    for (const b of end) for (const c of low) for (const d of drive) all.push(crossed([a, b, c, d], worth));
  // the first is of the sides' own lines
  const given = { corners, value: all[0]!.value };
  const strongest = all.reduce((a, b) => (b.value > a.value ? b : a));
  const best = strongest.value > given.value + BETTER ? strongest : given;
  const chances = all.map(({ value }) => Math.exp((value - best.value) / DOUBT));
  const sum = chances.reduce((s, chance) => s + chance, 0);
  const doubtPx = best.corners.map(([x, y], k) => {
    const square = all.reduce((s, one, i) => {
      const [u, v] = one.corners[k]!;
      return s + chances[i]! * ((u - x) ** 2 + (v - y) ** 2);
    }, 0);
    return Math.sqrt(square / sum / 2);
  });
  return { corners: best.corners, doubtPx };
}

/** The corners where four lines cross, and what they are worth on these edges. */
function crossed(lines: readonly SideLine[], worth: (corners: readonly Pair[]) => number) {
  const corners = lines.map((line, k): Pair => {
    const before = lines[(k + 3) % 4]!;
    return meetPoints(before.from, before.to, line.from, line.to);
  });
  const support = lines.reduce((sum, line) => sum + line.support, 0) / lines.length;
  return { corners, value: worth(corners) + EDGES_COUNT * support };
}

function reachOf(corners: readonly Pair[], k: number): number {
  const [a, b, c, d] = [0, 1, 2, 3].map((n) => corners[(k + n) % 4]!) as [Pair, Pair, Pair, Pair];
  const across = (Math.hypot(c[0] - b[0], c[1] - b[1]) + Math.hypot(d[0] - a[0], d[1] - a[1])) / 2;
  return Math.round(Math.min(REACH_PX[1], Math.max(REACH_PX[0], REACH_SHARE * across)));
}

/**
 * The side's own line, then the strongest others beside it. All lines from a place beside one end to one beside the other are tried
 * (a Hough transform: Duda & Hart 1972, Commun. ACM 15, 11; from memory).
 */
function linesOf(photo: Photo, from: Pair, to: Pair, reach: number): SideLine[] {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const across: Pair = [-(to[1] - from[1]) / length, (to[0] - from[0]) / length];
  const beside = ([x, y]: Pair, off: number): Pair => [x + across[0] * off, y + across[1] * off];
  const count = Math.round(Math.min(STATIONS[1], Math.max(STATIONS[0], length / EVERY_PX)));
  const stations = Array.from({ length: count }, (_, n) => {
    const share = END + ((1 - 2 * END) * (n + 0.5)) / count;
    const middle: Pair = [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share];
    return { share, edges: edgesAcross(photo, middle, across, reach) };
  });
  const supportOf = (first: number, last: number) => {
    let on = 0;
    for (const { share, edges } of stations) {
      on += edges[Math.round(FINE * (first + (last - first) * share + reach))]!;
    }
    return on / count;
  };
  const all: { first: number; last: number; support: number }[] = [];
  for (let first = -reach; first <= reach; first++) {
    for (let last = -reach; last <= reach; last++) {
      const support = supportOf(first, last);
      if (support >= LEAST_SUPPORT) all.push({ first, last, support });
    }
  }
  all.sort((a, b) => b.support - a.support);
  const near = all.find(({ first, last }) => Math.abs(first) <= 1 && Math.abs(last) <= 1);
  const kept = [{ first: 0, last: 0, support: near?.support ?? supportOf(0, 0) }];
  for (const line of all) {
    if (kept.length > MOST) break;
    const off = (other: typeof line) => Math.abs(other.first - line.first) + Math.abs(other.last - line.last);
    if (kept.every((other) => off(other) > APART_PX)) kept.push(line);
  }
  return kept.map(({ first, last, support }) => ({ from: beside(from, first), to: beside(to, last), support }));
}

/** For each place across a side, 1 where an edge lies within the tolerance, else 0. */
function edgesAcross(photo: Photo, [x, y]: Pair, across: Pair, reach: number): Uint8Array {
  const margin = reach + 2;
  const along: Pair = [across[1], -across[0]];
  const grey = Float32Array.from({ length: 2 * margin + 1 }, (_, n) => {
    const [px, py] = [x + across[0] * (n - margin), y + across[1] * (n - margin)];
    if (px < 1 || py < 1 || px > photo.width - 1 || py > photo.height - 1) return Number.NaN;
    // three samples along the side calm the noise
    const at = (off: number) => greyAt(photo, px + along[0] * off, py + along[1] * off);
    return (at(-1.5) + at(0) + at(1.5)) / 3;
  });
  const step = (n: number) => Math.abs(grey[n + 1]! - grey[n - 1]!);
  const edges = new Uint8Array(2 * FINE * reach + 1);
  for (let n = 2; n < grey.length - 2; n++) {
    const [before, here, after] = [step(n - 1), step(n), step(n + 1)];
    // beyond the photo's rim all is NaN: no edge
    if (!(here >= LEAST_STEP && here >= before && here > after)) continue;
    const bend = before - 2 * here + after;
    const place = FINE * (n - margin + reach + (bend < 0 ? (0.5 * (before - after)) / bend : 0));
    const [first, last] = [Math.ceil(place - FINE * TOLERANCE_PX), Math.floor(place + FINE * TOLERANCE_PX)];
    edges.fill(1, Math.max(0, first), Math.max(0, last + 1));
  }
  return edges;
}
