import { type Film, filmOn } from "../process/film.ts";
import { above0 } from "../process/range.ts";
import { waterAt } from "../process/water.ts";
import type { TwinDeck, TwinParameters, TwinSettings } from "./transport.ts";

/** Share of a deck that a film far too thin leaves dry, and how sharply that falls as the film thickens (judgement). */
const DRY_AT_MOST = 0.4;
const SHARPNESS = 14;

/**
 * Share of the deck that is dry, 0 to 1: near none where a smooth film would be well over `breaksMm` deep, half of the most
 * at that depth.
 *
 * A film too thin for its surface tension breaks and stays broken (Hartley & Murgatroyd, 1964, see `whole-film.ts`); at which
 * depth hangs on the deck's skin, its riffles and its shake, so it is learned.
 *
 * @throws {ProcessError} `out-of-range`.
 */
export function dryShare(deck: TwinDeck, settings: TwinSettings, { breaksMm }: TwinParameters): number {
  const { depthMm } = filmUnder(deck, settings);
  return DRY_AT_MOST / (1 + (depthMm / above0("Depth at which the film breaks, mm", breaksMm)) ** SHARPNESS);
}

/** The film that these settings lay over the deck, were it smooth. @throws {ProcessError} `out-of-range`. */
export const filmUnder = (deck: TwinDeck, settings: TwinSettings): Film =>
  filmOn({
    litresPerMinute: settings.washWaterLitresPerMinute + settings.feedWaterLitresPerMinute,
    wettedLengthMm: deck.lengthMm,
    slopeMmPerM: settings.crossSlopeMmPerM,
    water: waterAt(settings.waterTemperatureCelsius),
  });
