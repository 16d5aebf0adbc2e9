import type { Measured } from "../process/range.ts";

/** Step of the differences: a share of the value, or of its error where that is larger. */
const VALUE_STEP = 1e-5;
const ERROR_STEP = 1e-3;

/**
 * What a formula gives for measured inputs, with one standard error, to first order; inputs independent of each other.
 *
 * Holds while errors are small beside the bends of the formula: a twentieth of the input is, a half is not.
 *
 * Source: JCGM 100:2008, Guide to the Expression of Uncertainty in Measurement, 5.1.2; slopes by central differences.
 */
export function propagate(inputs: readonly Measured[], formula: (values: readonly number[]) => number): Measured {
  const values = inputs.map(({ value }) => value);
  const slopes = slopesOf(
    values,
    inputs.map(({ error }) => error),
    formula,
  );
  return { value: formula(values), error: Math.hypot(...slopes.map((slope, i) => slope * inputs[i]!.error)) };
}

/**
 * As `propagate`, for inputs whose errors hang together.
 *
 * @param covariance  Square, in the order of the values; not modified.
 * Source: the same, 5.2.2.
 */
export function propagateJoint(
  values: readonly number[],
  covariance: readonly (readonly number[])[],
  formula: (values: readonly number[]) => number,
): Measured {
  const errors = values.map((_, i) => Math.sqrt(Math.max(0, covariance[i]![i]!)));
  const slopes = slopesOf(values, errors, formula);
  const variance = slopes.reduce(
    (sum, a, i) => sum + (a === 0 ? 0 : a * slopes.reduce((row, b, j) => row + b * covariance[i]![j]!, 0)),
    0,
  );
  return { value: formula(values), error: Math.sqrt(Math.max(0, variance)) };
}

/** Slope of the formula along each value; 0 where the value has no error. */
function slopesOf(
  values: readonly number[],
  errors: readonly number[],
  formula: (values: readonly number[]) => number,
): number[] {
  return values.map((value, i) => {
    if (!(errors[i]! > 0)) return 0;
    const step = Math.max(VALUE_STEP * Math.abs(value), ERROR_STEP * errors[i]!);
    const at = (moved: number) => formula(values.map((v, k) => (k === i ? moved : v)));
    return (at(value + step) - at(value - step)) / (2 * step);
  });
}
