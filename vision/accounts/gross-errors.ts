import type { Measured } from "../process/range.ts";
import type { Item, ReconcileOptions, Stream } from "./balances.ts";
import { chiSquareLimit, normalLimit } from "./odds.ts";
import { type Adjusted, type Reconciled, reconcile } from "./reconcile.ts";

/** Figures that fit are called misfits about once in this many balances, by each of the two tests. */
const ONE_IN = 20;
/** More misfits than this and the whole set is to be taken anew. */
const MOST = 3;

/** A measured figure that the others contradict. */
export interface Misfit extends Item {
  readonly measured: Measured;
  /** What the other figures say instead; null where they do not tell it. */
  readonly expected: Measured | null;
  /** How far it was moved, in standard errors of that move. */
  readonly off: number;
  /** Figures that explain the contradiction nearly as well (20 times less likely at most). */
  readonly orElse: readonly Item[];
}

export interface Judged {
  /** With every figure in it. */
  readonly before: Reconciled;
  /** Without the misfits; the same as `before` where there are none. */
  readonly after: Reconciled;
  readonly misfits: readonly Misfit[];
  /** Whether what is left agrees within its errors. */
  readonly fits: boolean;
  /** Chi-square of `after` that is passed once in 20 times by chance; null without any check. */
  readonly chiSquareLimit: number | null;
}

/**
 * Limit in standard errors for the largest of `count` moves: passed by chance once in 20 balances.
 *
 * Source: Šidák (1967), J. Am. Stat. Assoc. 62, 626; for this use Mah & Tamhane (1982), AIChE J. 28, 828 (from memory).
 */
export function moveLimit(count: number): number {
  const each = 1 - (1 - 1 / ONE_IN) ** (1 / Math.max(1, count));
  return normalLimit(1 - each / 2);
}

/**
 * Reconcile, and leave out one after another the figures that the others contradict.
 *
 * Method: test of the whole by chi-square, test of each figure by its move. Each one that was moved too far is left out by
 * itself and all done again; the one without which chi-square is least is the misfit (serial elimination by likelihood).
 * Source: Ripps (1965), Chem. Eng. Prog. Symp. Ser. 55, 8; Narasimhan & Mah (1987), AIChE J. 33, 1514 (from memory).
 *
 * @throws {AccountsError} as `reconcile`.
 */
export function reconcileAndJudge(streams: readonly Stream[], options: ReconcileOptions = {}): Judged {
  const before = reconcile(streams, options);
  let [after, left] = [before, streams];
  const found: Found[] = [];
  while (!agrees(after) && found.length < MOST) {
    const worst = worstOf(after, left, options);
    if (!worst) break;
    [after, left] = [worst.after, worst.left];
    found.push(worst.misfit);
  }
  const expected = ({ stream, assay }: Item): Measured | null => {
    const { value, error } = figureOf(after, stream, assay);
    return value === null || error === null ? null : { value, error };
  };
  return {
    before,
    after,
    misfits: found.map((misfit) => ({ ...misfit, expected: expected(misfit) })),
    fits: agrees(after),
    chiSquareLimit: after.freedom > 0 ? chiSquareLimit(1 - 1 / ONE_IN, after.freedom) : null,
  };
}
type Found = Omit<Misfit, "expected">;

function agrees({ streams, chiSquare, freedom }: Reconciled): boolean {
  if (freedom === 0) return true;
  const moves = offsOf(streams).map(({ off }) => Math.abs(off));
  return chiSquare <= chiSquareLimit(1 - 1 / ONE_IN, freedom) && Math.max(0, ...moves) <= moveLimit(moves.length);
}

/** Of the figures that were moved by more than chance, the one without which the others agree best. */
function worstOf({ streams }: Reconciled, figures: readonly Stream[], options: ReconcileOptions) {
  const offs = offsOf(streams);
  const limit = moveLimit(offs.length);
  const tried = offs
    .filter(({ off }) => Math.abs(off) > limit)
    .map((figure) => {
      const left = figures.map((stream) => (stream.name === figure.stream ? without(stream, figure.assay) : stream));
      return { figure, left, after: reconcile(left, options) };
    })
    .toSorted((a, b) => a.after.chiSquare - b.after.chiSquare);
  const [worst, ...others] = tried;
  if (!worst) return null;
  const nearly = worst.after.chiSquare + 2 * Math.log(ONE_IN);
  const orElse = others
    .filter(({ after }) => after.chiSquare < nearly)
    .map(({ figure: { stream, assay } }) => ({ stream, assay }));
  const misfit: Found = { ...worst.figure, off: Math.abs(worst.figure.off), orElse };
  return { misfit, left: worst.left, after: worst.after };
}

function offsOf(streams: Reconciled["streams"]) {
  return streams.flatMap(({ name, mass, assays }) =>
    [[null, mass] as const, ...Object.entries(assays)].flatMap(([assay, { measured, off }]) =>
      measured && off !== null ? [{ stream: name, assay, measured, off }] : [],
    ),
  );
}

function without(stream: Stream, assay: string | null): Stream {
  if (assay === null) return { ...stream, mass: null };
  return { ...stream, assays: Object.fromEntries(Object.entries(stream.assays).filter(([name]) => name !== assay)) };
}

/** A figure of a reconciled balance. */
export function figureOf({ streams }: Reconciled, stream: string, assay: string | null): Adjusted {
  const own = streams.find(({ name }) => name === stream);
  return (assay === null ? own?.mass : own?.assays[assay]) ?? { measured: null, value: null, error: null, off: null };
}
