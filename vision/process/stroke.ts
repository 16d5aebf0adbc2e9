import { above0, GRAVITY, within } from "./range.ts";

export interface StrokeMotion {
  readonly peakMmPerS: number;
  readonly peakMPerS2: number;
  /** Peak acceleration over gravity. */
  readonly peakG: number;
}

/**
 * Peak speed and acceleration of a deck, for an even (sine) motion: π n s / 60 and 2 (π n / 60)² s. A real head motion
 * turns faster at one end; its peak there is higher.
 *
 * Source: kinematics of x = (s/2) sin(2π n t / 60).
 *
 * @param strokeMm  Full travel from end to end, mm.  @throws {ProcessError} `out-of-range`.
 */
export function strokeMotion(strokeMm: number, strokesPerMinute: number): StrokeMotion {
  const perSecond = (Math.PI * above0("Strokes per minute", strokesPerMinute)) / 60;
  const peakMPerS2 = (2 * perSecond ** 2 * above0("Stroke, mm", strokeMm)) / 1000;
  return { peakMmPerS: perSecond * strokeMm, peakMPerS2, peakG: peakMPerS2 / GRAVITY };
}

/**
 * Lift for each length of forward travel when leaf springs lean back from upright by an angle: its tangent, for travel
 * short beside the spring. Source: geometry of an arm on a pivot.
 */
export const springLift = (leanDegrees: number): number =>
  Math.tan((within("Lean of the springs, degrees", leanDegrees, 0, 60) * Math.PI) / 180);
