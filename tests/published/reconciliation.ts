/**
 * Six flows of three splits and joins, all weights alike: 1 = 2 + 3, 2 = 4, 3 = 5, 4 + 5 = 6.
 *
 * Source: Narasimhan & Jordache (2000), Data Reconciliation and Gross Error Detection, ch. 1 (from memory, reproduced).
 */
export const SIX_FLOWS = {
  measured: [101.91, 64.45, 34.65, 64.2, 36.44, 98.88],
  adjusted: [100.22, 64.5, 35.72, 64.5, 35.72, 100.22],
  squares: 6.4075,
} as const;

/**
 * A tin concentrator's assays of feed, concentrate and tailing, %, and the yield that each alone gives, % as printed.
 *
 * Source: Wills, ch. 3, reconciliation of excess data (from memory). Tolerance of the yields 0.2 %.
 */
export const TIN_ASSAYS = {
  Sn: [21.9, 43, 6.77, 41.8],
  Fe: [3.46, 5.5, 1.76, 45.5],
  SiO2: [58, 25.1, 75.3, 34.5],
  S: [0.11, 0.12, 0.09, 66.7],
  As: [0.36, 0.38, 0.34, 50],
  TiO2: [4.91, 9.24, 2.07, 39.6],
} as const;

/**
 * The same adjusted, every assay with the same absolute error: yield, tin recovery, assays as above. The yield is the one
 * of the unweighted fit, sum (f − t)(c − t) / sum (c − t)². Worked out; tolerance 1e-5.
 */
export const TIN_UNWEIGHTED = {
  yield: 0.3702727,
  recovery: 0.773517,
  adjusted: {
    Sn: [20.78175, 43.41406, 7.4742],
    Fe: [3.25449, 5.57609, 1.88941],
    SiO2: [57.16038, 25.41089, 75.82873],
    S: [0.1042, 0.12215, 0.09365],
    As: [0.35662, 0.38125, 0.34213],
    TiO2: [4.78928, 9.2847, 2.14602],
  },
} as const;

/** The same adjusted, every assay with a relative error of 5 %. Worked out; tolerance 1e-5. */
export const TIN_WEIGHTED = {
  yield: 0.412993,
  recovery: 0.817564,
  chiSquare: 2.919862,
  adjusted: {
    Sn: [21.80106, 43.15754, 6.77555],
    Fe: [3.35777, 5.60668, 1.77553],
    SiO2: [55.87178, 25.26461, 77.40568],
    S: [0.10469, 0.12261, 0.09209],
    As: [0.35768, 0.38107, 0.34122],
    TiO2: [4.98276, 9.13359, 2.06241],
  },
} as const;

/**
 * Three streams with two components and an error that is no chance: flow and its error, then each component's.
 *
 * Source of the figures: data reconciliation module of NCSU and the University of Ottawa (2003), table 4.1; what comes out
 * was worked out apart from this program. Tolerance 1e-5.
 */
export const TWO_COMPONENTS = {
  streams: [
    [1095.475, 4.8, 0.4822, 0.0048, 0.517, 0.0052],
    [478.402, 3.9, 0.941, 0.0094, 0.0501, 0.0005],
    [488.232, 4.4, 0.0197, 0.0002, 0.9748, 0.0097],
  ],
  flows: [1043.792435, 514.166129, 529.626306],
  components: [
    [0.477709, 0.518211],
    [0.949485, 0.050094],
    [0.019704, 0.972662],
  ],
  chiSquare: 290.3271,
  /** With the components of each stream summing to 1 as well. */
  whole: {
    flows: [1043.733648, 514.798785, 528.934863],
    components: [
      [0.478513, 0.521487],
      [0.949915, 0.050085],
      [0.019709, 0.980291],
    ],
    chiSquare: 291.4244,
  },
} as const;
