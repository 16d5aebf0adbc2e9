/**
 * One photo of a 2438.4 × 1219.2 mm deck worked through by hand: corner pixels, the homography both ways, mapped
 * points, scale and uncertainty.
 *
 * Source: the equations of Hartley & Zisserman, Multiple View Geometry, 2nd ed. (2004), section 4.1, worked out apart
 * from this program with two solvers and a library that agree to 1e-12. Points are coordinates, not pixel indices.
 */
type Pair = readonly [number, number];
export const HOMOGRAPHY_WORKED = {
  cornersPx: [
    [512, 388],
    [3420, 450],
    [3880, 2310],
    [210, 2240],
  ] as readonly Pair[],
  cornersMm: [
    [0, 0],
    [2438.4, 0],
    [2438.4, 1219.2],
    [0, 1219.2],
  ] as readonly Pair[],
  /** Row-major, last entry 1; tolerance 1e-7. */
  pxToMm: [
    0.878916895, 0.143322301, -505.614503, -0.018642876, 0.874411025, -329.726325, -4.45387402e-6, 1.4902179e-4, 1,
  ],
  mmToPx: [1.19753575, -0.283542556, 512, 0.0260778844, 1.13674467, 388, 1.44750038e-6, -1.70662589e-4, 1],
  /** Pixel → mm; tolerance 1e-6. */
  pixels: [
    [
      [2000, 1200],
      [1217.35503, 583.186958],
    ],
    [
      [2016, 1512],
      [1219.21742, 784.9759],
    ],
    [
      [1000, 2000],
      [510.167166, 1082.609766],
    ],
    [
      [3000, 600],
      [2060.430808, 129.16823],
    ],
  ] as readonly (readonly [px: Pair, mm: Pair])[],
  /** mm → pixel; tolerance 1e-6. */
  places: [
    [
      [1219.2, 609.6],
      [2004.155254, 1239.520902],
    ],
    [
      [0, 609.6],
      [378.533541, 1206.476431],
    ],
    [
      [2438.4, 609.6],
      [3623.398078, 1272.435708],
    ],
    [
      [2438.4, 304.8],
      [3516.13928, 838.737085],
    ],
    [
      [1219.2, 1219.2],
      [2049.08016, 2275.077823],
    ],
  ] as readonly (readonly [mm: Pair, px: Pair])[],
  /** Pixels per mm along and across the stretch (singular values) at a place, mm; tolerance 1e-4. */
  pxPerMm: [
    [
      [0, 0],
      [1.290366, 1.119608],
    ],
    [
      [2438.4, 0],
      [1.369158, 1.044082],
    ],
    [
      [2438.4, 1219.2],
      [2.056338, 1.395831],
    ],
    [
      [0, 1219.2],
      [1.971315, 1.475588],
    ],
    [
      [1219.2, 609.6],
      [1.51364, 1.31923],
    ],
  ] as readonly (readonly [mm: Pair, scale: Pair])[],
  /** Standard deviation along x and y, mm, of a place when each corner coordinate errs by 2 px; tolerance 3 %. */
  spreadMmFor2Px: [
    [
      [1219.2, 609.6],
      [1.535, 0.771],
    ],
    [
      [2438.4, 609.6],
      [1.113, 1.035],
    ],
    [
      [1219.2, 1219.2],
      [1.771, 0.733],
    ],
  ] as readonly (readonly [mm: Pair, spread: Pair])[],
} as const;

/** A square seen in perspective: H = [2 1 0; 0 2 0; 0 1 1]. Source: Heckbert (1989), Fundamentals of Texture Mapping. */
export const HECKBERT_1989 = {
  from: [
    [0, 0],
    [1, 0],
    [1, 1],
    [0, 1],
  ] as readonly Pair[],
  to: [
    [0, 0],
    [2, 0],
    [1.5, 1],
    [0.5, 1],
  ] as readonly Pair[],
  matrix: [2, 1, 0, 0, 2, 0, 0, 1, 1],
  centreTo: [1, 2 / 3] as Pair,
} as const;

/**
 * A homography fitted to n point pairs with noise of 1 in one picture: RMS of the residuals, RMS error of the fit.
 * Four points leave no residual, so it says nothing there.
 *
 * Source: Hartley & Zisserman (2004), result 5.2 (from memory): (1 − 4/n)^½ and (4/n)^½.
 */
export const HARTLEY_ZISSERMAN_5_2: readonly (readonly [points: number, residual: number, error: number])[] = [
  [4, 0, 1],
  [5, 0.447214, 0.894427],
  [6, 0.57735, 0.816497],
  [8, Math.SQRT1_2, Math.SQRT1_2],
  [10, 0.774597, 0.632456],
  [20, 0.894427, 0.447214],
  [50, 0.959166, 0.282843],
];
