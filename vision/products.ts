import { CLASS_NAMES, type Product, type Reading, type Splitter } from "./contract/index.ts";
import type { Deck, Outlet, OutletStretch } from "./stages.ts";

type Span = readonly [from: number, to: number];

/** A path segment this near to the riffles' direction (sine of the angle) moves along itself with the stroke. */
const PARALLEL_SINE = 0.1;
/** Places whose wrong-side length is within this of the least are equally good, mm; their middle is taken. */
const EQUALLY_GOOD_MM = 0.5;
const UNIFORM_SD = 1 / Math.sqrt(12);

/**
 * What each launder carries: the share of each class's outlet length that falls into it.
 *
 * @returns one entry a launder; for each class the shares sum to at most 1, and are 0 when it is not on the outlet.
 *
 * Method: along a part of the path parallel to x the stroke spreads the fall by a Gaussian of sd
 * `strokeMm / (2√2)`, the RMS of a sine of that stroke; the mean over a stretch is taken in closed form. Solids do not
 * fall past the path's ends.
 */
export function launderShares(outlet: Outlet, deck: Deck): Reading["launders"] {
  const strokeSd = strokeSdOf(deck);
  const segments = segmentsOf(deck);
  const fallen = (product: Product) =>
    deck.launders.map(({ fromMm, toMm }) => {
      const launder: Span = [fromMm <= 0 ? -Infinity : fromMm, toMm >= outlet.lengthMm - 0.5 ? Infinity : toMm];
      return sum(
        stretchesOf(outlet, product).flatMap((stretch) =>
          segments.map(({ span, alongX }) => {
            const part = overlap([stretch.fromMm, stretch.toMm], span);
            return part ? caught(part, launder, alongX ? strokeSd : 0) : 0;
          }),
        ),
      );
    });
  const shares = (product: Product) => {
    const lengths = fallen(product);
    // Launders that overlap in the deck file would count the same fall twice.
    const whole = Math.max(lengthOf(stretchesOf(outlet, product)), sum(lengths));
    return lengths.map((length) => (whole > 0 ? Math.min(1, Math.max(0, length / whole)) : 0));
  };
  const [dense, middling, light] = [shares("dense"), shares("middling"), shares("light")];
  return deck.launders.map((launder, i) => ({
    ...launder,
    carried: { dense: dense[i]!, middling: middling[i]!, light: light[i]! },
  }));
}

/**
 * Where each splitter divides its two bands best: least length of both on the wrong side, between their centres.
 *
 * @returns `suggestedMm` null when the splitter cannot move, when either band is not on the outlet or when they lie in
 *          the other order; `errorMm` one standard error of it, null when no edge beside it is known.
 */
export function splitterPlaces(outlet: Outlet, deck: Deck): Reading["splitters"] {
  return deck.splitters.map((splitter) => {
    const { name, atMm } = splitter;
    const best = splitter.movable ? bestPlace(outlet, splitter.between) : null;
    if (best === null) return { name, atMm, suggestedMm: null, errorMm: null };
    const errorMm = placeError(outlet, splitter, best);
    return { name, atMm, suggestedMm: reachable(splitter, best.atMm, outlet.lengthMm), errorMm };
  });
}

interface Place {
  readonly atMm: number;
  readonly centres: Span;
}

function bestPlace(outlet: Outlet, [first, second]: Splitter["between"]): Place | null {
  const [from, to] = [middleOf(stretchesOf(outlet, first)), middleOf(stretchesOf(outlet, second))];
  if (from === null || to === null || from >= to) return null;
  const [start, end] = [Math.ceil(from), Math.floor(to)];
  if (end <= start) return { atMm: (from + to) / 2, centres: [from, to] };
  const [upper, lower] = [planeOf(outlet, first), planeOf(outlet, second)];
  // Wrong-side length for a cut at each whole mm: what of the first lies beyond it and of the second before it.
  let wrong = sum(Array.from(upper.subarray(start, end)));
  const costs = [wrong];
  for (let mm = start; mm < end; mm++) {
    wrong += lower[mm]! - upper[mm]!;
    costs.push(wrong);
  }
  const least = Math.min(...costs);
  const good = (cost: number) => cost <= least + EQUALLY_GOOD_MM;
  const at = costs.indexOf(least);
  let [low, high] = [at, at];
  while (low > 0 && good(costs[low - 1]!)) low--;
  while (high + 1 < costs.length && good(costs[high + 1]!)) high++;
  return { atMm: start + (low + high) / 2, centres: [from, to] };
}

/** Edge errors, the width of anything hidden between the bands, and the splitter's own step. */
function placeError(outlet: Outlet, { between, stepMm = 0 }: Splitter, { atMm, centres }: Place): number | null {
  const upper = nearest(stretchesOf(outlet, between[0]), (s) => Math.abs(s.toMm - atMm));
  const lower = nearest(stretchesOf(outlet, between[1]), (s) => Math.abs(s.fromMm - atMm));
  const edges = [upper.toErrorMm, lower.fromErrorMm].filter((error) => error !== null);
  const hidden = sum(outlet.unseenMm.map((span) => lengthOfSpan(overlap(span, centres))));
  if (edges.length === 0 && hidden === 0) return null;
  const touching = lower.fromMm - upper.toMm < 1;
  const edge = touching || edges.length < 2 ? Math.max(0, ...edges) : Math.hypot(...edges) / 2;
  return Math.hypot(edge, hidden * UNIFORM_SD, stepMm * UNIFORM_SD);
}

/** The nearest place the splitter can stand: within its limits, on a whole number of steps where one lies within. */
export function reachable({ minMm = 0, maxMm, stepMm }: Splitter, mm: number, lengthMm: number): number {
  const [least, most] = [minMm, Math.min(maxMm ?? lengthMm, lengthMm)];
  const clamp = (value: number, from: number, to: number) => Math.min(Math.max(value, from), to);
  const within = clamp(mm, least, most);
  if (!stepMm) return within;
  const [fewest, greatest] = [Math.ceil(least / stepMm - 1e-9), Math.floor(most / stepMm + 1e-9)];
  return fewest > greatest ? within : clamp(Math.round(within / stepMm), fewest, greatest) * stepMm;
}

/** Spread of a fall by the stroke, one standard deviation: the RMS of a sine of that stroke. */
const strokeSdOf = (deck: Deck) => (deck.file.strokeMm ?? 0) / (2 * Math.SQRT2);

/** The stroke's spread of where a band falls, by outlet mm: 0 on edges across the stroke. */
export function strokeSpreadMm(deck: Deck): (mm: number) => number {
  const segments = segmentsOf(deck);
  return (mm) => (segments.find(({ span }) => mm >= span[0] && mm < span[1])?.alongX ? strokeSdOf(deck) : 0);
}

function segmentsOf({ outletPath }: Deck) {
  let along = 0;
  return outletPath.slice(1).map((end, i) => {
    const start = outletPath[i]!;
    const length = Math.hypot(end.x - start.x, end.y - start.y);
    const span: Span = [along, i + 2 === outletPath.length ? Infinity : along + length];
    along += length;
    return { span, alongX: Math.abs(end.y - start.y) <= PARALLEL_SINE * length };
  });
}

/** Length of a stretch that falls between the launder's ends, spread by `sd`. */
export function caught([a, b]: Span, [from, to]: Span, sd: number): number {
  if (sd === 0) return lengthOfSpan(overlap([a, b], [from, to]));
  // The integral of the normal distribution function Φ(z) is z Φ(z) + φ(z).
  const before = (edge: number) => {
    if (edge === Infinity) return b - a;
    if (edge === -Infinity) return 0;
    return sd * (normalIntegral((edge - a) / sd) - normalIntegral((edge - b) / sd));
  };
  return before(to) - before(from);
}

const normalIntegral = (z: number) => z * normalBelow(z) + Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);

/**
 * Share of a normal distribution below `z` standard deviations.
 *
 * Source: Abramowitz & Stegun, Handbook of Mathematical Functions (1964), 26.2.17; error below 7.5e-8.
 */
export function normalBelow(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const series = t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  const tail = (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) * series;
  return z > 0 ? 1 - tail : tail;
}

/** The outlet mm with half of the stretches' length on each side: one stray stretch does not move it far. */
function middleOf(stretches: readonly OutletStretch[]): number | null {
  let left = lengthOf(stretches) / 2;
  for (const { fromMm, toMm } of [...stretches].sort((a, b) => a.fromMm - b.fromMm)) {
    if (left <= toMm - fromMm) return fromMm + left;
    left -= toMm - fromMm;
  }
  return null;
}

const stretchesOf = (outlet: Outlet, product: Product) => outlet.stretches.filter((s) => s.class === product);

function planeOf({ shares }: Outlet, product: Product): Float32Array {
  const length = shares.length / 5;
  const plane = CLASS_NAMES.indexOf(product) - 1;
  return shares.subarray(plane * length, (plane + 1) * length);
}

function overlap(a: Span, b: Span): Span | null {
  const [from, to] = [Math.max(a[0], b[0]), Math.min(a[1], b[1])];
  return from < to ? [from, to] : null;
}

const lengthOfSpan = (span: Span | null) => (span ? span[1] - span[0] : 0);
const lengthOf = (stretches: readonly OutletStretch[]) => sum(stretches.map((s) => s.toMm - s.fromMm));
const sum = (numbers: readonly number[]) => numbers.reduce((total, n) => total + n, 0);
const nearest = <T>(items: readonly T[], far: (item: T) => number) =>
  items.reduce((best, item) => (far(item) < far(best) ? item : best));
