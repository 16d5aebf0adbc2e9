import { above0, within } from "./range.ts";

/**
 * Density of a pulp, kg/m³: 1 / (x / s + (1 − x) / w), x the share of solids by weight.
 *
 * Source: Wills, Mineral Processing Technology, ch. 3 (from memory).
 *
 * @throws {ProcessError} `out-of-range` for per cent outside 0 to 100 or densities not above 0.
 */
export function pulpDensity(solidsPercent: number, solidsKgPerM3: number, waterKgPerM3 = 1000): number {
  const share = within("Solids, % by weight", solidsPercent, 0, 100) / 100;
  above0("Density of solids, kg/m³", solidsKgPerM3);
  above0("Density of water, kg/m³", waterKgPerM3);
  return 1 / (share / solidsKgPerM3 + (1 - share) / waterKgPerM3);
}

/**
 * Per cent solids by weight of a pulp weighed by the litre: 100 s (D − w) / (D (s − w)).
 *
 * Source: Wills, Mineral Processing Technology, ch. 3 (from memory).
 *
 * @throws {ProcessError} `out-of-range` when the solids are no denser than water, or the pulp lies not between them.
 */
export function solidsPercentOf(pulpKgPerM3: number, solidsKgPerM3: number, waterKgPerM3 = 1000): number {
  within("Density of solids, kg/m³", solidsKgPerM3, waterKgPerM3 * 1.001, 30_000);
  within("Density of pulp, kg/m³", pulpKgPerM3, waterKgPerM3, solidsKgPerM3);
  return (100 * solidsKgPerM3 * (pulpKgPerM3 - waterKgPerM3)) / (pulpKgPerM3 * (solidsKgPerM3 - waterKgPerM3));
}

/** Share of the pulp's volume that is solids, 0 to 1. Source: from the densities. */
export function solidsVolumeShare(solidsPercent: number, solidsKgPerM3: number, waterKgPerM3 = 1000): number {
  return ((solidsPercent / 100) * pulpDensity(solidsPercent, solidsKgPerM3, waterKgPerM3)) / solidsKgPerM3;
}

/**
 * Dry solids in a pulp stream, kg/h, from a timed can: litres, seconds, kg/m³ of the pulp.
 *
 * @throws {ProcessError} `out-of-range`.
 */
export function solidsKgPerHour(can: {
  litres: number;
  seconds: number;
  pulpKgPerM3: number;
  solidsKgPerM3: number;
}): number {
  const pulpKgPerHour =
    (above0("Can, litres", can.litres) / 1000 / above0("Time, s", can.seconds)) * 3600 * can.pulpKgPerM3;
  return (pulpKgPerHour * solidsPercentOf(can.pulpKgPerM3, can.solidsKgPerM3)) / 100;
}

/** Water that goes with dry solids at a per cent solids, L/min (1 L a kg). @throws {ProcessError} `out-of-range`. */
export function waterWithSolids(kgPerHour: number, solidsPercent: number): number {
  within("Solids, % by weight", solidsPercent, 0.01, 100);
  return (above0("Dry feed, kg/h", kgPerHour) * (100 / solidsPercent - 1)) / 60;
}
