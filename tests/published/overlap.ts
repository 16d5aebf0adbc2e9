/**
 * What an overlap score means in millimetres, for a band `w` wide: slid sideways by d, IoU = (w − d) / (w + d); both
 * edges moved out by d, IoU = w / (w + 2 d). Worked out; the last two scores are those that two published studies of
 * bands report, on a spiral and a shaking table.
 */
export const BAND_IOU: readonly {
  iou: number;
  /** d for w = 100 and w = 300 mm. */
  slideMm: readonly [number, number];
  growMm: readonly [number, number];
}[] = [
  { iou: 0.8, slideMm: [11.1111, 33.3333], growMm: [12.5, 37.5] },
  { iou: 0.9, slideMm: [5.2632, 15.7895], growMm: [5.5556, 16.6667] },
  { iou: 0.95, slideMm: [2.5641, 7.6923], growMm: [2.6316, 7.8947] },
  { iou: 0.9632, slideMm: [1.8745, 5.6235], growMm: [1.9103, 5.7309] },
  { iou: 0.989, slideMm: [0.553, 1.6591], growMm: [0.5561, 1.6684] },
];

/** Two squares of 6 × 6 cells, one slid by one cell both ways: shared 25, together 47. Counted. */
export const TWO_SQUARES = { side: 6, slide: 1, iou: 25 / 47 } as const;
