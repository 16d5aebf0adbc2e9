import type { Appearance } from "./appearance.ts";
import type { FlowPrior } from "./flow-prior.ts";

/** Bins of the outlet share. */
const BINS = 90;
/** Only cells at least this far on their way from the feed to the outlet, as a share of the outlet's, are counted: bands have parted there. */
const PARTED = 0.3;
/** Cells a bin counts for: neighbours repeat each other, so a bin of thousands says no more than this. */
const WORTH = 25;
/** Least share of the outlet that each stretch of the order takes: bare, dense, middling, light, bare. */
const LEAST = [0, 0.03, 0.04, 0.08, 0] as const;
/** Centre and spread of dense, middling and light as shares of the outlet path (common practice, wide). */
const PLACES = [
  [0.13, 0.1],
  [0.3, 0.13],
  [0.56, 0.2],
] as const;
/** What the learned model says of a bin counts for so many cells; and it is never held to be surer than this. */
const MODEL_WORTH = 12;
const MODEL_FLOOR = 0.05;
/** A mixture's floor, so that a look never seen in a stretch is unlikely there but not impossible. */
const FLOOR = 0.02;

export interface FanOrder {
  /** Ends of the stretches bare, dense, middling, light, bare as shares of the outlet path. */
  readonly ends: readonly number[];
  /** How much each look makes up bare, dense, middling, light; each row sums to 1. */
  readonly shares: readonly Float32Array[];
  /** Share of each stretch that looks like bare deck. */
  readonly bareIn: readonly number[];
}

/**
 * Cut the fan, seen as shares of the outlet path, into bare, dense, middling, light and bare, in that order: the cut
 * under which the looks within each stretch are most alike (largest multinomial likelihood, by dynamic programming;
 * Auger & Lawrence (1989), Bulletin of Mathematical Biology 51, 39-54), given where such stretches usually lie.
 *
 * @param model  What a learned model gives bare, dense, middling, light at each cell, 0 to 1, where there is one.
 * @param bonus  Log preference of each look for dense, middling, light from a material profile; zeros without one.
 */
export function orderFan(
  looks: Appearance,
  prior: FlowPrior,
  reach: Float32Array,
  bonus: readonly number[][],
  model?: readonly Float32Array[],
): FanOrder {
  const count = looks.looks.length;
  const bins = Array.from({ length: BINS }, () => new Float64Array(count));
  const bare = new Float64Array(count).fill(1e-3);
  const told = Array.from({ length: 4 }, () => new Float64Array(BINS + 1));
  const cells = new Float64Array(BINS).fill(1e-9);
  for (let i = 0; i < looks.nearest.length; i++) {
    const look = looks.nearest[i]!;
    if (look < 0) continue;
    if (prior.bareSpots[i]) bare[look]!++;
    if (reach[i]! < PARTED) continue;
    const bin = Math.min(BINS - 1, Math.floor(prior.outletShare[i]! * BINS));
    bins[bin]![look]!++;
    cells[bin]!++;
    if (model) for (let k = 0; k < 4; k++) told[k]![bin + 1]! += Math.log(model[k]![i]! + MODEL_FLOOR);
  }
  // running sums of the model's mean log probability, worth as much as the looks
  for (const row of told) {
    for (let bin = 0; bin < BINS; bin++) row[bin + 1] = row[bin]! + (MODEL_WORTH * row[bin + 1]!) / cells[bin]!;
  }
  const bareShare = sharpen(normal(bare));
  const worth = bins.map((bin) => {
    const total = bin.reduce((a, b) => a + b, 0);
    return total > 20 ? bin.map((n) => (WORTH * n) / total) : bin.map(() => 0);
  });
  const sums = [new Float64Array(count)];
  for (const bin of worth) sums.push(sums.at(-1)!.map((s, k) => s + bin[k]!));
  const histogram = (from: number, to: number) => sums[to]!.map((s, k) => s - sums[from]![k]!);
  const bareLog = bareShare.map((share) => Math.log(share + FLOOR));

  /** Log likelihood of bins [from, to) as stretch 0 to 4. */
  const score = (stretch: number, from: number, to: number) => {
    // thousands of stretches are weighed: nothing is allocated for one
    const [upTo, before] = [sums[to]!, sums[from]!];
    const modelled = told[stretch % 4]![to]! - told[stretch % 4]![from]!;
    let looksLike = 0;
    if (stretch === 0 || stretch === 4) {
      for (let k = 0; k < count; k++) looksLike += (upTo[k]! - before[k]!) * bareLog[k]!;
      return looksLike + modelled;
    }
    let all = 0;
    for (let k = 0; k < count; k++) all += upTo[k]! - before[k]!;
    const liking = bonus[stretch - 1]!;
    for (let k = 0; k < count; k++) {
      const n = upTo[k]! - before[k]!;
      looksLike += n * (Math.log(n / (all || 1) + FLOOR) + 0.3 * liking[k]!);
    }
    const [centre, spread] = PLACES[stretch - 1]!;
    const place = -0.5 * (((from + to) / 2 / BINS - centre) / spread) ** 2;
    return looksLike + 12 * place + modelled;
  };
  // best[stretch][end]: best score of bins [0, end) cut into stretches 0..stretch
  const best = LEAST.map(() => new Float64Array(BINS + 1).fill(Number.NEGATIVE_INFINITY));
  const from = LEAST.map(() => new Int32Array(BINS + 1));
  for (let end = 0; end <= BINS; end++) best[0]![end] = score(0, 0, end);
  for (let stretch = 1; stretch < LEAST.length; stretch++) {
    const least = Math.ceil(LEAST[stretch]! * BINS);
    for (let end = 0; end <= BINS; end++) {
      for (let start = 0; start <= end - least; start++) {
        const total = best[stretch - 1]![start]! + score(stretch, start, end);
        if (total > best[stretch]![end]!) [best[stretch]![end], from[stretch]![end]] = [total, start];
      }
    }
  }
  const cuts = [BINS];
  for (let stretch = LEAST.length - 1; stretch > 0; stretch--) cuts.unshift(from[stretch]![cuts[0]!]!);
  const starts = [0, ...cuts];
  const solid = [1, 2, 3].map((s) => withoutBare(normal(histogram(starts[s]!, starts[s + 1]!)), bareShare));
  return {
    ends: cuts.map((cut) => cut / BINS),
    shares: [Float32Array.from(bareShare), ...solid.map(({ rest }) => Float32Array.from(rest))],
    bareIn: solid.map(({ bare: b }) => b),
  };
}

function normal(n: Float64Array): Float64Array {
  const total = n.reduce((a, b) => a + b, 0) || 1;
  return n.map((v) => v / total);
}

/** Looks that make up little of the bare spots are strays there (solids that reach them). */
const sharpen = (p: Float64Array) => normal(p.map((v) => (v < 0.08 ? v * 0.1 : v)));

/** Take the largest share of bare deck out of a stretch that leaves no look negative. */
function withoutBare(own: Float64Array, bare: Float64Array) {
  let share = 0.95;
  own.forEach((v, k) => {
    if (bare[k]! > 0.12) share = Math.min(share, v / bare[k]!);
  });
  const rest = normal(own.map((v, k) => Math.max(0, v - share * bare[k]!) + 1e-4));
  return { rest, bare: share };
}
