import type { Product, Reading, SettingsFile, TwinBelief } from "../contract/index.ts";
import { waterWithSolids } from "../process/pulp.ts";
import { ProcessError } from "../process/range.ts";
import type { Deck, Notes } from "../stages.ts";
import { type Border, bordersOf, rimsOf } from "../twin/as-seen.ts";
import { fitTwin, type Seen, type TwinFit } from "../twin/fit-twin.ts";
import { type ByClass, CLASSES } from "../twin/outlet-curves.ts";
import type { TwinDeck, TwinFeed, TwinSettings } from "../twin/transport.ts";
import { type Case, SURE, sum } from "./case.ts";
import { dryShareOf } from "./measures.ts";

/** A twin fitted to the reading at hand: what amounts are worked out with. */
export interface TwinCase {
  readonly deck: TwinDeck;
  readonly settings: TwinSettings;
  readonly feed: TwinFeed;
  readonly fit: TwinFit;
  readonly borders: readonly Border[];
}

/** Stand in for what nobody typed in; drift takes up their error, so that they hardly change an amount (common practice). */
const USUAL = {
  feedKgPerHourPerM2: 65, // R4 of Wills' capacities for fine sand, from memory
  feedSolidsPercent: 25,
  strokeMm: 14,
  strokesPerMinute: 290,
  waterTemperatureCelsius: 15,
};
/** How much a deck changes from one look to the next: drift of what was learned, as errors of logarithms (judgement). */
const FORGETTING: TwinBelief["logErrors"] = {
  drift: 0.05,
  sorting: 0.05,
  climbMmPerM: 0.05,
  spread: 0.1,
  locking: 0.05,
  waterResponse: 0.03,
  slopeResponse: 0.03,
  fading: 0.05,
  breaksMm: 0.03,
};

/**
 * The twin of this deck, fitted to this reading; and to earlier ones, unless what they taught is told as `settings.twin`.
 *
 * @returns null where amounts cannot be had: no deck file, wash water or cross slope not typed in, densities or sizes of
 *          dense and light not in the material profile, or fewer than two bands surely seen.
 */
export function twinOf({ reading, deck, notes }: Case): TwinCase | null {
  if (reading.scale !== "deck file" || reading.deckState === "stopped") return null;
  const settings = twinSettings(deck, notes.settings ?? {});
  const borders = bordersOf(reading).filter(({ confidence }) => confidence >= SURE);
  const feed = feedOf(reading.bands, notes);
  if (!settings || !feed || borders.length === 0) return null;
  const twinDeck: TwinDeck = {
    lengthMm: deck.lengthMm,
    widthMm: deck.widthMm,
    feedMm: [Math.min(deck.feed.from.x, deck.feed.to.x), Math.max(deck.feed.from.x, deck.feed.to.x)],
  };
  try {
    const told = notes.settings?.twin;
    // what was learned of earlier looks is told, or learned anew
    const before = told
      ? []
      : (notes.earlier ?? []).flatMap((look) => seenIn(deck, look.reading, look.settings, notes));
    const counts = notes.settings?.edgeCounts ?? [];
    const now = { settings, feed, borders, counts, rims: rimsOf(reading), dryShare: dryShareOf({ reading, deck }) };
    const fit = fitTwin(twinDeck, [...before, now], told);
    return { deck: twinDeck, settings, feed, fit, borders };
  } catch (error) {
    if (error instanceof ProcessError) return null; // typed-in numbers beyond the physics: the rules still speak
    throw error;
  }
}

/** An earlier look as the twin is fitted to it; nothing where its settings were not typed in or no borders seen. */
function seenIn(deck: Deck, { bands }: Pick<Reading, "bands">, typed: SettingsFile | undefined, notes: Notes): Seen[] {
  const settings = twinSettings(deck, typed ?? {});
  const borders = bordersOf({ bands }).filter(({ confidence }) => confidence >= SURE);
  const feed = feedOf(bands, notes);
  return settings && feed && borders.length > 0
    ? [{ settings, feed, borders, counts: typed?.edgeCounts ?? [], rims: rimsOf({ bands }) }]
    : [];
}

/** What a fitted twin teaches of its deck, to be handed to the next reading as `settings.twin`. */
export function learned({ fit: { parameters, logErrors } }: TwinCase): TwinBelief {
  const names = Object.keys(FORGETTING) as (keyof typeof FORGETTING)[];
  const wider = Object.fromEntries(names.map((name) => [name, Math.hypot(logErrors[name], FORGETTING[name])]));
  return { parameters, logErrors: wider as TwinBelief["logErrors"] };
}

function twinSettings(deck: Deck, settings: SettingsFile): TwinSettings | null {
  const { washWaterLitresPerMinute: wash, crossSlopeMmPerM: slope } = settings;
  if (wash === undefined || slope === undefined || slope <= 0) return null;
  const areaM2 = (deck.lengthMm * deck.widthMm) / 1e6;
  const feedKgPerHour = settings.feedKgPerHour || USUAL.feedKgPerHourPerM2 * areaM2;
  const solids = settings.feedSolidsPercent || USUAL.feedSolidsPercent;
  return {
    washWaterLitresPerMinute: wash,
    feedWaterLitresPerMinute: settings.feedWaterLitresPerMinute ?? waterWithSolids(feedKgPerHour, solids),
    feedKgPerHour,
    crossSlopeMmPerM: slope,
    endSlopeMmPerM: settings.endSlopeMmPerM ?? deck.file.setPoints?.endSlopeMmPerM ?? 0,
    strokeMm: settings.strokeMm || deck.file.strokeMm || USUAL.strokeMm,
    strokesPerMinute: settings.strokesPerMinute || USUAL.strokesPerMinute,
    waterTemperatureCelsius: settings.waterTemperatureCelsius ?? USUAL.waterTemperatureCelsius,
  };
}

/** Densities and sizes as the profile says; a middling that it leaves out lies between the two others. */
function feedOf(bands: Case["reading"]["bands"], { profile }: Notes): TwinFeed | null {
  const named = (kind: Product) => {
    const { densityKgPerM3, sizeMm } = profile?.[kind] ?? {};
    return densityKgPerM3 && sizeMm ? { densityKgPerM3, sizeUm: [1000 * sizeMm[0], 1000 * sizeMm[1]] as const } : null;
  };
  const [dense, light] = [named("dense"), named("light")];
  if (!dense || !light) return null;
  const middling = named("middling") ?? {
    densityKgPerM3: Math.sqrt(dense.densityKgPerM3 * light.densityKgPerM3),
    sizeUm: [0, 1].map((i) => Math.sqrt(dense.sizeUm[i]! * light.sizeUm[i]!)) as [number, number],
  };
  const shares = feedShares(bands, profile);
  const at = (kind: Product, material: typeof dense) => ({ ...material, share: shares[kind] });
  return { dense: at("dense", dense), middling: at("middling", middling), light: at("light", light) };
}

/** Shares of the feed as typed in; what is left goes to the others by the length of outlet their bands take. */
function feedShares(bands: Case["reading"]["bands"], profile: Notes["profile"]): ByClass {
  const typed = (kind: Product) => profile?.[kind]?.feedShare;
  const length = (kind: Product) =>
    sum(bands.filter((band) => band.kind === kind).flatMap((band) => band.outlet.map((o) => o.toMm - o.fromMm)));
  const open = CLASSES.filter((kind) => typed(kind) === undefined);
  const left = Math.max(0, 1 - sum(CLASSES.map((kind) => typed(kind) ?? 0)));
  const whole = sum(open.map(length));
  const of = (kind: Product) => typed(kind) ?? (whole > 0 ? (left * length(kind)) / whole : 0);
  const all = sum(CLASSES.map(of)) || 1;
  return { dense: of("dense") / all, middling: of("middling") / all, light: of("light") / all };
}
