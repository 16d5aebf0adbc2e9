import { within } from "./range.ts";

/** Clean water at one temperature and 0.1 MPa. */
export interface Water {
  readonly temperatureC: number;
  readonly densityKgPerM3: number;
  /** Dynamic viscosity, Pa s. */
  readonly viscosityPaS: number;
  /** Kinematic viscosity, m²/s. */
  readonly kinematicM2PerS: number;
  readonly surfaceTensionNPerM: number;
}

/**
 * Clean water, 0 to 100 °C. Dissolved salts and slimes make real water denser and thicker.
 *
 * @throws {ProcessError} `out-of-range` outside 0 to 100 °C.
 */
export function waterAt(temperatureC: number): Water {
  within("Water temperature, °C", temperatureC, 0, 100);
  const densityKgPerM3 = waterDensity(temperatureC);
  const viscosityPaS = waterViscosity(temperatureC);
  return {
    temperatureC,
    densityKgPerM3,
    viscosityPaS,
    kinematicM2PerS: viscosityPaS / densityKgPerM3,
    surfaceTensionNPerM: waterSurfaceTension(temperatureC),
  };
}

/**
 * Density of air-free water at one atmosphere, kg/m³, 0 to 100 °C. Within 0.001 % of IAPWS-95 from 0 to 40 °C.
 *
 * Source: Kell (1975), J. Chem. Eng. Data 20 (1), 97–105, eq. 16 (from memory; checked against IAPWS-95).
 */
export function waterDensity(temperatureC: number): number {
  const t = within("Water temperature, °C", temperatureC, 0, 100);
  const series =
    999.83952 +
    16.945176 * t -
    7.9870401e-3 * t ** 2 -
    46.170461e-6 * t ** 3 +
    105.56302e-9 * t ** 4 -
    280.54253e-12 * t ** 5;
  return series / (1 + 16.87985e-3 * t);
}

/**
 * Dynamic viscosity of liquid water at 0.1 MPa, Pa s, -20 to 110 °C (below 0 °C: supercooled).
 *
 * Source: IAPWS SR6-08(2011), eq. 7; uncertainty 1 % in the stable liquid.
 */
export function waterViscosity(temperatureC: number): number {
  const t = (within("Water temperature, °C", temperatureC, -20, 110) + 273.15) / 300; // T* = T / 300 K
  return 1e-6 * (280.68 * t ** -1.9 + 511.45 * t ** -7.7 + 61.131 * t ** -19.6 + 0.45903 * t ** -40);
}

/**
 * Surface tension of clean water against its vapour, N/m, 0.01 to 374 °C. Frothers and oil lower it much.
 *
 * Source: IAPWS R1-76(2014): σ = B τ^μ (1 + b τ), τ = 1 − T/Tc.
 */
export function waterSurfaceTension(temperatureC: number): number {
  const tau = 1 - (within("Water temperature, °C", temperatureC, 0, 373.9) + 273.15) / 647.096;
  return 235.8e-3 * tau ** 1.256 * (1 - 0.625 * tau);
}
