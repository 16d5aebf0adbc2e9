import type { Measured } from "../process/range.ts";
import { within } from "../process/range.ts";

export type Verdict = "as expected" | "less than expected" | "more than expected" | "the other way" | "nothing seen";

export interface Judgement {
  readonly verdict: Verdict;
  /** Moved over expected; null when nothing was expected or nothing can be told. */
  readonly share: number | null;
  readonly say: string;
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
  const mm = (value: number) => `${Math.abs(value).toFixed(0)} mm`;
  const said = `The edge moved ${mm(moved.value)} (± ${moved.error.toFixed(0)}); ${mm(goal)} was expected.`;
  const judge = (verdict: Verdict, next: Judgement["next"], then: string): Judgement => ({
    verdict,
    share,
    next,
    say: `${said} ${then}`,
  });
  if (!seen) {
    return unlike
      ? judge(
          "less than expected",
          "other",
          "It should have shown: check that the change was made, then look elsewhere.",
        )
      : judge("nothing seen", "wait", "That is too little to see: wait, then take another photo.");
  }
  if (goal === 0 && unlike) {
    return judge("more than expected", "other", "Nothing should have moved: look for another cause.");
  }
  if (along < 0) {
    return unlike
      ? judge("the other way", "back", "Put the control back, and look for another cause.")
      : judge("nothing seen", "wait", "That is within what two photos differ by: take another one.");
  }
  if (!unlike) return judge("as expected", "keep", "Leave it so and look again later.");
  return along < goal
    ? judge("less than expected", "more", "A little more of the same should do.")
    : judge("more than expected", "back", "Take part of it back.");
}
