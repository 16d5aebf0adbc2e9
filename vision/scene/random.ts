/** Uniform draws, 0 ≤ n < 1; the same seed gives the same draws everywhere. */
export type Random = () => number;

/** Source: B. Jenkins & C. Doty-Humphrey, "Small Fast Counting" generator of PractRand (public domain), 32-bit form. */
export function randomFrom(seed: number): Random {
  let [a, b, c, counter] = [seed | 0, (seed / 4294967296) | 0, 0x9e3779b9 | 0, 1];
  const next = () => {
    const sum = (a + b + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (((c << 21) | (c >>> 11)) + sum) | 0;
    return (sum >>> 0) / 4294967296;
  };
  for (let i = 0; i < 12; i++) next();
  return next;
}

export const between = (random: Random, low: number, high: number) => low + (high - low) * random();
export const chance = (random: Random, share: number) => random() < share;
export const pick = <T>(random: Random, from: readonly T[]): T => from[Math.floor(random() * from.length)]!;
/** Near-normal draw, sd 1: the sum of six uniform draws, cut at ±4.2. */
export const bell = (random: Random) =>
  (random() + random() + random() + random() + random() + random() - 3) * Math.SQRT2;

/** Smooth noise of the plane, about −1 to 1, one knot a unit, repeating after 64. */
export type Noise = (u: number, v: number) => number;
const KNOTS = 64;
export function makeNoise(random: Random): Noise {
  const lattice = Float32Array.from({ length: KNOTS * KNOTS }, () => random() * 2 - 1);
  const wrap = KNOTS - 1;
  return (u, v) => {
    const [column, row] = [Math.floor(u), Math.floor(v)];
    let [fu, fv] = [u - column, v - row];
    fu = fu * fu * (3 - 2 * fu);
    fv = fv * fv * (3 - 2 * fv);
    const [left, right] = [column & wrap, (column + 1) & wrap];
    const [up, down] = [(row & wrap) * KNOTS, ((row + 1) & wrap) * KNOTS];
    const top = lattice[up + left]! * (1 - fu) + lattice[up + right]! * fu;
    const bottom = lattice[down + left]! * (1 - fu) + lattice[down + right]! * fu;
    return top * (1 - fv) + bottom * fv;
  };
}

/** Noise with finer and fainter copies of itself on top, about −1.5 to 1.5. */
export function fractal(noise: Noise, u: number, v: number, octaves: number): number {
  let [sum, weight] = [0, 1];
  for (let k = 0; k < octaves; k++) {
    sum += weight * noise(u + 17.3 * k, v + 5.9 * k);
    weight *= 0.55;
    u *= 2.03;
    v *= 2.03;
  }
  return sum * 1.2;
}

/** 0 below `low`, 1 above `high`, smooth between. */
export function ramp(low: number, high: number, value: number): number {
  const t = Math.min(1, Math.max(0, (value - low) / (high - low)));
  return t * t * (3 - 2 * t);
}
