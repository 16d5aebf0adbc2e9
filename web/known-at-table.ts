import type { Measured } from "./set-up-sums.ts";

/** What one part of the set-up measured and another one wants. */
export interface KnownAtTable {
  crossSlope: Measured | null;
  endSlope: Measured | null;
  /** Water from a timed can, L/min. */
  water: Measured | null;
}
