/**
 * Connected components of a 6 × 6 mask, with cells joined by sides and by corners.
 *
 * Source: scikit-image 0.19.3 (`measure.label`, `regionprops`); the areas can be counted by eye.
 */
export const COMPONENTS = {
  width: 6,
  height: 6,
  mask: [1, 1, 0, 0, 0, 1, 1, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 0, 0, 1, 0, 1, 0, 0, 0, 0, 1],
  labels: [1, 1, 0, 0, 0, 2, 1, 0, 0, 3, 0, 0, 0, 0, 3, 0, 0, 0, 0, 3, 0, 0, 4, 4, 0, 0, 0, 0, 4, 0, 5, 0, 0, 0, 0, 4],
  areas: [1, 1, 3, 3, 4],
} as const;

/** A block 8 rows × 20 columns at row 5, column 4: its area. Source: as above. */
export const BLOCK = { row: 5, column: 4, rows: 8, columns: 20, area: 160 } as const;
