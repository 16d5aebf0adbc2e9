/**
 * Pearson's points with York's weights: x, weight of x, y, weight of y; weight 1 over the error squared.
 *
 * Sources, from memory and reproduced: Pearson (1901), Phil. Mag. 2, 559; weights York (1966), Can. J. Phys. 44, 1079; line and
 * errors York, Evensen, Martínez & De Basabe Delgado (2004), Am. J. Phys. 72, 367, table II.
 */
export const PEARSON_YORK = {
  points: [
    [0, 1000, 5.9, 1],
    [0.9, 1000, 5.4, 1.8],
    [1.8, 500, 4.4, 4],
    [2.6, 800, 4.6, 8],
    [3.3, 200, 3.5, 20],
    [4.4, 80, 3.7, 20],
    [5.2, 60, 2.8, 70],
    [6.1, 20, 2.8, 70],
    [6.5, 1.8, 2.4, 100],
    [7.4, 1, 1.5, 500],
  ],
  slope: -0.48053341,
  slopeError: 0.057985,
  at0: 5.47991022,
  at0Error: 0.29497074,
  chiSquarePerFreedom: 1.4833,
} as const;
