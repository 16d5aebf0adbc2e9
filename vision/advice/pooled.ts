import type { Reading } from "../contract/index.ts";
import { reachable } from "../products.ts";
import { type Case, outletLength, sum } from "./case.ts";
import { sameBands } from "./steadied.ts";

/**
 * The reading with its outlet edges and splitter places averaged over the looks since water, slope or feed were last set,
 * as far as the bands stood still: several photos of one state tell an edge better than one. Moving a splitter moves no
 * band.
 *
 * Method: means weighted by 1 / error², errors 1 / √Σ(1 / error²) (any text on errors). A band is averaged over the looks
 * that show it in as many stretches.
 */
export function pooled(seen: Case): Reading {
  const { reading, deck, notes } = seen;
  const looks: Pick<Reading, "bands" | "splitters">[] = [reading];
  for (const look of [...(notes.earlier ?? [])].reverse()) {
    if (!sameBands(look, seen)) break;
    looks.push(look.reading);
  }
  if (looks.length === 1) return reading;
  const bands = reading.bands.map((band) => {
    const like = looks.flatMap(({ bands: all }) =>
      all.filter(({ kind, outlet }) => kind === band.kind && outlet.length === band.outlet.length),
    );
    const mean = (of: (one: (typeof like)[number]) => number) => sum(like.map(of)) / like.length;
    const outlet = band.outlet.map((_, i) => {
      const from = weighted(like.map(({ outlet: o }) => [o[i]!.fromMm, o[i]!.fromErrorMm]));
      const to = weighted(like.map(({ outlet: o }) => [o[i]!.toMm, o[i]!.toErrorMm]));
      return { fromMm: from.mm, toMm: to.mm, fromErrorMm: from.errorMm, toErrorMm: to.errorMm };
    });
    const edgeBlurMm = band.edgeBlurMm === null ? null : mean((one) => one.edgeBlurMm ?? band.edgeBlurMm!);
    return { ...band, outlet, edgeBlurMm, confidence: mean(({ confidence }) => confidence) };
  });
  const splitters = reading.splitters.map((splitter) => {
    const places = looks.flatMap((look) => look.splitters.filter(({ name }) => name === splitter.name));
    const judged = places.filter(({ suggestedMm, errorMm }) => suggestedMm !== null && errorMm !== null);
    if (splitter.suggestedMm === null || judged.length === 0) return splitter;
    const { mm, errorMm } = weighted(judged.map((place) => [place.suggestedMm!, place.errorMm]));
    const own = deck.splitters.find(({ name }) => name === splitter.name);
    return { ...splitter, suggestedMm: own ? reachable(own, mm, outletLength(deck)) : mm, errorMm };
  });
  return { ...reading, bands, splitters };
}

/** Weighted mean; an end without error, at an end of the path, counts as it is. */
function weighted(ends: readonly (readonly [mm: number, errorMm: number | null])[]) {
  const sure = ends.filter((end): end is readonly [number, number] => end[1] !== null && end[1] > 0);
  if (sure.length < ends.length || sure.length === 0) return { mm: ends[0]![0], errorMm: ends[0]![1] };
  const weights = sure.map(([, error]) => error ** -2);
  const all = sum(weights);
  return { mm: sum(sure.map(([mm], i) => mm * weights[i]!)) / all, errorMm: all ** -0.5 };
}
