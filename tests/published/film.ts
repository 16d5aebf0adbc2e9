/**
 * Film on a deck of 2438.4 × 1219.2 mm (8 × 4 ft) at 1/4 in/ft, smooth and even: °C, L/min, depth mm, mean and surface
 * speed m/s, float time across s, Re = q/ν, Froude number, shear Pa.
 *
 * Source: Nusselt (1916) with IAPWS water, worked out apart from this program. Tolerance 0.1 %, as the viscosity here is
 * the shorter IAPWS formula.
 */
export const FILM_TABLE: readonly (readonly [
  c: number,
  flow: number,
  depth: number,
  mean: number,
  surface: number,
  seconds: number,
  re: number,
  froude: number,
  shear: number,
])[] = [
  [5, 20, 1.4499, 0.09428, 0.14142, 8.621, 90.04, 0.7907, 0.29616],
  [5, 25, 1.5619, 0.1094, 0.16411, 7.4294, 112.55, 0.8841, 0.31902],
  [10, 20, 1.3791, 0.09913, 0.14869, 8.1996, 104.65, 0.8525, 0.2816],
  [10, 25, 1.4855, 0.11503, 0.17254, 7.0662, 130.81, 0.9531, 0.30335],
  [15, 20, 1.3173, 0.10377, 0.15566, 7.8325, 120.06, 0.9131, 0.26884],
  [15, 25, 1.419, 0.12042, 0.18063, 6.7499, 150.08, 1.0209, 0.28959],
  [20, 20, 1.263, 0.10824, 0.16236, 7.5094, 136.24, 0.9727, 0.25751],
  [20, 25, 1.3605, 0.1256, 0.1884, 6.4714, 170.3, 1.0875, 0.2774],
  [25, 20, 1.2147, 0.11254, 0.16881, 7.2223, 153.14, 1.0312, 0.24738],
  [25, 25, 1.3085, 0.13059, 0.19589, 6.224, 191.43, 1.153, 0.26648],
  [30, 20, 1.1715, 0.11669, 0.17504, 6.9653, 170.73, 1.0889, 0.23824],
  [30, 25, 1.2619, 0.13541, 0.20312, 6.0025, 213.41, 1.2174, 0.25664],
];

/** As above with round water, ν 1e-6 m²/s and 1000 kg/m³: L/min, mm, m/s, m/s, s, Re, Pa. Tolerance 1e-4. */
export const FILM_ROUND_WATER: readonly (readonly [
  flow: number,
  depth: number,
  mean: number,
  surface: number,
  seconds: number,
  re: number,
  shear: number,
])[] = [
  [20, 1.26155, 0.10836, 0.162541, 7.5009, 136.7017, 0.257685],
  [25, 1.35896, 0.125741, 0.188612, 6.46408, 170.8771, 0.277582],
];

/** Speed over the deck, 20 °C, 20 L/min: height mm, m/s. Tolerance 0.1 %. Source: as the film table. */
export const FILM_PROFILE: readonly (readonly [heightMm: number, speed: number])[] = [
  [0.1, 0.024692],
  [0.25, 0.057914],
  [0.5, 0.103105],
  [1.0, 0.155318],
];

/** Other slopes, 20 °C: in/ft, float time at 20 and 25 L/min s, onset of waves. Source: as the film table. */
export const FILM_SLOPES: readonly (readonly [inPerFt: number, at20: number, at25: number, onset: number])[] = [
  [0.125, 9.4607, 8.153, 80],
  [0.25, 7.5094, 6.4714, 40],
  [0.375, 6.5606, 5.6538, 26.667],
  [0.5, 5.9615, 5.1375, 20],
  [0.75, 5.2097, 4.4896, 13.333],
  [1, 4.7357, 4.0811, 10],
];

/** Rough laminar sheets, 1/4 in/ft, 20 °C: K, depth mm at 20 and 25 L/min. Source: f = K/Re, Woolhiser (1975). */
export const FILM_ROUGH: readonly (readonly [k: number, at20: number, at25: number])[] = [
  [24, 1.263, 1.3605],
  [30, 1.3605, 1.4655],
  [60, 1.7141, 1.8465],
  [108, 2.0851, 2.2461],
];

/** Manning sheets, 1/4 in/ft: n, depth mm at 20 and 25 L/min. Source: Chow (1959), worked out. */
export const FILM_MANNING: readonly (readonly [n: number, at20: number, at25: number])[] = [
  [0.01, 0.9679, 1.1066],
  [0.011, 1.0249, 1.1717],
  [0.013, 1.1329, 1.2952],
  [0.015, 1.2345, 1.4114],
];

/** Flow that gives a float time at 1/4 in/ft, 20 °C, smooth: s, L/min. Source: as the film table. Tolerance 0.1 %. */
export const FLOW_FOR_FLOAT: readonly (readonly [seconds: number, flow: number])[] = [
  [5, 36.811],
  [5.5, 31.907],
  [6, 28.003],
];

/** Length that carries the water if the float needs so long, 1/4 in/ft, 20 °C: L/min, s, m. Source: as above. */
export const WETTED_FOR_FLOAT: readonly (readonly [flow: number, seconds: number, metres: number])[] = [
  [20, 5, 1.3248],
  [20, 5.5, 1.5284],
  [20, 6, 1.7415],
  [25, 5, 1.656],
  [25, 5.5, 1.9105],
  [25, 6, 2.1769],
];
