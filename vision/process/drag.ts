/**
 * Drag coefficient of one grain against its Reynolds number, ρ v d / μ, by published correlations. Each holds for a grain
 * alone in still water; which one was used belongs beside every velocity made from it.
 */
export type DragLaw = (reynolds: number) => number;

/** Sphere, Re up to 2e5. Source: Haider & Levenspiel (1989), Powder Technol. 58, 63–70. */
export const haiderLevenspiel: DragLaw = (re) => (24 / re) * (1 + 0.1806 * re ** 0.6459) + 0.4251 / (1 + 6880.95 / re);

/**
 * Grain of a given sphericity, Re up to 25 000; size is the diameter of the sphere of the same volume. A fit apart from
 * the sphere's: at sphericity 1 the two differ by up to 6 %.
 *
 * Source: Haider & Levenspiel (1989), Powder Technol. 58, 63–70 (from memory).
 *
 * @param phi  Sphericity: surface of that sphere over the grain's own, 0.5 to 1.
 */
export const haiderLevenspielShaped = (phi: number): DragLaw => {
  const a = Math.exp(2.3288 - 6.4581 * phi + 2.4486 * phi ** 2);
  const b = 0.0964 + 0.5565 * phi;
  const c = Math.exp(4.905 - 13.8944 * phi + 18.4222 * phi ** 2 - 10.2599 * phi ** 3);
  const d = Math.exp(1.4681 + 12.2584 * phi - 20.7322 * phi ** 2 + 15.8855 * phi ** 3);
  return (re) => (24 / re) * (1 + a * re ** b) + c / (1 + d / re);
};

/** Sphere, Re up to 44 000 here. Source: Clift, Grace & Weber (1978), Bubbles, Drops and Particles, table 5.2. */
export const cliftGraceWeber: DragLaw = (re) => {
  const l = Math.log10(re);
  if (re < 0.01) return 24 / re + 3 / 16;
  if (re < 20) return (24 / re) * (1 + 0.1315 * re ** (0.82 - 0.05 * l));
  if (re < 260) return (24 / re) * (1 + 0.1935 * re ** 0.6305);
  if (re < 1500) return 10 ** (1.6435 - 1.1242 * l + 0.1558 * l ** 2);
  if (re < 12_000) return 10 ** (-2.4571 + 2.5558 * l - 0.9295 * l ** 2 + 0.1049 * l ** 3);
  return 10 ** (-1.9181 + 0.637 * l - 0.0636 * l ** 2);
};

/** Sphere, Re up to 800. Source: Schiller & Naumann (1933) (from memory). */
export const schillerNaumann: DragLaw = (re) => (24 / re) * (1 + 0.15 * re ** 0.687);
