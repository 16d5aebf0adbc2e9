/**
 * The 4 × 4 picture in figure 3 of Haralick, Shanmugam & Dinstein (1973), "Textural features for image classification",
 * IEEE Trans. Systems, Man and Cybernetics 3 (6), 610–621; symmetric co-occurrence counts at distance 1 as printed
 * there. The features were worked out apart from this program and agree with scikit-image 0.19.3 to six digits.
 */
export const HARALICK_1973 = {
  width: 4,
  height: 4,
  levels: [0, 0, 1, 1, 0, 0, 1, 1, 0, 2, 2, 2, 2, 2, 3, 3],
  /** Direction as (column, row) step; rows of the count matrix; contrast Σ p (i − j)². */
  directions: [
    {
      step: [1, 0],
      counts: [4, 2, 1, 0, 2, 4, 0, 0, 1, 0, 6, 1, 0, 0, 1, 2],
      contrast: 0.583333,
    },
    {
      step: [1, 1],
      counts: [2, 1, 3, 0, 1, 2, 1, 0, 3, 1, 0, 2, 0, 0, 2, 0],
      contrast: 1.777778,
    },
    { step: [0, 1], counts: [6, 0, 2, 0, 0, 4, 2, 0, 2, 2, 2, 2, 0, 0, 2, 0], contrast: 1 },
    {
      step: [-1, 1],
      counts: [4, 1, 0, 0, 1, 2, 2, 0, 0, 2, 4, 1, 0, 0, 1, 0],
      contrast: 0.444444,
    },
  ],
  meanContrast: 0.951389,
} as const;
