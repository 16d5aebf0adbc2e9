import type { AimFile, Reading, Splitter } from "./contract/index.ts";
import { caught, reachable } from "./products.ts";
import type { Deck } from "./stages.ts";

/** 10-90 % width of a Gaussian edge for a standard deviation of 1. */
const BLUR_PER_SD = 2.563;

/**
 * Where the splitter at the end of the dense launder meets the aim, as near to `suggestedMm` as that goes.
 *
 * @returns `atMm` null when no place within the splitter's reach meets it; null altogether when the aim or the bands say
 *          nothing of this splitter.
 *
 * Method: purity is the dense share of the solids' outlet length from the launder's start to the cut, recovery the share
 * of the dense length there; band edges are blurred by a Gaussian with the band's own 10-90 % width.
 */
export function placeForAim(
  { bands, splitters }: Reading,
  deck: Deck,
  own: Splitter,
  { densePurity = 0, denseRecovery = 0 }: AimFile,
): { readonly atMm: number | null } | null {
  const suggestedMm = splitters.find((s) => s.name === own.name)?.suggestedMm ?? null;
  if (own.between[0] !== "dense" || densePurity + denseRecovery === 0 || suggestedMm === null) return null;
  const fromMm = Math.max(0, ...deck.splitters.filter((s) => s.atMm < own.atMm).map((s) => s.atMm));
  const fallen = (kind: string, toMm: number) =>
    bands
      .filter((band) => band.kind === kind)
      .flatMap((band) => band.outlet.map((o) => ({ ...o, sd: (band.edgeBlurMm ?? 0) / BLUR_PER_SD })))
      .reduce((all, o) => all + caught([o.fromMm, o.toMm], [fromMm || -Infinity, toMm], o.sd), 0);
  const allDense = bands
    .filter((band) => band.kind === "dense")
    .flatMap((band) => band.outlet)
    .reduce((all, o) => all + o.toMm - o.fromMm, 0);
  if (allDense <= 0) return null;
  const meets = (cut: number) => {
    const dense = fallen("dense", cut);
    const others = fallen("middling", cut) + fallen("light", cut);
    return dense >= denseRecovery * allDense - 1e-6 && dense >= densePurity * (dense + others) - 1e-6;
  };
  const outletMm = Math.max(own.atMm, suggestedMm, ...bands.flatMap((b) => b.outlet.map((o) => o.toMm)));
  // The nearest place first, so that an aim already met moves nothing.
  for (let far = 0; far <= outletMm; far += own.stepMm ?? 1) {
    for (const at of [suggestedMm - far, suggestedMm + far]) {
      if (at > fromMm && at <= outletMm && Math.abs(reachable(own, at, outletMm) - at) < 1e-6 && meets(at))
        return { atMm: at };
    }
  }
  return { atMm: null };
}
