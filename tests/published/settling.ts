/**
 * Drag coefficient of a sphere: Re, smoothed experiments, Haider & Levenspiel, Clift, Grace & Weber, Schiller & Naumann.
 *
 * Source: experiments of Lapple & Shepherd (1940) as in Perry's handbook (from memory); the laws worked out apart from this
 * program, the first two also against an open library of fluid mechanics. Tolerance 2e-5 in the laws, which are printed to five digits; 9 % to experiments.
 */
export const DRAG_CURVE: readonly (readonly [
  re: number,
  seen: number,
  haider: number,
  clift: number,
  schiller: number | null,
])[] = [
  [0.1, 240, 249.79556, 244.25733, 247.40121],
  [0.2, 120, 127.66364, 123.98587, 125.95772],
  [0.3, 80, 86.63868, 83.79826, 85.24763],
  [0.5, 49.5, 53.54021, 51.53827, 52.47224],
  [0.7, 36.5, 39.20366, 37.6417, 38.31091],
  [1, 26.5, 28.33446, 27.156, 27.6],
  [2, 14.4, 15.39117, 14.7569, 14.89788],
  [3, 10.4, 10.9377, 10.52274, 10.55249],
  [5, 6.9, 7.25176, 7.03303, 6.97533],
  [7, 5.4, 5.60511, 5.47648, 5.38645],
  [10, 4.1, 4.31853, 4.25839, 4.15107],
  [20, 2.55, 2.70173, 2.73519, 2.60955],
  [30, 2, 2.10166, 2.12159, 2.04155],
  [50, 1.5, 1.5678, 1.57427, 1.5381],
  [70, 1.27, 1.31004, 1.30919, 1.29519],
  [100, 1.07, 1.09474, 1.08702, 1.09173],
  [200, 0.77, 0.79596, 0.77563, 0.80561],
  [300, 0.65, 0.67291, 0.65272, 0.6839],
  [500, 0.55, 0.55678, 0.55492, 0.56267],
  [700, 0.5, 0.49961, 0.50837, 0.49751],
  [1000, 0.46, 0.45346, 0.47109, 0.43829],
  [2000, 0.42, 0.40152, 0.42113, null],
  [3000, 0.4, 0.39156, 0.39966, null],
  [5000, 0.385, 0.39608, 0.38728, null],
  [7000, 0.39, 0.40633, 0.39012, null],
  [10000, 0.405, 0.42038, 0.40523, null],
];

/** Drag of spheres in that library's own tests: Re, Cd. Tolerance 1e-9. */
export const HAIDER_LIBRARY = [
  [200, 0.7959551680250666],
  [0.002, 12039.14121183969],
] as const;
export const CLIFT_LIBRARY = [
  [0.002, 12000.1875],
  [0.5, 51.538273834491875],
  [50, 1.5742657203722197],
  [500, 0.5549240285782678],
  [2500, 0.40817983162668914],
] as const;

/** Haider & Levenspiel (1989) for a sphericity: sphericity, Re, Cd. Worked out; tolerance 1e-5. */
export const HAIDER_SHAPED = [
  [1, 200, 0.84241],
  [0.6, 10, 5.93098],
  [0.6, 200, 2.39376],
] as const;

/**
 * Worked examples of books: what, size µm, grain, liquid kg/m³, Pa s, printed m/s, tolerance for the law here.
 *
 * Sources: McCabe, Smith & Harriott, Unit Operations, example 7.1; Coulson & Richardson vol. 2, example 3.1 (from memory);
 * Rushton, Ward & Holdich (1996), as an open library's tests quote it.
 */
export const BOOK_FALLS = [
  ["limestone in water at 30 °C (McCabe, ex. 7.1)", 161, 2800, 995.7, 0.801e-3, 0.022, 0.02],
  ["70 µm in water (Rushton, Ward & Holdich)", 70, 2600, 1000, 1e-3, 0.00406, 0.03],
  ["50 µm in water (Rushton, Ward & Holdich)", 50, 2800, 1000, 1e-3, 0.002453, 0.05],
  ["steel in oil (Coulson & Richardson, ex. 3.1)", 400, 7870, 820, 10e-3, 0.051, 0.04],
] as const;

/**
 * Falls in water at 20 °C (998.2072 kg/m³, 1.001596 mPa s), mm/s: material, kg/m³, size µm, Stokes, Haider & Levenspiel,
 * Clift, Grace & Weber, Ferguson & Church for smooth spheres and for natural grains, Re by Haider & Levenspiel.
 *
 * Worked out from the published formulas apart from this program; tolerance 1e-4.
 */
export const FALLS_IN_WATER: readonly (readonly [
  material: string,
  kgPerM3: number,
  um: number,
  stokes: number,
  haider: number,
  clift: number,
  smooth: number,
  natural: number,
  re: number,
])[] = [
  ["quartz", 2650, 50, 2.24621, 2.15417, 2.20362, 2.15321, 2.10262, 0.1073],
  ["quartz", 2650, 75, 5.05398, 4.63228, 4.78892, 4.68244, 4.49059, 0.3462],
  ["quartz", 2650, 100, 8.98486, 7.79014, 8.09343, 8.00672, 7.53031, 0.7764],
  ["quartz", 2650, 150, 20.21593, 15.433, 15.98978, 16.51048, 14.9211, 2.3071],
  ["quartz", 2650, 200, 35.93943, 24.0142, 24.63415, 26.71019, 23.24168, 4.7866],
  ["quartz", 2650, 300, 80.86371, 41.98612, 42.23061, 49.46447, 40.35757, 12.5532],
  ["quartz", 2650, 500, 224.62142, 77.1622, 76.77552, 94.94372, 71.09221, 38.4506],
  ["quartz", 2650, 1000, 898.48568, 155.93742, 157.77389, 184.75302, 126.4011, 155.4098],
  ["cassiterite", 6950, 50, 8.09363, 7.39309, 7.64691, 7.48034, 7.16483, 0.3684],
  ["cassiterite", 6950, 75, 18.21067, 15.22237, 15.82414, 15.82684, 14.70796, 1.1378],
  ["cassiterite", 6950, 150, 72.84268, 45.00008, 45.8634, 51.08121, 43.52475, 6.7272],
  ["cassiterite", 6950, 300, 291.37072, 107.75534, 107.07845, 132.14341, 100.29261, 32.2172],
  ["cassiterite", 6950, 1000, 3237.45241, 350.63553, 355.55849, 388.50318, 257.04845, 349.4492],
  ["galena", 7500, 75, 19.8935, 16.48605, 17.13654, 17.18772, 15.92867, 1.2323],
  ["galena", 7500, 150, 79.57401, 48.29584, 49.15136, 55.05838, 46.69761, 7.2199],
  ["galena", 7500, 300, 318.29603, 114.71867, 114.04782, 140.87617, 106.40759, 34.2992],
  ["wolframite", 7300, 75, 19.28156, 16.0284, 16.66139, 16.69421, 15.48654, 1.1981],
  ["wolframite", 7300, 150, 77.12625, 47.10623, 47.96525, 53.62081, 45.55288, 7.042],
  ["wolframite", 7300, 300, 308.50501, 112.21073, 111.53714, 137.73274, 104.20971, 33.5493],
  ["magnetite", 5180, 75, 12.79501, 11.03514, 11.46689, 11.3607, 10.66586, 0.8248],
  ["magnetite", 5180, 150, 51.18004, 33.79885, 34.63782, 37.71292, 32.71089, 5.0527],
  ["magnetite", 5180, 300, 204.72016, 83.67708, 83.01883, 101.84988, 78.8301, 25.0182],
  ["gold", 19300, 50, 24.88796, 20.98655, 21.8162, 21.75958, 20.27829, 1.0458],
  ["gold", 19300, 75, 55.9979, 40.83471, 42.17827, 44.29785, 39.50152, 3.0522],
  ["gold", 19300, 100, 99.55182, 62.63078, 63.9281, 70.77264, 60.59302, 6.2419],
  ["gold", 19300, 150, 223.9916, 107.39692, 107.47572, 128.2113, 102.69236, 16.055],
  ["gold", 19300, 300, 895.96642, 234.37066, 234.47606, 287.81652, 206.40054, 70.0733],
  ["copper", 8960, 100, 43.30783, 31.4361, 32.45951, 34.14884, 30.41122, 3.133],
  ["copper", 8960, 300, 389.7705, 132.28845, 131.65409, 162.83525, 121.66818, 39.5523],
  ["copper", 8960, 1000, 4330.78337, 419.28465, 422.70922, 456.76236, 300.53184, 417.866],
  ["PVC", 1380, 100, 2.07675, 1.95408, 2.00989, 1.96154, 1.90028, 0.1947],
  ["PVC", 1380, 300, 18.69071, 13.02776, 13.40999, 14.32036, 12.60724, 3.8951],
  ["PVC", 1380, 1000, 207.67457, 59.01989, 58.94035, 72.68232, 52.75433, 58.8202],
];

/** Largest size that falls as Stokes says, Re = 0.2, same water: kg/m³, µm. Worked out; tolerance 1e-4. */
export const STOKES_LIMITS = [
  [2650, 60.673],
  [6950, 39.576],
  [7500, 38.427],
  [7300, 38.829],
  [5180, 44.517],
  [19300, 27.216],
  [8960, 35.918],
  [1380, 98.864],
] as const;

/** Exponents of hindered settling: Re, Richardson & Zaki (1954), Rowe (1987). Worked out; tolerance 1e-4. */
export const HINDERED_BY_RE = [
  [0.1, 4.65, 4.6291],
  [0.5, 4.4414, 4.4785],
  [1, 4.45, 4.35],
  [5, 3.7885, 3.8325],
  [10, 3.5348, 3.5344],
  [50, 3.0093, 2.8977],
  [100, 2.8078, 2.7097],
  [200, 2.6197, 2.578],
  [500, 2.39, 2.4705],
  [1000, 2.39, 2.4232],
] as const;

/** Archimedes number, exponent by Khan & Richardson (1989). Worked out; tolerance 1e-4. */
export const HINDERED_BY_AR = [
  [1, 4.7011],
  [10, 4.4694],
  [100, 3.9061],
  [1000, 3.1488],
  [10000, 2.6611],
  [100000, 2.4763],
] as const;

/** Falls among others, Richardson & Zaki: kg/m³, µm, n, mm/s at 10, 20 and 30 % by volume. Worked out; tolerance 1e-4. */
export const HINDERED_FALLS = [
  [2650, 200, 3.805, 16.0827, 10.2736, 6.1811],
  [6950, 100, 4.07, 15.9557, 9.8793, 5.7372],
  [19300, 75, 3.9801, 26.8478, 16.8002, 9.8741],
] as const;

/**
 * Size ratio of grains that settle alike: dense, light, fluid kg/m³, exponent, ratio, tolerance. The first three rows are
 * printed in Wills, Mineral Processing Technology, ch. Classification (1.99, 3.94, 5.22; from memory).
 */
export const SETTLING_RATIOS = [
  [7500, 2650, 1000, 0.5, 1.99, 5e-3],
  [7500, 2650, 1000, 1, 3.94, 5e-3],
  [7500, 2650, 1500, 1, 5.22, 5e-3],
  [19300, 2650, 1000, 0.5, 3.3303, 1e-4],
  [19300, 2650, 1500, 1, 15.4783, 1e-4],
  [6950, 2650, 1500, 0.5, 2.177, 1e-4],
  [5180, 2650, 1000, 1, 2.5333, 1e-4],
] as const;

/** Quartz that falls with a dense sphere of 75, 100 and 200 µm, 20 °C: kg/m³, µm. Worked out; tolerance 1e-3. */
export const QUARTZ_PARTNERS = [
  [6950, 148.72, 202.74, 436.33],
  [7500, 156.35, 213.67, 462.79],
  [5180, 122.35, 165.36, 347.27],
  [19300, 293.62, 415.92, 968.24],
  [8960, 175.67, 241.55, 531.0],
] as const;
