/**
 * Connected components of a 6 × 6 mask, with cells joined by sides alone and by corners too.
 *
 * Source: scikit-image 0.19.3 (`measure.label`, `regionprops`); the areas can be counted by eye.
 */
export const COMPONENTS = {
  width: 6,
  height: 6,
  mask: [1, 1, 0, 0, 0, 1, 1, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 0, 0, 1, 0, 1, 0, 0, 0, 0, 1],
  bySides: {
    labels: [
      1, 1, 0, 0, 0, 2, 1, 0, 0, 3, 0, 0, 0, 0, 4, 0, 0, 0, 0, 5, 0, 0, 6, 6, 0, 0, 0, 0, 6, 0, 7, 0, 0, 0, 0, 8,
    ],
    areas: [1, 1, 1, 1, 1, 1, 3, 3],
  },
  byCorners: {
    labels: [
      1, 1, 0, 0, 0, 2, 1, 0, 0, 3, 0, 0, 0, 0, 3, 0, 0, 0, 0, 3, 0, 0, 4, 4, 0, 0, 0, 0, 4, 0, 5, 0, 0, 0, 0, 4,
    ],
    areas: [1, 1, 3, 3, 4],
    /** The largest: centre as row and column, first and last row and column. */
    largest: { label: 4, centre: [3.75, 4.5], rows: [3, 5], columns: [4, 5] },
  },
} as const;

/** A block 8 rows × 20 columns at row 5, column 4: area, centre (row, column). Source: as above. */
export const BLOCK = { row: 5, column: 4, rows: 8, columns: 20, area: 160, centre: [8.5, 13.5] } as const;
