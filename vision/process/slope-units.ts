import { within } from "./range.ts";

/** Slopes are rise over run: mm/m is the tangent in thousandths. */

/** Inches fallen in a foot → mm/m. */
export const mmPerMFromInPerFt = (inPerFt: number): number => (inPerFt / 12) * 1000;
/** mm/m → inches fallen in a foot. */
export const inPerFtFromMmPerM = (mmPerM: number): number => (mmPerM / 1000) * 12;

/** Degrees → mm/m. @throws {ProcessError} `out-of-range` beyond ± 89°. */
export const mmPerMFromDegrees = (degrees: number): number =>
  1000 * Math.tan((within("Slope, degrees", degrees, -89, 89) * Math.PI) / 180);
/** mm/m → degrees. */
export const degreesFromMmPerM = (mmPerM: number): number => (Math.atan(mmPerM / 1000) * 180) / Math.PI;

/** Sine of the angle whose tangent is `mmPerM` / 1000: the share of gravity that drives a film. */
export const sineOfSlope = (mmPerM: number): number => mmPerM / Math.hypot(1000, mmPerM);

/** Fall over a distance measured level, mm. */
export const fallMm = (mmPerM: number, runMm: number): number => (mmPerM * runMm) / 1000;

/** US gallon, litres: 231 cubic inches by definition (NIST Handbook 44, appendix C). */
const US_GALLON_LITRES = 3.785411784;
/** US gal/min → L/min. */
export const litresFromUsGallons = (usGallons: number): number => usGallons * US_GALLON_LITRES;
/** L/min → US gal/min. */
export const usGallonsFromLitres = (litres: number): number => litres / US_GALLON_LITRES;
