import { VisionError } from "../errors.ts";

/** Figures typed in, weighed or assayed contradict themselves or do not suffice. Correcting or adding some mends it. */
export class AccountsError extends VisionError<"out-of-range" | "no-separation" | "too-few" | "not-settled"> {}

/**
 * The value itself when it lies within the limits.
 *
 * @param what  What it is and its unit, as a person would say it: "Assay of the feed, %".
 * @throws {AccountsError} `out-of-range` below `least`, above `most`, or when it is no finite number.
 */
export function checked(what: string, value: number, least: number, most = Number.MAX_VALUE): number {
  if (Number.isFinite(value) && value >= least && value <= most) return value;
  const limits = most === Number.MAX_VALUE ? `must be at least ${least}` : `lies outside ${least} to ${most}`;
  throw new AccountsError("out-of-range", `${what}: ${value} ${limits}. Correct it.`);
}
