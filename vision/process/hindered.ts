import { above0, GRAVITY, within } from "./range.ts";
import type { Liquid } from "./settling.ts";

/**
 * Velocity among other grains, same unit as `alone`: u (1 − C)^n. Source: Richardson & Zaki (1954).
 *
 * @param volumeShare  Solids by volume, 0 to 0.6; beyond, grains rest on each other and nothing settles.
 * @throws {ProcessError} `out-of-range`.
 */
export const hinderedSpeed = (alone: number, volumeShare: number, n: number): number =>
  alone * (1 - within("Solids by volume", volumeShare, 0, 0.6)) ** n;

/**
 * Exponent n against the Reynolds number of the grain alone; jumps a little at its limits.
 *
 * Source: Richardson & Zaki (1954), Trans. Inst. Chem. Eng. 32, 35–53 (from memory).
 *
 * @param sizeOverVessel  Grain size over the width of the vessel; 0 when it is wide.
 */
export function richardsonZaki(reynolds: number, sizeOverVessel = 0): number {
  if (reynolds < 0.2) return 4.65 + 19.5 * sizeOverVessel;
  if (reynolds < 1) return (4.35 + 17.5 * sizeOverVessel) * reynolds ** -0.03;
  if (reynolds < 200) return (4.45 + 18 * sizeOverVessel) * reynolds ** -0.1;
  return reynolds < 500 ? 4.45 * reynolds ** -0.1 : 2.39;
}

/** Exponent n, smooth in the Reynolds number. Source: Rowe (1987), Chem. Eng. Sci. 42, 2795–2796 (from memory). */
export const rowe = (reynolds: number): number => {
  const term = 0.175 * reynolds ** 0.75;
  return (2.35 * (2 + term)) / (1 + term);
};

/**
 * Exponent n from the Archimedes number: (4.8 − n) / (n − 2.4) = 0.043 Ar^0.57, wide vessel.
 *
 * Source: Khan & Richardson (1989), Chem. Eng. Commun. 78, 111–130 (from memory).
 */
export const khanRichardson = (archimedes: number): number => {
  const ratio = 0.043 * archimedes ** 0.57;
  return (4.8 + 2.4 * ratio) / (1 + ratio);
};

/** Archimedes number of a grain: g d³ ρ (ρs − ρ) / μ². Source: definition. @throws {ProcessError} `out-of-range`. */
export function archimedesNumber(sizeUm: number, solidKgPerM3: number, liquid: Liquid): number {
  const { densityKgPerM3: rho, viscosityPaS: mu } = liquid;
  return (GRAVITY * (above0("Size, µm", sizeUm) / 1e6) ** 3 * rho * (solidKgPerM3 - rho)) / mu ** 2;
}
