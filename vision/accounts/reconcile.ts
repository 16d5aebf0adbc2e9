import type { Measured } from "../process/range.ts";
import { said } from "../said.ts";
import {
  type Balance,
  balancesOf,
  type Figures,
  figuresOf,
  openness,
  type ReconcileOptions,
  type Stream,
  sizeOf,
  startOf,
} from "./balances.ts";
import { AccountsError } from "./fault.ts";
import { Matrix, takeApart } from "./linear-algebra.ts";
import { propagateJoint } from "./propagate.ts";

export interface Adjusted {
  readonly measured: Measured | null;
  /** Null: the figures do not tell it. */
  readonly value: number | null;
  readonly error: number | null;
  /** How far the measurement was moved, in standard errors of that move; null where nothing checks it. */
  readonly off: number | null;
}

export interface Reconciled {
  readonly streams: readonly (Pick<Stream, "name" | "from" | "to"> & {
    readonly mass: Adjusted;
    readonly assays: Readonly<Record<string, Adjusted>>;
  })[];
  /** Sum of squared moves, each over its error. */
  readonly chiSquare: number;
  /** How many checks the figures hold against each other: degrees of freedom. */
  readonly freedom: number;
  /**
   * What a formula of adjusted figures gives, with its standard error; null when one of them is not told.
   *
   * @param formula  Reads figures by stream and assay (null: the mass).
   */
  derive(formula: (read: (stream: string, assay: string | null) => number) => number): Measured | null;
}

const STEPS = 500;
/** Settled when no figure moves by more than this share of itself. */
const SETTLED = 1e-11;
/** A balance that stays open by more than this share cannot be closed. */
const OPEN = 1e-7;
/** An unknown that may move by more than this share without any balance noticing is not told. */
const LOOSE = 1e-6;

/**
 * Figures that obey all balances and lie nearest to what was measured: least sum of ((x − y) / s)², subject to mass and
 * mass × assay in = out at each node. Figures that were not measured come out where the others tell them.
 *
 * @param streams  Any number, joined at nodes in any way. Not modified.
 * @throws {AccountsError} `too-few` without streams, nodes or any mass; `out-of-range` for negative figures or errors;
 *         `not-settled` when exact figures contradict each other or the search does not end.
 *
 * Method: x = y − V Aᵀ (A V Aᵀ)⁺ (A y), with balances made straight at each step, and unmeasured figures projected out
 * (Crowe, Garcia Campos & Hrymak, 1983, AIChE J. 29, 881; Crowe 1986). Errors to first order.
 * Source: Narasimhan & Jordache (2000), Data Reconciliation and Gross Error Detection, ch. 3 to 5 (from memory).
 */
export function reconcile(streams: readonly Stream[], options: ReconcileOptions = {}): Reconciled {
  const figures = figuresOf(streams);
  const balances = balancesOf(streams, figures, options);
  const sd = figures.measured.map((i) => figures.list[i]!.measured!.error);
  const y = figures.measured.map((i) => figures.list[i]!.measured!.value);
  let x = startOf(streams, figures);
  for (let step = 0; step < STEPS; step++) {
    const at = straight(balances, x, figures, sd);
    const measuredNow = figures.measured.map((i) => x[i]!);
    const gap = at.onMeasured.mmul(column(y.map((v, i) => v - measuredNow[i]!))).add(at.open);
    const moves = at.toMoves.mmul(gap).to1DArray();
    const next = [...x];
    figures.measured.forEach((i, k) => {
      next[i] = y[k]! - sd[k]! * moves[k]!;
    });
    const measuredMoves = column(figures.measured.map((i, k) => next[i]! - measuredNow[k]!));
    const rest = Matrix.add(at.open, at.onMeasured.mmul(measuredMoves));
    at.toUnmeasured
      .mmul(rest)
      .to1DArray()
      .forEach((move, k) => {
        const i = figures.unmeasured[k]!;
        next[i] = x[i]! - move * sizeOf(figures, x, i);
      });
    const moved = Math.max(...next.map((v, i) => Math.abs(v - x[i]!) / sizeOf(figures, x, i)));
    x = next;
    if (!Number.isFinite(moved)) break;
    if (moved < SETTLED) return finish(streams, figures, balances, x, y, sd);
  }
  throw new AccountsError("not-settled", said("said.runs.notClosed"));
}

/** The balances made straight at x, unmeasured figures projected out. */
function straight(balances: readonly Balance[], x: readonly number[], figures: Figures, sd: readonly number[]) {
  const rows = openness(balances, x);
  const { measured, unmeasured } = figures;
  const fill = (places: readonly number[], by: (place: number, k: number) => number) => {
    const matrix = Matrix.zeros(rows.length, places.length);
    rows.forEach(({ slopes }, r) => {
      places.forEach((place, c) => {
        matrix.set(r, c, (slopes.get(place) ?? 0) * by(place, c));
      });
    });
    return matrix;
  };
  const onMeasured = fill(measured, () => 1);
  const onUnmeasured = fill(unmeasured, (place) => sizeOf(figures, x, place));
  const unknown = takeApart(onUnmeasured);
  const known = Matrix.sub(Matrix.eye(rows.length), onUnmeasured.mmul(unknown.inverse));
  const whole = fill(measured, (_, k) => sd[k]!);
  const bySd = known.mmul(whole);
  const parts = takeApart(bySd, whole.norm());
  return {
    open: column(rows.map(({ off }) => off)),
    onMeasured,
    /** From how far the balances are open to moves of measured figures, in their errors. */
    toMoves: parts.inverse.mmul(known),
    toUnmeasured: unknown.inverse,
    loose: unknown.loose,
    rank: parts.rank,
    /** How much of each measured figure's error its balances see. */
    seen: parts.inverse.mmul(bySd),
  };
}

function finish(
  streams: readonly Stream[],
  figures: Figures,
  balances: readonly Balance[],
  x: readonly number[],
  y: readonly number[],
  sd: readonly number[],
): Reconciled {
  if (openness(balances, x).some(({ off }) => Math.abs(off) > OPEN)) {
    throw new AccountsError("not-settled", said("said.runs.exactContradict"));
  }
  const at = straight(balances, x, figures, sd);
  const { measured, unmeasured, list, kinds } = figures;
  // covariance of the measured figures, then of all: an unmeasured one follows the measured ones
  const spread = Matrix.diag([...sd]);
  const ofMeasured = spread.mmul(Matrix.sub(Matrix.eye(sd.length), at.seen)).mmul(spread);
  const follow = Matrix.zeros(list.length, sd.length);
  measured.forEach((i, k) => {
    follow.set(i, k, 1);
  });
  const onUnmeasured = at.toUnmeasured.mmul(at.onMeasured).mul(-1);
  unmeasured.forEach((i, k) => {
    follow.setRow(
      i,
      onUnmeasured.getRow(k).map((slope) => slope * sizeOf(figures, x, i)),
    );
  });
  const covariance = follow.mmul(ofMeasured).mmul(follow.transpose()).to2DArray();
  const loose = new Set(unmeasured.filter((_, k) => at.loose[k]! > LOOSE));
  const moves = measured.map((i, k) => (sd[k]! > 0 ? (y[k]! - x[i]!) / sd[k]! : 0));
  const adjusted = list.map((figure, i): Adjusted => {
    if (loose.has(i)) return { measured: null, value: null, error: null, off: null };
    const k = measured.indexOf(i);
    const seen = k < 0 ? 0 : at.seen.get(k, k);
    return {
      measured: figure.measured,
      value: x[i]!,
      error: Math.sqrt(Math.max(0, covariance[i]![i]!)),
      off: k >= 0 && sd[k]! > 0 && seen > LOOSE ? moves[k]! / Math.sqrt(seen) : null,
    };
  });
  const width = kinds.length + 1;
  return {
    streams: streams.map(({ name, from, to }, s) => ({
      name,
      from,
      to,
      mass: adjusted[s * width]!,
      assays: Object.fromEntries(kinds.map((kind, k) => [kind, adjusted[s * width + 1 + k]!])),
    })),
    chiSquare: moves.reduce((sum, move) => sum + move * move, 0),
    freedom: at.rank,
    derive: (formula) => {
      const read = new Set<number>();
      const of = (values: readonly number[]) =>
        formula((stream, assay) => {
          const i = list.findIndex((figure) => figure.stream === stream && figure.assay === assay);
          if (i < 0) throw new AccountsError("too-few", `No figure was given of ${assay ?? "the mass"} of ${stream}.`);
          read.add(i);
          return values[i]!;
        });
      const derived = propagateJoint(x, covariance, of);
      return [...read].some((i) => loose.has(i)) ? null : derived;
    },
  };
}

const column = (values: readonly number[]) => Matrix.columnVector([...values]);
