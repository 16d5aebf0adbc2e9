/**
 * Pulps: per cent solids by weight, kg/m³ of the solids, of the pulp, tolerance.
 *
 * Sources: Wills, Mineral Processing Technology, ch. 3, the first three rows (from memory: 1400 kg/m³ is 45.9 %; 1364 and
 * 1579); an engineering reference page prints 1220 for the fourth; the others are worked out.
 */
export const PULP_DENSITIES = [
  [45.8874, 2650, 1400, 1e-5],
  [40, 3000, 1364, 1e-3],
  [55, 3000, 1579, 1e-3],
  [30, 2500, 1220, 1e-3],
  [20, 2650, 1142.241, 1e-5],
  [25, 2650, 1184.358, 1e-5],
  [25, 3000, 1200, 1e-6],
  [30, 3000, 1250, 1e-6],
] as const;

/** Share by volume: per cent by weight, kg/m³ of solids, share. Worked out; tolerance 1e-4. */
export const PULP_VOLUMES = [
  [20, 2650, 0.086207],
  [25, 2650, 0.111732],
  [25, 3000, 0.1],
  [30, 3000, 0.125],
] as const;

/** A litre fills in 7 s, pulp 1400 kg/m³, quartz: kg/h dry. Source: Wills, ch. 3: 0.33 t/h (from memory). */
export const TIMED_LITRE = {
  litres: 1,
  seconds: 7,
  pulpKgPerM3: 1400,
  solidsKgPerM3: 2650,
  kgPerHour: 330.39,
} as const;

/** Water of feeds: kg/h dry, per cent solids, L/min. Worked out. */
export const FEED_WATER = [
  [500, 25, 25],
  [100, 20, 6.667],
] as const;

/**
 * One published table: 800 kg/h of solids with 7 t/h of wash water. Source: Minerals (2025) 15 (11), 1100, abstract; the
 * flow and the ratio are worked out.
 */
export const CHROMITE_TABLE = { kgPerHour: 800, washLitresPerMinute: 116.667, washPerSolids: 8.75 } as const;
