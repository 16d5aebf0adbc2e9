/**
 * Two products by their grades: feed, product, tailing, then yield, recovery, enrichment, ratio; tolerance.
 *
 * Sources: the first row an engineering entrance examination's solution page (prints 93.103 %); the others worked out.
 * Two rows are traps: their source prints another answer, which does not follow from its own figures.
 */
export const TWO_PRODUCTS = [
  [10, 30, 1, 0.310345, 0.931034, 3, 3.222222, 2e-6],
  [10, 30, 5, 0.2, 0.6, 3, 5, 1e-6], // a stored function page prints 75 %, which belongs to its example by masses
  [0.8, 26, 0.16, 0.024768, 0.804954, 32.5, 40.375, 1e-5], // course notes print 82.73 %, 0.0286 and 28.9
  [2, 40, 0.3, 0.042821, 0.856423, 20, 23.352941, 1e-5],
  [5, 70, 0.5, 0.064748, 0.906475, 14, 15.444444, 1e-5],
  [0.5, 60, 0.12, 0.006346, 0.761523, 120, 157.578947, 1e-4],
] as const;

/** The wrong answers printed for the two traps: feed, product, tailing, recovery. */
export const TWO_PRODUCT_TRAPS = [
  [10, 30, 5, 0.75],
  [0.8, 26, 0.16, 0.8273],
] as const;

/**
 * Errors of yield and recovery when each grade has the same relative error: feed, product, tailing, that error, sd(R),
 * sd(Y), sd(R) / (R e) and sd(Y) / (Y e), and what the rule sqrt(2) (1 − R) / |R − Y|, sqrt(2) (1 − Y) / |R − Y| says.
 *
 * Sources: worked out to first order; rule: ChemRxiv preprint 6571384a29a13c4d47d5b5fd (December 2023), abstract. Tolerance
 * 1e-3.
 */
export const GRADE_ERRORS = [
  [2, 40, 0.3, 0.05, 0.010465, 0.0033361, 0.2444, 1.5581, 0.2496, 1.6638],
  [1, 42, 0.287, 0.05, 0.020261, 0.0015138, 0.5645, 1.7713, 0.5693, 1.9835],
  [5, 70, 0.5, 0.02, 0.002761, 0.0019467, 0.1523, 1.5033, 0.1571, 1.5713],
  [10, 30, 1, 0.03, 0.003891, 0.0141523, 0.1393, 1.5201, 0.1571, 1.5713],
  [1, 1.2, 0.9, 0.02, 0.0898, 0.0821922, 11.225, 12.3288, 12.7279, 14.1421],
  [0.5, 60, 0.12, 0.05, 0.016951, 0.0005341, 0.4452, 1.6834, 0.4466, 1.8608],
] as const;

/** Slopes of recovery at 2, 40, 0.3: along feed, product, tailing. Source: Wills, ch. 3, the formulas (from memory). */
export const RECOVERY_SLOPES = [0.075567, -0.000162, -0.482206] as const;

/**
 * Tin ore of 1 %, mineral of 78.6 % tin: grade of product, recovery, separation efficiency as printed. Tolerance 0.1 %.
 *
 * Source: Wills, ch. 1 (from memory).
 */
export const SEPARATION_EFFICIENCY = [
  [63, 0.62, 0.618],
  [42, 0.72, 0.712],
  [21, 0.78, 0.752],
] as const;

/** Metal in pure minerals, %. Worked out from IUPAC atomic weights; tolerance 1e-4. */
export const PURE_METAL = [
  ["cassiterite", 78.768],
  ["galena", 86.6],
  ["scheelite", 63.852],
] as const;
