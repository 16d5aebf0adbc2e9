import { type Film, filmOn } from "../process/film.ts";
import { shieldsRatio } from "../process/grain-transport.ts";
import { fergusonChurch } from "../process/settling.ts";
import { type Water, waterAt } from "../process/water.ts";
import { dryShare } from "./broken-film.ts";
import { type ByClass, CLASSES, type OutletCurves } from "./outlet-curves.ts";
import { middleUm, sizesUm } from "./sizes.ts";
import type { TwinDeck, TwinFeed, TwinMaterial, TwinParameters, TwinSettings } from "./transport.ts";

/** Von Kármán's constant. */
const KARMAN = 0.41;
/**
 * Fall of a grain over what stirs it up, at which half of its like are in suspension: between 1.2 and 2.5 as textbooks put it
 * (from memory), after Rouse (1937); and how sharply that falls for faster ones (judgement).
 */
const HALF_STIRRED = 1.8;
const STIRRED_SHARPNESS = 4;
/**
 * Share of what is fed that a bed which stands lets by, at most; the pull on the bed over that which moves a bed at rest, at which
 * half of it stands: below 1, since the shake loosens it; and how sharply it falls (judgement, chosen on the test plant's seeds
 * below 10 000).
 */
const STANDING_AT_MOST = 0.5;
const STANDS_AT = 0.5;
const STANDING_SHARPNESS = 4;

/**
 * Share of each class that is not sorted, 0 to 1: what runs over dry deck, what a stream too weak to move the bed lets by, and
 * fine grains that a strong one carries off in suspension.
 *
 * @throws {ProcessError} `out-of-range`.
 */
export function strayShares(
  deck: TwinDeck,
  settings: TwinSettings,
  feed: TwinFeed,
  parameters: TwinParameters,
): ByClass {
  const water = waterAt(settings.waterTemperatureCelsius);
  const film = filmOn({
    litresPerMinute: settings.washWaterLitresPerMinute + settings.feedWaterLitresPerMinute,
    wettedLengthMm: deck.lengthMm,
    slopeMmPerM: settings.crossSlopeMmPerM,
    water,
  });
  const sorted = (1 - dryShare(deck, settings, parameters)) * (1 - standing(film, feed, water));
  const of = (material: TwinMaterial) => 1 - sorted * (1 - stirred(film, material, water));
  return { dense: of(feed.dense), middling: of(feed.middling), light: of(feed.light) };
}

function standing({ shearPa }: Film, feed: TwinFeed, water: Water): number {
  const [log, all] = CLASSES.map((name) => feed[name]).reduce(
    ([sum, shares], one) => [
      sum + one.share * Math.log(shieldsRatio(shearPa, middleUm(one), one.densityKgPerM3, water)),
      shares + one.share,
    ],
    [0, 0],
  );
  return all > 0 ? STANDING_AT_MOST / (1 + (Math.exp(log / all) / STANDS_AT) ** STANDING_SHARPNESS) : 0;
}

function stirred({ shearPa }: Film, material: TwinMaterial, water: Water): number {
  const stirring = KARMAN * Math.sqrt(shearPa / water.densityKgPerM3);
  const shares = sizesUm(material).map((um) => {
    const fall = fergusonChurch(um, material.densityKgPerM3, water);
    return 1 / (1 + (fall / stirring / HALF_STIRRED) ** STIRRED_SHARPNESS);
  });
  return shares.reduce((sum, share) => sum + share, 0) / shares.length;
}

/** Strays leave anywhere along the low side. */
export function strewn(curves: OutletCurves, deck: TwinDeck, shares: ByClass): OutletCurves {
  const side = Math.min(curves.dense.length - 1, Math.floor(deck.widthMm / curves.mmPerBin));
  const spread = (curve: Float64Array, share: number) => {
    const stray = (share * curve.reduce((sum, mass) => sum + mass, 0)) / (curve.length - side);
    return curve.map((mass, bin) => (1 - share) * mass + (bin >= side ? stray : 0));
  };
  return {
    mmPerBin: curves.mmPerBin,
    dense: spread(curves.dense, shares.dense),
    middling: spread(curves.middling, shares.middling),
    light: spread(curves.light, shares.light),
  };
}
