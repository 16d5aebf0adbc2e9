import { filmOn, speedAt } from "../process/film.ts";
import { slideRatio } from "../process/grain-transport.ts";
import { above0, within } from "../process/range.ts";
import { sineOfSlope } from "../process/slope-units.ts";
import { strokeMotion } from "../process/stroke.ts";
import { waterAt } from "../process/water.ts";
import { CLASSES, type Class } from "./outlet-curves.ts";
import { sizesUm } from "./sizes.ts";
import type { TwinDeck, TwinFeed, TwinParameters, TwinSettings } from "./transport.ts";

/**
 * Way down over way along of each class's grains, by seven like shares of its sizes, finest first.
 *
 * How grains part is physics, weakened by `sorting`; how all of them answer water and slope is learned: both speak of the
 * film that the parameters are said at, and go by powers from there. Sorting falls as power^-`fading`, power being
 * water × slope over that film's, the stream power of Bagnold (1966, from memory) but for its constants.
 *
 * @throws {ProcessError} `out-of-range`.
 */
export function steepnesses(deck: TwinDeck, settings: TwinSettings, feed: TwinFeed, parameters: TwinParameters) {
  const { steep, middle } = physics(flowOf(deck, settings), settings.crossSlopeMmPerM, settings, feed, parameters);
  const { answer, sorting } = answerOf(deck, settings, feed, parameters);
  return CLASSES.map((_, k) => steep[k]!.map((one) => answer * (one / middle) ** sorting));
}

/**
 * The same parameters said of the film of these settings: they foretell what they did, and an error of how bands answer is no
 * longer one of where they lie now.
 */
export function saidAt(
  deck: TwinDeck,
  settings: TwinSettings,
  feed: TwinFeed,
  parameters: TwinParameters,
): TwinParameters {
  const { middle } = physics(flowOf(deck, settings), settings.crossSlopeMmPerM, settings, feed, parameters);
  const { answer, sorting } = answerOf(deck, settings, feed, parameters);
  return { ...parameters, drift: parameters.drift * (answer / middle), sorting, ...filmOf(deck, settings) };
}

/** The film that parameters are said at, when it is that of these settings. */
export const filmOf = (deck: TwinDeck, settings: TwinSettings) => ({
  atLitresPerMinutePerM: flowOf(deck, settings),
  atSlopeMmPerM: settings.crossSlopeMmPerM,
});

/** Logarithms of water and of slope over those that the parameters are said at. */
export function awayFrom(deck: TwinDeck, settings: TwinSettings, parameters: TwinParameters) {
  return {
    water: Math.log(flowOf(deck, settings) / parameters.atLitresPerMinutePerM),
    slope: Math.log(settings.crossSlopeMmPerM / parameters.atSlopeMmPerM),
  };
}

/** Water that runs across a metre of deck, L/min. */
const flowOf = ({ lengthMm }: TwinDeck, settings: TwinSettings) =>
  (settings.washWaterLitresPerMinute + settings.feedWaterLitresPerMinute) /
  (above0("Deck length, mm", lengthMm) / 1000);

/** Middle steepness of all grains, and how well they are told apart. */
function answerOf(deck: TwinDeck, settings: TwinSettings, feed: TwinFeed, parameters: TwinParameters) {
  const { atLitresPerMinutePerM, atSlopeMmPerM } = parameters;
  const { middle } = physics(atLitresPerMinutePerM, atSlopeMmPerM, settings, feed, parameters);
  const { water, slope } = awayFrom(deck, settings, parameters);
  const answers =
    within("Water response", parameters.waterResponse, 0.1, 2) * water +
    within("Slope response", parameters.slopeResponse, 0.1, 2) * slope;
  const fading = within("Fading", parameters.fading, 0, 1) * (water + slope);
  return {
    answer: middle * Math.exp(answers),
    sorting: within("Sorting", parameters.sorting, 0.2, 2) / Math.exp(fading),
  };
}

/** Steepness of lone grains on a smooth deck, and its middle as a ratio. */
function physics(
  litresPerMinute: number,
  slopeMmPerM: number,
  settings: TwinSettings,
  feed: TwinFeed,
  parameters: TwinParameters,
) {
  const water = waterAt(settings.waterTemperatureCelsius);
  const film = filmOn({ litresPerMinute, wettedLengthMm: 1000, slopeMmPerM, water });
  const sine = sineOfSlope(slopeMmPerM);
  const { drift, friction, climbMmPerM } = parameters;
  within("Drift", drift, 0.05, 50);
  within("Climb, mm/m", climbMmPerM, 5, 200);
  const end = within("End slope, mm/m", settings.endSlopeMmPerM, -100, 100);
  const { peakMmPerS } = strokeMotion(settings.strokeMm, settings.strokesPerMinute);
  /**
   * drift · u(d/2) · s / (peak speed of the deck · climb), s the push over the hold (`slideRatio`),
   * climb = 1 / (1 + s · end slope / climbMmPerM): grains about to slide climb worst. Ours, no publication.
   */
  const steepness = (sizeUm: number, densityKgPerM3: number) => {
    const slide = slideRatio({ sizeUm, densityKgPerM3, friction }, film, slopeMmPerM, water);
    const carried = 1000 * speedAt(sizeUm / 2e6, film.depthMm / 1000, sine, water.kinematicM2PerS) * slide;
    const climb = 1 / Math.max(0.1, 1 + (slide * end) / climbMmPerM);
    return (drift * carried) / (peakMmPerS * climb);
  };
  const steep = CLASSES.map((name: Class) => {
    const { densityKgPerM3 } = feed[name];
    return sizesUm(feed[name]).map((um) => steepness(um, densityKgPerM3));
  });
  return { steep, middle: Math.exp(mean(steep.flatMap((sizes) => sizes.map(Math.log)))) };
}

const mean = (numbers: readonly number[]) => numbers.reduce((sum, n) => sum + n, 0) / numbers.length;
