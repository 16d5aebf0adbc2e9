/**
 * Run lengths of charts by shift in sd: 0, 0.25, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 4; printed to three digits.
 *
 * Sources, both from memory: EWMA by weight λ and width L: Lucas & Saccucci (1990), Technometrics 32, 1, as in Montgomery,
 * Statistical Quality Control, ch. 9; CUSUM with k = 0.5 by limit h: Lucas & Crosier, as in the same chapter.
 */
export const SHIFTS = [0, 0.25, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 4] as const;
export const EWMA_LENGTHS = [
  [0.4, 3.054, [500, 224, 71.2, 28.4, 14.3, 5.9, 3.5, 2.5, 2, 1.4]],
  [0.25, 2.998, [500, 170, 48.2, 20.1, 11.1, 5.5, 3.6, 2.7, 2.3, 1.7]],
  [0.2, 2.962, [500, 150, 41.8, 18.2, 10.5, 5.5, 3.7, 2.9, 2.4, 1.9]],
  [0.1, 2.814, [500, 106, 31.3, 15.9, 10.3, 6.1, 4.4, 3.4, 2.9, 2.2]],
  [0.05, 2.615, [500, 84.1, 28.8, 16.4, 11.4, 7.1, 5.2, 4.2, 3.5, 2.7]],
] as const;
export const CUSUM_LENGTHS = [
  [4, [168, 74.2, 26.6, 13.3, 8.38, 4.75, 3.34, 2.62, 2.19, 1.71]],
  [5, [465, 139, 38, 17, 10.4, 5.75, 4.01, 3.11, 2.57, 2.01]],
] as const;

/** k and h of CUSUMs with 370 values between false alarms, h to two places. Source: Hawkins (1993), as in the same chapter. */
export const CUSUM_370 = [
  [0.25, 8.01],
  [0.5, 4.77],
  [0.75, 3.34],
  [1, 2.52],
  [1.25, 1.99],
  [1.5, 1.61],
] as const;

/** Single values beyond three sd, by shift. Source: the same, ch. 6 (from memory). */
export const SINGLE_LENGTHS = [
  [0, 370.4],
  [1, 43.9],
  [2, 6.3],
] as const;
