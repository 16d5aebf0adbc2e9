import type { Reading } from "../contract/index.ts";
import { caught, strokeSpreadMm } from "../products.ts";
import type { Deck } from "../stages.ts";
import type { ByClass, CLASSES, OutletCurves } from "../twin/outlet-curves.ts";
import { outletLength, sum } from "./case.ts";

/** 10-90 % width of a Gaussian edge for a standard deviation of 1. */
const BLUR_PER_SD = 2.563;

/**
 * What leaves where as the reading itself shows it: each class spread evenly over its stretches, their ends blurred by the
 * band's own edge blur, the edges' doubt and the stroke.
 *
 * @param shares  Of the feed by weight. A class that the photo does not show leaves nowhere.
 */
export function measuredCurves(reading: Reading, deck: Deck, shares: ByClass, mmPerBin = 5): OutletCurves {
  const bins = Math.ceil(outletLength(deck) / mmPerBin);
  const spread = strokeSpreadMm(deck);
  const curve = (name: (typeof CLASSES)[number]) => {
    const bands = reading.bands.filter(({ kind }) => kind === name);
    const stretches = bands.flatMap(({ outlet, edgeBlurMm }) =>
      outlet.map((o) => {
        const edges = [o.fromErrorMm, o.toErrorMm].filter((error) => error !== null);
        const doubt = Math.hypot(...edges) / Math.sqrt(edges.length || 1);
        return { ...o, sd: Math.hypot((edgeBlurMm ?? 0) / BLUR_PER_SD, doubt, spread((o.fromMm + o.toMm) / 2)) };
      }),
    );
    const length = sum(stretches.map(({ fromMm, toMm }) => toMm - fromMm)) || 1;
    return Float64Array.from({ length: bins }, (_, bin) => {
      // what would pass an end of the path falls off at that end
      const from = bin === 0 ? Number.NEGATIVE_INFINITY : bin * mmPerBin;
      const to = bin === bins - 1 ? Number.POSITIVE_INFINITY : (bin + 1) * mmPerBin;
      const fallen = sum(stretches.map(({ fromMm, toMm, sd }) => caught([fromMm, toMm], [from, to], sd)));
      return (Math.max(0, fallen) / length) * shares[name];
    });
  };
  return { mmPerBin, dense: curve("dense"), middling: curve("middling"), light: curve("light") };
}
