import type { ClassName } from "./contract/index.ts";
import { alongPath, inside, type Pair, pathLength } from "./geometry.ts";
import type { Classes, Deck, Outlet, OutletStretch, View } from "./stages.ts";
import { deckPoint } from "./stages.ts";

/** Depths inside the outlet path where evidence is sampled, mm: the 20 mm of the reading's contract. */
const DEPTHS_MM = [1, 3, 5, 7, 9, 11, 13, 15, 17, 19];
const UNSEEN_SHARE = 0.6;
/** Neighbouring mm share their evidence over about this length, so each counts as this part of an observation. */
const CORRELATION_MM = 10;
/** What evidence alone can never rule out. */
const FLOOR = 0.02;
/** Costs in nats: changing class, and more for solids that come back in the order dense, middling, light. */
const SWITCH_COST = 0.5;
const BACKWARD_COST = 9;
/** What edges are off by beyond what their evidence says, as a share of the deck's length: classes named a little wrong (measured on scenes: DEVELOPERS.md). */
const NAMING_SHARE = 0.012;
const SHORT_MM = 15;
const STRONG = 0.9;
const SMOOTH_MM = 9;
/** 10-90 % width that smoothing gives a sharp edge: 0.8 of the window. */
const SMOOTH_BLUR_MM = 0.8 * SMOOTH_MM;
/** Blur is judged between plateaus this far into each stretch; they must differ by `CONTRAST`. */
const PLATEAU_MM = 60;
const CONTRAST = 0.3;
const NAMES: readonly Exclude<ClassName, "unseen">[] = ["bare", "dense", "middling", "light", "dry"];

interface Run {
  readonly label: number;
  readonly from: number;
  readonly to: number;
}

/** Which class leaves where along the outlet path, each edge with its standard error. */
export function readOutlet(classes: Classes, deck: Deck, view: View): Outlet {
  const path = deck.outletPath.map(({ x, y }): Pair => [x, y]);
  const lengthMm = Math.max(1, Math.round(pathLength(path)));
  const { shares, seen } = sampleShares(classes, deck, path, lengthMm);
  const { chance, log } = weighed(shares, seen, lengthMm);
  const labels = labelInOrder(log, lengthMm);
  const runs = dropShort(runsOf(labels.map((label, i) => (seen[i] ? label + 1 : 0))), log, chance, lengthMm);
  const cellMm = classes.evidenceGrid.mmPerCell / Math.sqrt(12);
  const edges = runs.slice(1).map((right, i) => {
    const left = runs[i]!;
    if (!left.label || !right.label) return { atMm: right.from, errorMm: null, blurMm: null };
    const { mean, sd } = edgePosterior(left, right, log);
    const { at, direction } = alongPath(path, mean);
    const [errorX, errorY] = view.errorAt(deckPoint(at));
    const errorMm = Math.hypot(sd, errorX * direction[0], errorY * direction[1], cellMm, NAMING_SHARE * deck.lengthMm);
    return { atMm: mean, errorMm, blurMm: edgeBlur(left, right, shares, lengthMm) };
  });
  const stretches = runs.flatMap(({ label, from, to }, i): OutletStretch[] => {
    if (!label) return [];
    const [before, after] = [edges[i - 1], edges[i]];
    let sum = 0;
    for (let mm = from; mm < to; mm++) sum += chance[mm * 5 + label - 1]!;
    return [
      {
        class: NAMES[label - 1]!,
        fromMm: before?.atMm ?? 0,
        toMm: after?.atMm ?? lengthMm,
        fromErrorMm: before?.errorMm ?? null,
        toErrorMm: after?.errorMm ?? null,
        fromBlurMm: before?.blurMm ?? null,
        toBlurMm: after?.blurMm ?? null,
        confidence: Math.min(1, sum / (to - from)),
      },
    ];
  });
  return { lengthMm, stretches, unseenMm: runs.filter((r) => !r.label).map((r) => [r.from, r.to] as const), shares };
}

function sampleShares(classes: Classes, deck: Deck, path: readonly Pair[], lengthMm: number) {
  const { evidence, evidenceGrid: grid } = classes;
  const outline = deck.outline.map(({ x, y }): Pair => [x, y]);
  const plane = grid.columns * grid.rows;
  const shares = new Float32Array(5 * lengthMm);
  const seen = new Uint8Array(lengthMm);
  for (let mm = 0; mm < lengthMm; mm++) {
    const { at, direction } = alongPath(path, mm + 0.5);
    const inward: Pair = [-direction[1], direction[0]];
    const side = inside(outline, [at[0] + inward[0], at[1] + inward[1]]) ? 1 : -1;
    const sums = [0, 0, 0, 0, 0];
    let [asked, found] = [0, 0];
    for (const depth of DEPTHS_MM) {
      const point: Pair = [at[0] + side * depth * inward[0], at[1] + side * depth * inward[1]];
      if (!inside(outline, point)) continue;
      asked++;
      const column = Math.min(grid.columns - 1, Math.max(0, Math.floor(point[0] / grid.mmPerCell)));
      const row = Math.min(grid.rows - 1, Math.max(0, Math.floor(point[1] / grid.mmPerCell)));
      const values = sums.map((_, k) => evidence[k * plane + row * grid.columns + column]!);
      const total = values.reduce((a, b) => a + b, 0);
      if (total <= 0) continue;
      found++;
      for (let k = 0; k < 5; k++) sums[k]! += values[k]! / total;
    }
    seen[mm] = found && found >= (1 - UNSEEN_SHARE) * asked ? 1 : 0;
    if (found) for (let k = 0; k < 5; k++) shares[k * lengthMm + mm] = sums[k]! / found;
  }
  return { shares, seen };
}

/** Chance of each class, and its log as far as one mm tells anything new, `lengthMm × 5`: the largest solid outweighs bare exactly where solids cover a third. */
function weighed(shares: Float32Array, seen: Uint8Array, n: number) {
  const chance = new Float64Array(5 * n);
  const log = new Float64Array(5 * n);
  for (let mm = 0; mm < n; mm++) {
    if (!seen[mm]) continue;
    const [bare, dense, middling, light, dry] = NAMES.map((_, k) => shares[k * n + mm]!) as Five;
    const scale = (dense + middling + light) / Math.max(dense, middling, light, 1e-9);
    const weights = [bare / 2, dense * scale, middling * scale, light * scale, dry];
    const total = weights.reduce((a, b) => a + b, 0);
    weights.forEach((weight, k) => {
      chance[mm * 5 + k] = weight / total;
      log[mm * 5 + k] = Math.log(weight / total + FLOOR) / CORRELATION_MM;
    });
  }
  return { chance, log };
}
type Five = [number, number, number, number, number];

/** States: the last solid met (0 none, 1 dense, 2 middling, 3 light) × the class here. Bare and dry keep the last solid. */
const STATES = [0, 1, 2, 3].flatMap((last) =>
  [0, 1, 2, 3, 4].filter((now) => now === 0 || now === 4 || now === last).map((now) => ({ last, now })),
);
const MOVES = STATES.flatMap((a, from) =>
  STATES.flatMap((b, to) => {
    if (b.last !== a.last && b.now !== b.last) return [];
    return [{ from, to, cost: (a.now !== b.now ? SWITCH_COST : 0) + (b.last < a.last ? BACKWARD_COST : 0) }];
  }),
);

/** The likeliest classes in order along the path. Source: Rabiner (1989), Proc. IEEE 77(2), 257-286: Viterbi (eqs 30-35). */
function labelInOrder(log: Float64Array, n: number): number[] {
  const size = STATES.length;
  const best = new Float64Array(n * size).fill(Number.NEGATIVE_INFINITY);
  const back = new Uint8Array(n * size);
  const emit = (mm: number, state: number) => log[mm * 5 + STATES[state]!.now]!;
  STATES.forEach(({ last, now }, s) => {
    if (last === 0 || now === last) best[s] = emit(0, s);
  });
  for (let mm = 1; mm < n; mm++) {
    const [here, before] = [mm * size, (mm - 1) * size];
    for (const { from, to, cost } of MOVES) {
      const score = best[before + from]! - cost + emit(mm, to);
      if (score > best[here + to]!) {
        best[here + to] = score;
        back[here + to] = from;
      }
    }
  }
  const labels = new Array<number>(n);
  let state = 0;
  for (let s = 0; s < size; s++) if (best[(n - 1) * size + s]! > best[(n - 1) * size + state]!) state = s;
  for (let mm = n - 1; mm >= 0; mm--) {
    labels[mm] = STATES[state]!.now;
    state = back[mm * size + state]!;
  }
  return labels;
}

function runsOf(labels: readonly number[]): Run[] {
  const starts = labels.flatMap((label, i) => (i === 0 || label !== labels[i - 1] ? [i] : []));
  return starts.map((from, i) => ({ label: labels[from]!, from, to: starts[i + 1] ?? labels.length }));
}

/** Hand each short, weak run to the neighbour its evidence likes better. */
function dropShort(runs: Run[], log: Float64Array, chance: Float64Array, n: number): Run[] {
  const sum = (of: Float64Array, { from, to }: Run, label: number) => {
    let total = 0;
    for (let mm = from; mm < to; mm++) total += of[mm * 5 + label - 1]!;
    return total;
  };
  const labels = new Array<number>(n);
  runs.forEach((run, i) => {
    const near = [runs[i - 1]?.label, runs[i + 1]?.label].filter((label) => !!label) as number[];
    const length = run.to - run.from;
    const weak = run.label && length < SHORT_MM && near.length && sum(chance, run, run.label) < STRONG * length;
    const label = weak ? near.sort((a, b) => sum(log, run, b) - sum(log, run, a))[0]! : run.label;
    labels.fill(label, run.from, run.to);
  });
  return runsOf(labels);
}

/** Where between its neighbours an edge lies: p(e) ∝ exp(Σ before e of log left + Σ from e on of log right), by Bayes' rule. */
function edgePosterior(left: Run, right: Run, log: Float64Array) {
  const scores: number[] = [];
  let score = 0;
  for (let e = left.from + 1; e < right.to; e++) {
    score += log[(e - 1) * 5 + left.label - 1]! - log[(e - 1) * 5 + right.label - 1]!;
    scores.push(score);
  }
  const top = Math.max(...scores);
  let [total, first, second] = [0, 0, 0];
  scores.forEach((s, i) => {
    const p = Math.exp(s - top);
    const e = left.from + 1 + i - right.from;
    total += p;
    first += p * e;
    second += p * e * e;
  });
  const mean = first / total;
  return { mean: right.from + mean, sd: Math.sqrt(Math.max(0, second / total - mean * mean)) };
}

/** 10-90 % width of share left / (left + right) between its plateaus, smoothing taken out; null when finer than that. */
function edgeBlur(left: Run, right: Run, shares: Float32Array, n: number): number | null {
  const from = Math.max(left.from, right.from - PLATEAU_MM);
  const to = Math.min(right.to, right.from + PLATEAU_MM);
  const ratio: number[] = [];
  const half = (SMOOTH_MM - 1) / 2;
  for (let mm = from; mm < to; mm++) {
    let [a, b] = [0, 0];
    for (let i = Math.max(from, mm - half); i <= Math.min(to - 1, mm + half); i++) {
      a += shares[(left.label - 1) * n + i]!;
      b += shares[(right.label - 1) * n + i]!;
    }
    ratio.push(a + b > 0 ? a / (a + b) : 0.5);
  }
  const mean = (part: number[]) => part.reduce((a, b) => a + b, 0) / part.length;
  const edge = right.from - from;
  const high = mean(ratio.slice(0, Math.max(1, edge >> 1)));
  const low = mean(ratio.slice(Math.min(ratio.length - 1, edge + ((ratio.length - edge) >> 1))));
  if (high - low < CONTRAST) return null;
  const [upper, lower] = [low + 0.9 * (high - low), low + 0.1 * (high - low)];
  let [start, end] = [edge, edge];
  while (start >= 0 && (start >= ratio.length - 1 || ratio[start]! < upper)) start--;
  while (end < ratio.length && (end < 1 || ratio[end]! > lower)) end++;
  if (start < 0 || end >= ratio.length) return null;
  const crossing = (i: number, level: number) => i + (ratio[i]! - level) / (ratio[i]! - ratio[i + 1]! || 1);
  const widthMm = crossing(end - 1, lower) - crossing(start, upper);
  const square = widthMm ** 2 - SMOOTH_BLUR_MM ** 2;
  return square > SMOOTH_BLUR_MM ** 2 / 4 ? Math.sqrt(square) : null;
}
