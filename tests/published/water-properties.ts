/**
 * Water at 0.101325 MPa: °C, kg/m³, mPa s, 1e-6 m²/s, N/m.
 *
 * Source: IAPWS-95 (density), IAPWS R12-08 (viscosity), IAPWS R1-76(2014) (surface tension), from an open package whose own
 * tests repeat the releases' check tables. Tolerance 0.01 % in density, 0.5 % in viscosity: this program uses the
 * shorter formulas of Kell (1975) and IAPWS SR6-08.
 */
export const WATER_IAPWS: readonly (readonly [c: number, rho: number, mu: number, nu: number, sigma: number])[] = [
  [0, 999.8431, 1.791756, 1.792037, 0.07565],
  [5, 999.9666, 1.518173, 1.518224, 0.07494],
  [10, 999.7025, 1.3059, 1.306288, 0.07422],
  [15, 999.1026, 1.137568, 1.138589, 0.07349],
  [20, 998.2072, 1.001596, 1.003395, 0.07274],
  [25, 997.0476, 0.890022, 0.892658, 0.07197],
  [30, 995.6495, 0.797222, 0.800705, 0.07119],
  [40, 992.2164, 0.652729, 0.657849, 0.0696],
];

/**
 * Viscosity at 0.1 MPa by IAPWS SR6-08, eq. 7: °C, mPa s. The first row is the release's own check value at 260 K; the
 * others are worked out from the printed equation. Tolerance 1e-5.
 */
export const VISCOSITY_SR6: readonly (readonly [c: number, mu: number])[] = [
  [-13.15, 3.05836075],
  [5, 1.518198],
  [20, 1.001567],
  [25, 0.889997],
];

/** Viscosity in the CRC Handbook, "Properties of water" (from memory): °C, mPa s. Tolerance 0.1 %. */
export const VISCOSITY_CRC: readonly (readonly [c: number, mu: number])[] = [
  [0, 1.793],
  [10, 1.307],
  [20, 1.002],
  [25, 0.89],
  [30, 0.798],
  [40, 0.653],
];
