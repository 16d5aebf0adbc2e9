/** Chance by place: the same place and seed give the same draw. */

/** Uniform 0..1 from two integers and a seed. */
export function hash(ix: number, iy: number, seed: number): number {
  let h = Math.imul(ix, 0x27d4eb2d) ^ Math.imul(iy, 0x165667b1) ^ Math.imul(seed, 0x9e3779b1);
  h = Math.imul(h ^ (h >>> 15), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return ((h ^ (h >>> 16)) >>> 0) / 4294967296;
}
/** Smooth noise, mean 0, standard deviation near 1, one feature per unit length. */
export function noise(x: number, y: number, seed: number): number {
  const iy = Math.floor(y),
    fy = y - iy,
    v = fy * fy * (3 - 2 * fy);
  const rowValue = (row: number): number => {
    // each lattice row is shifted by chance, so no blocks line up
    const shifted = x + 17 * hash(row, 11, seed),
      ix = Math.floor(shifted),
      fx = shifted - ix,
      u = fx * fx * (3 - 2 * fx);
    const a = hash(ix, row, seed);
    return a + (hash(ix + 1, row, seed) - a) * u;
  };
  const a = rowValue(iy);
  return (a + (rowValue(iy + 1) - a) * v - 0.5) * 4.6;
}
export const fractal = (x: number, y: number, seed: number): number =>
  (noise(x, y, seed) + 0.5 * noise(2.1 * x, 2.1 * y, seed + 1) + 0.25 * noise(4.3 * x, 4.3 * y, seed + 2)) / 1.15;
export const clamp01 = (v: number): number => Math.min(1, Math.max(0, v));
export const smoothstep = (from: number, to: number, v: number): number => {
  const t = clamp01((v - from) / (to - from));
  return t * t * (3 - 2 * t);
};
/** Standard normal to uniform 0..1 (logistic approximation). */
export const uniformOf = (z: number): number => 1 / (1 + Math.exp(-1.702 * z));
