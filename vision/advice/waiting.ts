import { strokeMotion } from "../process/stroke.ts";

/** Solids travel along a deck at about this share of its peak speed; an order of magnitude (judgement). */
const TRAVEL_SHARE = 0.05;
/** Times the solids on the deck are replaced before bands are judged again: several (common practice). */
const REPLACED = 3;
const AT_LEAST_MINUTES = 5;
/** A moved splitter changes only what falls, at once; this is for hands to be clear and the launder to run true. */
export const SPLITTER_MINUTES = 2;

/**
 * When to look again after the bands were moved, whole minutes: the solids on the deck replaced a few times. Water itself
 * clears in about 10 s (film volume over flow: 3.5 to 4.6 L at 20 to 25 L/min).
 */
export function waitMinutes(lengthMm: number, drive: { strokeMm: number; strokesPerMinute: number }): number {
  const seconds = lengthMm / (TRAVEL_SHARE * strokeMotion(drive.strokeMm, drive.strokesPerMinute).peakMmPerS);
  return Math.max(AT_LEAST_MINUTES, Math.ceil((REPLACED * seconds) / 60));
}
