/** in/ft, mm/m, degrees, fall over 4 ft and 8 ft in mm. Worked out by definition; tolerance 1e-5. */
export const SLOPE_UNITS: readonly (readonly [
  inPerFt: number,
  mmPerM: number,
  deg: number,
  over4: number,
  over8: number,
])[] = [
  [0.125, 10.416667, 0.59681, 12.7, 25.4],
  [0.25, 20.833333, 1.19349, 25.4, 50.8],
  [0.375, 31.25, 1.78991, 38.1, 76.2],
  [0.5, 41.666667, 2.38594, 50.8, 101.6],
  [0.75, 62.5, 3.57633, 76.2, 152.4],
  [1, 83.333333, 4.76364, 101.6, 203.2],
];

/** Five made-up heights, the plane through them and its residuals in exact arithmetic; tolerance 1e-5. */
export const LEVEL_FIVE_POINTS = {
  points: [
    { xMm: 0, yMm: 0, heightMm: 0 },
    { xMm: 2438.4, yMm: 0, heightMm: 6.2 },
    { xMm: 0, yMm: 1219.2, heightMm: -25.1 },
    { xMm: 2438.4, yMm: 1219.2, heightMm: -19.5 },
    { xMm: 1219.2, yMm: 609.6, heightMm: -9.4 },
  ],
  originMm: 0.19,
  endSlopeMmPerM: 2.419619,
  crossSlopeMmPerM: 20.833333,
  residualsMm: [-0.19, 0.11, 0.11, -0.19, 0.16],
  spreadMm: 0.246982,
  steepestMmPerM: 20.973372,
  downhillDegrees: 96.624751,
  twistMm: -0.6,
} as const;

/** One reading of gravity, m/s², and its slopes. Worked out; tolerance 1e-5. */
export const GRAVITY_READING = {
  x: 0.0613,
  y: -0.204,
  z: 9.8043,
  alongMmPerM: 6.252359,
  acrossMmPerM: -20.807197,
  alongDegrees: 0.358229,
  acrossDegrees: -1.191993,
  tiltDegrees: 1.244629,
} as const;

/**
 * Common practice, turned into SI by definition: 1/2 inch over 2 ft; 5 to 7 US gal/min for a deck of 8 by 4 ft, crossed
 * by a float in 5 to 6 s; peak speed for each mm of stroke at 325 a minute; lift of springs inclined by 15°.
 */
export const TRADE_NUMBERS = {
  halfInchOver2FtMmPerM: 20.8333,
  usGallons: [5, 7],
  litres: [18.9, 26.5],
  floatSeconds: [5, 6],
  strokesPerMinute: 325,
  peakMmPerSPerMm: 17.02,
  springDegrees: 15,
  springLift: 0.268,
} as const;
