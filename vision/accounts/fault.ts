import { VisionError } from "../errors.ts";

/** Figures typed in, weighed or assayed contradict themselves or do not suffice. Correcting or adding some mends it. */
export class AccountsError extends VisionError<"out-of-range" | "no-separation" | "too-few" | "not-settled"> {}

/**
 * The value itself when it lies within the limits.
 *
 * @param what  What it is and its unit, as a person would say it: "Assay of the feed, %".
 * @throws {AccountsError} `out-of-range` below `least` (the smallest number there is stands for above 0), above `most`, or when it is no number.
 */
export function checked(what: string, value: number, least: number, most = Number.MAX_VALUE): number {
  if (value >= least && value <= most) return value;
  const from = least === Number.MIN_VALUE ? "above 0" : `at least ${least}`;
  const limits = most >= Number.MAX_VALUE ? `must be ${from}` : `must be ${from} and at most ${most}`;
  throw new AccountsError("out-of-range", `${what}: ${value} ${limits}. Correct it.`);
}
