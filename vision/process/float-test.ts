import { said } from "../said.ts";
import { SMOOTH_K, sheetDepth, surfaceSpeed } from "./film.ts";
import { above0, GRAVITY, type Measured, meanOf, ProcessError, within } from "./range.ts";
import { sineOfSlope } from "./slope-units.ts";
import { waterAt, waterViscosity } from "./water.ts";

/** A scrap of paper or a drop of dye timed as it crosses the wet, empty deck. */
export interface FloatTest {
  /** Time of each crossing, s. */
  readonly seconds: readonly number[];
  /** Way it went, down the slope, mm. */
  readonly distanceMm: number;
  readonly slopeMmPerM: Measured;
  readonly temperatureC: Measured;
  /** Length of deck the water is spread over, mm. */
  readonly wettedLengthMm: number;
}

/** Standard error of one thumb on a stopwatch, start and stop together, s (common practice). */
export const HAND_TIMING_SECONDS = 0.2;

/**
 * Time a float takes across a film, s; a float at the surface of a laminar sheet with friction f = K / Re.
 *
 * @param settings  flow L/min, wetted length mm, slope mm/m, distance mm, temperature °C.
 */
export function floatSeconds(settings: {
  litresPerMinute: number;
  wettedLengthMm: number;
  slopeMmPerM: number;
  distanceMm: number;
  temperatureC: number;
  frictionK?: number;
}): number {
  above0("Distance, mm", settings.distanceMm);
  const q =
    above0("Water, L/min", settings.litresPerMinute) / 60 / above0("Wetted length, mm", settings.wettedLengthMm);
  const sine = sineOfSlope(above0("Slope, mm/m", settings.slopeMmPerM));
  const h = sheetDepth(q, sine, waterAt(settings.temperatureC).kinematicM2PerS, settings.frictionK);
  return settings.distanceMm / 1000 / surfaceSpeed(q / h);
}

/**
 * Flow that a float test speaks of, L/min, for a given roughness: q = (u_s / 1.5)^(3/2) · (K ν / (8 g sin θ))^(1/2).
 *
 * For the smooth K it is an effective flow: on a real deck it comes out above what the valve gives, for ripples, the
 * shake and an uneven spread all carry the float faster. Errors add in squares: 3/2 of the time's, half of K's, the
 * slope's and the viscosity's share.
 *
 * @throws {ProcessError} `too-few-readings`, `out-of-range`.
 */
export function flowFromFloat(test: FloatTest, frictionK: Measured = { value: SMOOTH_K, error: 0 }): Measured {
  const { speed, sine, nu, shares } = measure(test);
  within("Roughness number K", frictionK.value, 1, 4000);
  const q = (speed / 1.5) ** 1.5 * Math.sqrt((frictionK.value * nu) / (8 * GRAVITY * sine));
  const value = q * 60 * test.wettedLengthMm;
  const share = Math.hypot(
    1.5 * shares.speed,
    0.5 * shares.slope,
    0.5 * shares.nu,
    (0.5 * frictionK.error) / frictionK.value,
  );
  return { value, error: value * share };
}

/**
 * Roughness number that a float test and a measured flow speak of: K = 8 g sin θ q² / (ν (u_s / 1.5)³).
 *
 * Near 24: a smooth even film. Well above: riffles or solids hold the water. Well below: the film is faster than a
 * smooth one could be, so water runs in part of the length only, or waves and shake carry the float.
 *
 * @throws {ProcessError} `too-few-readings`, `out-of-range`.
 */
export function roughnessFromFloat(test: FloatTest, litresPerMinute: Measured): Measured {
  const { speed, sine, nu, shares } = measure(test);
  const q = above0("Water, L/min", litresPerMinute.value) / 60 / test.wettedLengthMm;
  const value = (8 * GRAVITY * sine * q ** 2) / (nu * (speed / 1.5) ** 3);
  const share = Math.hypot(
    3 * shares.speed,
    shares.slope,
    shares.nu,
    (2 * litresPerMinute.error) / litresPerMinute.value,
  );
  return { value, error: value * share };
}

/**
 * Length of deck that truly carries the water, mm, if the deck is smooth: measured flow over the float's flow per width.
 * Longer than the deck means a rough deck instead.
 */
export function wettedLengthFromFloat(test: FloatTest, litresPerMinute: Measured): Measured {
  const flow = flowFromFloat(test);
  const value = (test.wettedLengthMm * above0("Water, L/min", litresPerMinute.value)) / flow.value;
  return { value, error: value * Math.hypot(flow.error / flow.value, litresPerMinute.error / litresPerMinute.value) };
}

/** Surface speed m/s, sine, viscosity m²/s, and the share of each that is in doubt. */
function measure(test: FloatTest) {
  for (const seconds of test.seconds) above0("Float time, s", seconds);
  above0("Distance, mm", test.distanceMm);
  above0("Wetted length, mm", test.wettedLengthMm);
  const slope = test.slopeMmPerM.value;
  if (!(slope > 0)) {
    throw new ProcessError(
      "out-of-range",
      said("said.table.floatSlope", { slope: { value: Math.round(slope * 10) / 10, unit: "mm/m" } }),
    );
  }
  const seconds = meanOf("Float time, s", test.seconds);
  // spread seen, but never less than the thumb's own share: two like times by luck do not make a sure one
  const timing = Math.max(seconds.error || 0, HAND_TIMING_SECONDS / Math.sqrt(test.seconds.length));
  const water = waterAt(test.temperatureC.value);
  const warmer = waterViscosity(test.temperatureC.value + 0.5);
  const cooler = waterViscosity(test.temperatureC.value - 0.5);
  return {
    speed: test.distanceMm / 1000 / seconds.value,
    sine: sineOfSlope(slope),
    nu: water.kinematicM2PerS,
    shares: {
      speed: timing / seconds.value,
      slope: test.slopeMmPerM.error / slope,
      nu: (Math.abs(warmer - cooler) * test.temperatureC.error) / water.viscosityPaS,
    },
  };
}
