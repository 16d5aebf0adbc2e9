type Pair = readonly [number, number];
/** Seven points in two groups. Source: a classic of teaching; scikit-learn 1.2.1 agrees. */
export const K_MEANS_SEVEN_POINTS = {
  points: [
    [1, 1],
    [1.5, 2],
    [3, 4],
    [5, 7],
    [3.5, 5],
    [4.5, 5],
    [3.5, 4.5],
  ] as readonly Pair[],
  labels: [0, 0, 1, 1, 1, 1, 1],
  centres: [
    [1.25, 1.5],
    [3.9, 5.1],
  ] as readonly Pair[],
  /** Sum of squared distances to the own centre. */
  inertia: 8.525,
} as const;

/** Six points in two columns. Source: the KMeans example in scikit-learn's documentation; its 1.2.1 agrees. */
export const K_MEANS_TWO_COLUMNS = {
  points: [
    [1, 2],
    [1, 4],
    [1, 0],
    [10, 2],
    [10, 4],
    [10, 0],
  ] as readonly Pair[],
  centres: [
    [1, 2],
    [10, 2],
  ] as readonly Pair[],
  inertia: 16,
} as const;
