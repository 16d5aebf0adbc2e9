import { normalLimit, studentBelow } from "./odds.ts";

/** Beyond this many sd chances are too small to turn back into sd. */
const MOST = 8;

/**
 * Values on the scale of those before them: while nothing changes they are normal, independent, mean 0, sd 1, whatever
 * level and spread the run has, and however short it is. Charts for known values hold for them exactly.
 *
 * @returns null for the first two, which have nothing to be held against.
 * Source: Hawkins (1987), The Statistician 36, 299; Quesenberry (1991), J. Quality Technology 23, 213, case both unknown (from
 * memory).
 */
export class OwnScale {
  private count = 0;
  private mean = 0;
  private squares = 0;

  /** The value on the scale of those learned before, or null; nothing is learned from it yet. */
  place(value: number): number | null {
    const n = this.count;
    if (n < 2 || this.squares === 0) return null;
    const t = (Math.sqrt(n / (n + 1)) * (value - this.mean)) / this.sd;
    const z = normalLimit(studentBelow(-Math.abs(t), n - 1)); // by the lower tail, which keeps its digits
    return Math.sign(t) * Math.min(MOST, -z);
  }

  /** Source: Welford (1962), Technometrics 4, 419. */
  learn(value: number): void {
    this.count += 1;
    const off = value - this.mean;
    this.mean += off / this.count;
    this.squares += off * (value - this.mean);
  }

  get level(): number {
    return this.mean;
  }
  /** NaN before the second value. */
  get sd(): number {
    return Math.sqrt(this.squares / (this.count - 1));
  }
  get learned(): number {
    return this.count;
  }
}
