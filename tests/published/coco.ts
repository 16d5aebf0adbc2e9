/**
 * Run lengths as the COCO tools pack them: what pycocotools 2.0.11 (`mask.encode`) made of this invented mask, read off its
 * output. Rows of the mask from the top; run lengths go down the columns.
 */
export const PACKED_MASK = {
  rows: ["000000001", "001111100", "001101100", "001111100", "000000000", "100000000"],
  counts: "5172L00NN022005NM",
  area: 16,
} as const;
