/** Chi-square: share below, degrees of freedom, limit. Source: tables such as Abramowitz & Stegun (1964), 26.8 (from memory). */
export const CHI_SQUARE = [
  [0.95, 1, 3.841],
  [0.95, 3, 7.815],
  [0.95, 5, 11.07],
  [0.95, 10, 18.307],
  [0.99, 1, 6.635],
  [0.99, 10, 23.209],
] as const;

/** Student's t: share below, degrees of freedom, limit. Source: the same, 26.10 (from memory). */
export const STUDENT = [
  [0.975, 1, 12.706],
  [0.975, 2, 4.303],
  [0.975, 3, 3.182],
  [0.975, 10, 2.228],
  [0.95, 5, 2.015],
] as const;

/** Normal: share below, limit. Source: the same, 26.1 (from memory). */
export const NORMAL = [
  [0.975, 1.959964],
  [0.995, 2.575829],
  [0.95, 1.644854],
  [0.9986501, 3],
] as const;

/**
 * Largest of several moves that chance passes once in 20 times: how many, limit in standard errors. Worked out from
 * Šidák (1967): 1 − (1 − 0.05)^(1/n), split on both sides, with a table of the normal distribution. Tolerance 1e-3.
 */
export const LARGEST_MOVE = [
  [1, 1.96],
  [3, 2.388],
  [6, 2.631],
  [10, 2.8],
] as const;
