/**
 * Local binary patterns, 8 samples at radius 1, of the 6 × 6 picture in scikit-image's own test of them; its 0.19.3
 * gives these rotation-invariant uniform codes (there: method "uniform").
 *
 * Method: Ojala, Pietikäinen & Mäenpää (2002), IEEE PAMI 24 (7), 971–987 (from memory).
 */
export const LBP_UNIFORM = {
  width: 6,
  height: 6,
  grey: [
    255, 6, 255, 0, 141, 0, 48, 250, 204, 166, 223, 63, 8, 0, 159, 50, 255, 30, 167, 255, 63, 40, 128, 255, 0, 255, 30,
    34, 255, 24, 146, 241, 255, 0, 189, 126,
  ],
  codes: [0, 7, 0, 8, 2, 8, 5, 0, 9, 9, 1, 3, 9, 8, 2, 7, 0, 6, 2, 1, 5, 6, 5, 0, 8, 1, 8, 9, 0, 7, 2, 9, 0, 8, 1, 2],
} as const;

/** One cell and its eight neighbours: the centre's code is 9. scikit-image 0.19.3. */
export const LBP_ONE_CELL = { grey: [4, 2, 9, 7, 5, 1, 6, 8, 5], code: 9 } as const;
