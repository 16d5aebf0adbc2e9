import { above0, GRAVITY, within } from "./range.ts";
import { sineOfSlope } from "./slope-units.ts";
import type { Water } from "./water.ts";

/** Friction factor of a smooth sheet: f = K / Re with K = 24 is the parabola of a laminar film. */
export const SMOOTH_K = 24;

export interface FilmSettings {
  /** Water that runs across, L/min. */
  readonly litresPerMinute: number;
  /** Length of deck it is spread over, along the riffles, mm. */
  readonly wettedLengthMm: number;
  /** Slope it runs down, mm/m. */
  readonly slopeMmPerM: number;
  readonly water: Water;
  /** Roughness number of the sheet; 24 when left out, for a smooth deck. */
  readonly frictionK?: number;
}

export interface Film {
  /** Flow for each metre of wetted length, m²/s. */
  readonly flowM2PerS: number;
  readonly depthMm: number;
  readonly meanMmPerS: number;
  readonly surfaceMmPerS: number;
  /** Pull on the deck, Pa. */
  readonly shearPa: number;
  /** Flow / kinematic viscosity; four times less than the Reynolds number of falling-film books. */
  readonly reynolds: number;
  readonly froude: number;
  /** Speed of a long wave's crest, mm/s. */
  readonly waveMmPerS: number;
  readonly regime: Regime;
}

/** `calm`: no waves grow. `wavy`: laminar under ripples. `transition` and `turbulent`: the laminar film is too thin. */
export type Regime = "calm" | "wavy" | "transition" | "turbulent";

/**
 * A steady, even film on an incline. Waves, riffles, the shake and an uneven wash pipe are left out: measured floats run
 * faster than this; work back from them (`float-test.ts`) instead of trusting it.
 *
 * @throws {ProcessError} `out-of-range` for flow, length or slope not above 0, or K below 1.
 */
export function filmOn(settings: FilmSettings): Film {
  const { water, slopeMmPerM, frictionK = SMOOTH_K } = settings;
  above0("Water, L/min", settings.litresPerMinute);
  above0("Wetted length, mm", settings.wettedLengthMm);
  above0("Slope, mm/m", slopeMmPerM);
  within("Roughness number K", frictionK, 1, 4000);
  const sine = sineOfSlope(slopeMmPerM);
  const nu = water.kinematicM2PerS;
  const q = settings.litresPerMinute / 60_000 / (settings.wettedLengthMm / 1000);
  const h = sheetDepth(q, sine, nu, frictionK);
  const u = q / h;
  const reynolds = q / nu;
  return {
    flowM2PerS: q,
    depthMm: 1000 * h,
    meanMmPerS: 1000 * u,
    surfaceMmPerS: 1000 * surfaceSpeed(u),
    shearPa: bedShear(water.densityKgPerM3, h, sine),
    reynolds,
    froude: u / Math.sqrt(GRAVITY * h),
    waveMmPerS: 1000 * waveSpeed(u),
    regime: regimeOf(reynolds, slopeMmPerM),
  };
}

/**
 * Depth of a laminar sheet, m: h = (K ν q / (8 g sin θ))^(1/3). K = 24 is the smooth film. Holds up to q/ν of about 500.
 *
 * Source: Nusselt (1916) for K = 24; Woolhiser (1975) for rough sheets: K 24–108 concrete or asphalt, 30–120 bare sand,
 * 90–400 gravel (both from memory).
 *
 * @param q  Flow per width, m²/s.  @param sine  Sine of the slope.  @param nu  Kinematic viscosity, m²/s.
 */
export const sheetDepth = (q: number, sine: number, nu: number, frictionK = SMOOTH_K): number =>
  Math.cbrt((frictionK * nu * q) / (8 * GRAVITY * sine));

/**
 * Speed of the surface from the mean speed, same unit: 3/2 of it for the parabola of a laminar film.
 *
 * Source: Bird, Stewart & Lightfoot, Transport Phenomena, section 2.2 (from memory).
 */
export const surfaceSpeed = (mean: number): number => 1.5 * mean;

/**
 * Speed at a height over a smooth deck, m/s: u(y) = (g sin θ / ν)(h y − y²/2); y above the surface counts as the surface.
 *
 * Source: Bird, Stewart & Lightfoot, Transport Phenomena, section 2.2 (from memory).
 *
 * @param y  Height over the deck, m.  @param h  Depth, m.
 */
export function speedAt(y: number, h: number, sine: number, nu: number): number {
  const inside = Math.min(Math.max(y, 0), h);
  return ((GRAVITY * sine) / nu) * (h * inside - inside ** 2 / 2);
}

/** Pull on the deck, Pa: τ = ρ g h sin θ. Steady even flow. Source: balance of forces. */
export const bedShear = (densityKgPerM3: number, h: number, sine: number): number =>
  densityKgPerM3 * GRAVITY * h * sine;

/** Speed of a long wave, same unit as the mean speed: 3 u. Laminar. Source: Lighthill & Whitham (1955) (from memory). */
export const waveSpeed = (mean: number): number => 3 * mean;

/**
 * Reynolds number q/ν above which long waves grow: (5/6) cot θ.
 *
 * Source: Benjamin (1957), J. Fluid Mech. 2, 554–573; Yih (1963), Phys. Fluids 6, 321–334 (from memory).
 */
export const waveOnset = (slopeMmPerM: number): number => (5 / 6) * (1000 / slopeMmPerM);

/** Laminar below 500, turbulent above 2000. Source: Chow (1959), Open-Channel Hydraulics, section 1-3 (from memory). */
export function regimeOf(reynolds: number, slopeMmPerM: number): Regime {
  if (reynolds > 2000) return "turbulent";
  if (reynolds > 500) return "transition";
  return reynolds > waveOnset(slopeMmPerM) ? "wavy" : "calm";
}

/**
 * Depth of a fully rough turbulent sheet, m: (q n / √S)^(3/5). Out of its range on a table: a cross-check only.
 *
 * Source: Chow (1959); USDA TR-55 (1986), table 3-1, n = 0.011 for smooth surfaces (from memory).
 */
export const manningDepth = (q: number, slopeMmPerM: number, n = 0.011): number =>
  ((q * n) / Math.sqrt(slopeMmPerM / 1000)) ** 0.6;
