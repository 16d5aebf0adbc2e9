import type { TwinDeck, TwinSettings } from "../../../vision/twin/transport.ts";

/** An invented table that runs well. */
export const deck: TwinDeck = { lengthMm: 1800, widthMm: 900, feedMm: [40, 420] };
export const settings: TwinSettings = {
  washWaterLitresPerMinute: 14,
  feedWaterLitresPerMinute: 6,
  feedKgPerHour: 100,
  crossSlopeMmPerM: 22,
  endSlopeMmPerM: 2,
  strokeMm: 14,
  strokesPerMinute: 290,
  waterTemperatureCelsius: 20,
};
