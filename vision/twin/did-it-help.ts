import type { SaidText, SaidValue } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import { within } from "../process/range.ts";
import { inEnglish, type SentenceKey, said } from "../said.ts";

export type Verdict = "as expected" | "less than expected" | "more than expected" | "the other way" | "nothing seen";

export interface Judgement {
  readonly verdict: Verdict;
  /** Moved over expected; null when nothing was expected or nothing can be told. */
  readonly share: number | null;
  readonly say: string;
  readonly said: SaidText;
  /** `keep`: look again later. `more`, `back`: the same control. `other`: look for another cause. `wait`: too little to see. */
  readonly next: "keep" | "more" | "back" | "other" | "wait";
}

/** A move under this many standard errors happens by chance about once in twenty times. */
const SEEN_ERRORS = 2;

/**
 * Whether one change did what it should, from how far an edge moved and how far it was expected to.
 *
 * Both errors count: a move is called unlike the expected one only when they differ by two standard errors of the
 * difference. A move expected to be smaller than what can be seen gives `wait`, never blame.
 *
 * @param moved  Along the outlet, mm, after less before.  @param expected  The same from the twin or a rule.
 * @throws {ProcessError} `out-of-range` for values that are no numbers or errors below 0.
 */
export function judgeChange(moved: Measured, expected: Measured): Judgement {
  for (const [what, { value, error }] of [["Move", moved] as const, ["Expected move", expected] as const]) {
    within(`${what}, mm`, value, -100_000, 100_000);
    within(`Error of ${what.toLowerCase()}, mm`, error, 0, 100_000);
  }
  const sign = Math.sign(expected.value) || 1;
  const along = sign * moved.value; // above 0: the way it should
  const goal = Math.abs(expected.value);
  const seen = Math.abs(moved.value) >= SEEN_ERRORS * moved.error && moved.value !== 0;
  const unlike = Math.abs(along - goal) >= SEEN_ERRORS * Math.hypot(moved.error, expected.error);
  const share = goal > 0 && seen ? along / goal : null;
  const edge = said("said.moved.edge", { moved: farOf(moved), goal: { value: Math.round(goal), unit: "mm" } });
  const judge = (verdict: Verdict, next: Judgement["next"], then: SentenceKey): Judgement => {
    const text = [...edge, ...said(then)];
    return { verdict, share, next, say: inEnglish(text), said: text };
  };
  if (!seen) {
    return unlike
      ? judge("less than expected", "other", "said.moved.shouldShow")
      : judge("nothing seen", "wait", "said.moved.tooLittle");
  }
  if (goal === 0 && unlike) {
    return judge("more than expected", "other", "said.moved.shouldNot");
  }
  if (along < 0) {
    return unlike
      ? judge("the other way", "back", "said.moved.otherWay")
      : judge("nothing seen", "wait", "said.moved.byChance");
  }
  if (!unlike) return judge("as expected", "keep", "said.moved.asExpected");
  return along < goal
    ? judge("less than expected", "more", "said.moved.less")
    : judge("more than expected", "back", "said.moved.more");
}

/** How far an edge moved, whichever way, with its error. */
export const farOf = ({ value, error }: Measured): SaidValue => ({
  value: Math.round(Math.abs(value)),
  error: Math.round(error),
  unit: "mm",
});
