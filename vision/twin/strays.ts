import type { Film } from "../process/film.ts";
import { shieldsRatio } from "../process/grain-transport.ts";
import { fergusonChurch } from "../process/settling.ts";
import { type Water, waterAt } from "../process/water.ts";
import { dryShare, filmUnder } from "./broken-film.ts";
import { CLASSES, type OutletCurves } from "./outlet-curves.ts";
import { middleUm, sizesUm } from "./sizes.ts";
import type { TwinDeck, TwinFeed, TwinMaterial, TwinParameters, TwinSettings } from "./transport.ts";

/** Von Kármán's constant. */
const KARMAN = 0.41;
/**
 * Fall of a grain over what stirs it up, at which half of its like are in suspension: between 1.2 and 2.5 as textbooks put it
 * (from memory), after Rouse (1937), the lower part of it since a film is but some grains deep; and how sharply that falls for
 * faster ones (judgement).
 */
const HALF_STIRRED = 1.5;
const STIRRED_SHARPNESS = 4;
/**
 * Share of what is fed that a bed which stands lets by, at most; the pull on the bed over that which moves a bed at rest, at which
 * half of it stands: below 1, since the shake loosens it; and how sharply it falls (judgement, chosen on the test plant's seeds
 * below 10 000).
 */
const STANDING_AT_MOST = 0.5;
const STANDS_AT = 0.5;
const STANDING_SHARPNESS = 4;

/** Share of each of a material's sizes, as `sizesUm` has them, that the stream carries in suspension, 0 to 1. */
export function stirredShares({ shearPa }: Film, material: TwinMaterial, water: Water): number[] {
  const stirring = KARMAN * Math.sqrt(shearPa / water.densityKgPerM3);
  return sizesUm(material).map((um) => {
    const fall = fergusonChurch(um, material.densityKgPerM3, water);
    return 1 / (1 + (fall / stirring / HALF_STIRRED) ** STIRRED_SHARPNESS);
  });
}

/**
 * Share of what is fed that is not sorted at all, 0 to 1: what runs over dry deck, and what a stream too weak to move the bed
 * lets by.
 *
 * @throws {ProcessError} `out-of-range`.
 */
export function unsortedShare(
  deck: TwinDeck,
  settings: TwinSettings,
  feed: TwinFeed,
  parameters: TwinParameters,
): number {
  return 1 - (1 - dryShare(deck, settings, parameters)) * (1 - standing(filmUnder(deck, settings), feed, settings));
}

function standing({ shearPa }: Film, feed: TwinFeed, { waterTemperatureCelsius }: TwinSettings): number {
  const water = waterAt(waterTemperatureCelsius);
  const [log, all] = CLASSES.map((name) => feed[name]).reduce(
    ([sum, shares], one) => [
      sum + one.share * Math.log(shieldsRatio(shearPa, middleUm(one), one.densityKgPerM3, water)),
      shares + one.share,
    ],
    [0, 0],
  );
  return all > 0 ? STANDING_AT_MOST / (1 + (Math.exp(log / all) / STANDS_AT) ** STANDING_SHARPNESS) : 0;
}

/** What is not sorted leaves anywhere along the low side: this share of each class. */
export function unsorted(curves: OutletCurves, deck: TwinDeck, share: number): OutletCurves {
  const side = Math.min(curves.dense.length - 1, Math.floor(deck.widthMm / curves.mmPerBin));
  const spread = (curve: Float64Array) => {
    const stray = (share * curve.reduce((sum, mass) => sum + mass, 0)) / (curve.length - side);
    return curve.map((mass, bin) => (1 - share) * mass + (bin >= side ? stray : 0));
  };
  return {
    mmPerBin: curves.mmPerBin,
    dense: spread(curves.dense),
    middling: spread(curves.middling),
    light: spread(curves.light),
  };
}
