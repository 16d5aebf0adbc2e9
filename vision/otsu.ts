export interface Split {
  /** The background is every level at most this. */
  readonly threshold: number;
  /** Share of the variance that lies between the two sides, 0 to 1: near 1 for two tight heaps. */
  readonly separability: number;
}

/**
 * The level that best splits a histogram into two heaps: the largest variance between them.
 *
 * @param histogram  How many cells have each level 0, 1, 2 …; need not be whole numbers.
 * @returns `null` when fewer than two levels occur: a flat image has no split. Of equal splits the higher,
 *          and its lowest level: levels that do not occur make no other split.
 *
 * Source: Otsu (1979), IEEE SMC 9 (1), 62–66: σ_B² and η = σ_B² / σ_T².
 */
export function otsuThreshold(histogram: ArrayLike<number>): Split | null {
  let total = 0;
  let sum = 0;
  let squares = 0;
  for (let level = 0; level < histogram.length; level++) {
    total += histogram[level]!;
    sum += level * histogram[level]!;
    squares += level * level * histogram[level]!;
  }
  let best = 0;
  let threshold = -1;
  let weight = 0;
  let below = 0;
  for (let level = 0; level < histogram.length - 1; level++) {
    weight += histogram[level]!;
    below += level * histogram[level]!;
    if (!histogram[level] || weight >= total * (1 - 1e-12)) continue;
    const between = (sum * weight - below * total) ** 2 / (weight * (total - weight)); // total² × σ_B²
    if (between > 0 && between >= best * (1 - 1e-12)) {
      best = between;
      threshold = level;
    }
  }
  if (threshold < 0) return null;
  return { threshold, separability: best / (squares * total - sum * sum) };
}
