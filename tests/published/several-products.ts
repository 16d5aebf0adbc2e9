/**
 * Lead and zinc, three products of 3500 t a day: assays of feed and products, %, then shares and t a day.
 *
 * Source: a classic textbook's figures in a course's spreadsheet, shares and tonnages printed to these digits; recoveries
 * worked out from them. Tolerance 1e-6.
 */
export const LEAD_ZINC = {
  feed: [6.2, 8.2],
  products: [
    [71.8, 6.4],
    [1.4, 57.8],
    [0.3, 0.8],
  ],
  shares: [0.08064207, 0.12190183, 0.7974561],
  /** Feed for one of each concentrate: worked out from the shares. */
  ratios: [12.400475, 8.203322],
  tonnesFed: 3500,
  tonnes: [282.247244, 426.656411, 2791.096345],
  /** Of each metal in each product. */
  recoveries: [
    [0.93388719, 0.02752622, 0.03858659],
    [0.06294015, 0.85925925, 0.07780059],
  ],
} as const;

/**
 * Copper, lead and zinc, four products. Source: the same spreadsheet; tolerance 1e-6. In another line it prints the tailing's
 * zinc as 0.86: then other shares follow.
 */
export const COPPER_LEAD_ZINC = {
  feed: [0.89, 1.83, 5.66],
  products: [
    [24.29, 7.45, 6.99],
    [0.85, 60.97, 8.9],
    [2.74, 0.82, 56.14],
    [0.11, 0.17, 0.66],
  ],
  shares: [0.0223907, 0.0237231, 0.0840445, 0.8698416],
  otherTailingZinc: 0.86,
  sharesThen: [0.0227373, 0.0237157, 0.0808601, 0.8726869],
} as const;

/** A table run, weighed: kg and g/t of three products. Worked out on made-up figures; tolerance 1e-6. */
export const WEIGHED_RUN = {
  products: [
    [12.5, 520],
    [87.5, 14],
    [900, 0.9],
  ],
  head: 8.535,
  distribution: [0.76157001, 0.14352666, 0.09490334],
  /** The first two together. */
  together: { grade: 77.25, recovery: 0.90509666 },
} as const;
