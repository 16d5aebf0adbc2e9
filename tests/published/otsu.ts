/**
 * A 6 × 6 picture of levels 0 to 5 as its histogram, and the variance between the two sides for each threshold
 * (background at most the threshold; the teaching page counts below it, one more).
 *
 * Source: Greensted, Lab Book Pages, "Otsu thresholding" (from memory; each value worked out again); scikit-image 0.19.3
 * gives threshold 2. Method: Otsu (1979), IEEE SMC 9 (1), 62–66.
 */
export const OTSU_LAB_BOOK = {
  histogram: [8, 7, 2, 6, 9, 4],
  totalVariance: 3.119599,
  between: [1.5928, 2.5635, 2.6287, 2.1417, 0.8705],
  threshold: 2,
  separability: 0.842645,
} as const;

/** Three heaps of grey; the best single split, by scikit-image 0.19.3. Below the middle heap, at 12, is exactly as good. */
export const OTSU_THREE_HEAPS = {
  levels: [10, 12, 11, 9, 10, 50, 52, 49, 51, 50, 90, 91, 89, 92, 90, 10, 50, 90],
  threshold: 52,
} as const;
