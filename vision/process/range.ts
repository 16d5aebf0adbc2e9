import { VisionError } from "../errors.ts";

/** A number handed to the physics is none, or lies where a formula does not hold. Correcting it mends it. */
export class ProcessError extends VisionError<"out-of-range" | "too-few-readings" | "points-in-line"> {}

/**
 * The value itself when it lies within the limits a formula was made for.
 *
 * @param what  What it is and its unit, as a person would say it: "Water temperature, °C".
 * @throws {ProcessError} `out-of-range` below `least`, above `most`, or when it is no finite number.
 */
export function within(what: string, value: number, least: number, most: number): number {
  if (Number.isFinite(value) && value >= least && value <= most) return value;
  throw new ProcessError("out-of-range", `${what}: ${value} lies outside ${least} to ${most}. Correct it.`);
}

/** The value itself when it is above zero and finite. @throws {ProcessError} `out-of-range`. */
export function above0(what: string, value: number): number {
  if (Number.isFinite(value) && value > 0) return value;
  throw new ProcessError("out-of-range", `${what}: ${value} must be above 0. Correct it.`);
}

/** A number with its standard error, in the same unit. */
export interface Measured {
  readonly value: number;
  readonly error: number;
}

/**
 * Mean of like readings and its standard error, s / √n. One reading alone has no spread: `error` is NaN then.
 *
 * @throws {ProcessError} `too-few-readings` when there is none; `out-of-range` when one is no finite number.
 */
export function meanOf(what: string, readings: readonly number[]): Measured {
  if (readings.length === 0) throw new ProcessError("too-few-readings", `${what}: take at least one reading.`);
  for (const reading of readings) within(what, reading, -Number.MAX_VALUE, Number.MAX_VALUE);
  const value = readings.reduce((sum, reading) => sum + reading, 0) / readings.length;
  const squares = readings.reduce((sum, reading) => sum + (reading - value) ** 2, 0);
  return { value, error: Math.sqrt(squares / (readings.length - 1) / readings.length) };
}

/** Standard gravity, m/s², by definition (CGPM 1901). */
export const GRAVITY = 9.80665;
