import { placeForAim } from "../aim.ts";
import type { AimFile, Hint, SaidValue, Splitter } from "../contract/index.ts";
import { normalBelow, reachable } from "../products.ts";
import { asMm, asShare, hintOf, type SentenceKey, said, type Text } from "../said.ts";
import { SOURCES } from "../sources.ts";
import { bordersOf } from "../twin/as-seen.ts";
import { type ByClass, CLASSES, type Class, carriedShares, type OutletCurves } from "../twin/outlet-curves.ts";
import { expectedCurves } from "./best-change.ts";
import {
  bandConfidence,
  CAUTIONS,
  type Case,
  type Draft,
  mm1,
  outletLength,
  rounded,
  SURE,
  share,
  sum,
} from "./case.ts";
import { askForCounts, countedNear, edgeCountsOf, heeding } from "./edge-counts.ts";
import { measuredCurves } from "./measured-curves.ts";
import { isBeingSet } from "./steadied.ts";
import type { TwinCase } from "./twin-case.ts";
import { SPLITTER_MINUTES } from "./waiting.ts";
import { worthOf } from "./worth.ts";

/** A splitter is moved from this many standard errors off. */
const MOVE_ERRORS = 2.5;
/** Below this confidence of a band beside it, a border's error counts as larger, in inverse proportion. */
const TRUSTED = 0.8;
/** Where prices set the place, the tails of the bands matter, which nobody sees: one standard error more, mm (judgement). */
const TAILS_MM = 20;
/**
 * Where prices tell what a move is worth: from how many errors off, and for what least gain, a share of what is had. Less
 * while a deck is being set, so that it is set well; more when it is at rest, so that what works is left alone.
 */
const PRICED = {
  setting: { errors: 0.6, gain: 0.006 },
  atRest: { errors: 2, gain: 0.06 },
  counted: { errors: 0.5, gain: 0.01 },
} as const;
/** What is carried is also told this far beside the suggested place, mm. */
const BESIDE_MM = 10;

/** Two splitters stand at least this far apart, mm. */
const LEAST_APART_MM = 10;

interface Place {
  readonly own: Splitter;
  readonly atMm: number;
  /** Where the bands divide, and where the splitter would serve best. */
  readonly evenMm: number | null;
  readonly suggestedMm: number;
  readonly errorMm: number;
  /** What this move brings by itself, and what all splitters at their best places would, as shares of what these give. */
  readonly gain: number | null;
  readonly gainTogether: number | null;
  /** Why the place is not where the bands divide. */
  readonly why: readonly Text[];
}

/** A splitter worth moving. */
interface Off extends Place {
  readonly offMm: number;
  /** How sure the bands beside it are, 0 to 1. */
  readonly sure: number;
  readonly strength: number;
}

/** Splitters further off their best place than the photo's doubt and their own step; the most gain first. */
export function splittersOff(seen: Case, twin: TwinCase | null): Draft[] {
  const { reading, deck } = seen;
  if (!deck.file.controls.splitters) return [];
  const shares = sharesOf(seen, twin);
  const counts = edgeCountsOf(seen);
  const shown = blended(measuredCurves(reading, deck, shares, 10), twin && expectedCurves(twin, twin.settings, 10));
  const curves = heeding(shown, counts, densitiesOf(seen, twin));
  const priced = seen.notes.aim?.perTonne ? byPrice(seen, curves, shares) : null;
  const placesBest = (priced && worthOf(deck, seen.notes.aim, shares)?.cuts(curves)) ?? [];
  const moves = reading.splitters
    .flatMap(({ name, atMm, suggestedMm, errorMm }): Off[] => {
      const own = deck.splitters.find((s) => s.name === name);
      // with prices a border beside it is enough: where middling leads nowhere, it still has its place
      const errors = twin?.borders.map(({ atMm: at }) => at.error) ?? [];
      const error = errorMm ?? (priced && errors.length > 0 ? Math.max(...errors) : null);
      if (error === null || !own?.movable || (suggestedMm === null && !priced)) return [];
      const sure = surenessAt(seen, own);
      if (sure < SURE) return [];
      const best = priced ? placesBest[deck.splitters.indexOf(own)]! : atMm;
      const counted = countedNear(counts, best);
      const limits = PRICED[counted ? "counted" : isBeingSet(seen) ? "setting" : "atRest"];
      const doubt = Math.hypot(error * Math.max(1, TRUSTED / sure), priced && !counted ? TAILS_MM : 0);
      const place = { own, atMm, evenMm: suggestedMm, errorMm: doubt };
      const aimed = clearOf(seen, priced ? priced(place) : byFloor(seen, place));
      const off = Math.abs(aimed.suggestedMm - atMm);
      const least = (priced ? limits.errors : MOVE_ERRORS) * doubt;
      if (off <= least || off <= (own.stepMm ?? 0)) return [];
      if (aimed.gain !== null && aimed.gain < limits.gain) return [];
      return [{ ...aimed, offMm: off, sure, strength: off / (least || 1) }];
    })
    .toSorted((a, b) => (b.gain ?? 0) - (a.gain ?? 0) || b.offMm - a.offMm)
    .map((off): Draft => {
      const gain = off.gain === null ? null : Math.max(off.gain, off.gainTogether ?? 0);
      return { hint: say(seen, off, curves), order: "splitter", gain, strength: off.strength };
    });
  return [...moves, ...askForCounts(seen, priced ? placesBest : [])];
}

/** Densities of the classes, kg/m³: as the twin takes them, else alike, so that counts stand for masses. */
function densitiesOf({ notes }: Case, twin: TwinCase | null): ByClass {
  const of = (name: Class) => twin?.feed[name].densityKgPerM3 ?? notes.profile?.[name]?.densityKgPerM3 ?? 3000;
  return { dense: of("dense"), middling: of("middling"), light: of("light") };
}

/** The twin knows the tails, the photo shows where the bands lie. Of the curves this share is the twin's (judgement). */
const TWIN_SHARE = 0.9;

function blended(measured: OutletCurves, expected: OutletCurves | null): OutletCurves {
  if (!expected) return measured;
  const whole = sum(CLASSES.flatMap((name) => [...expected[name]])) || 1;
  const both = (name: Class) =>
    measured[name].map((mass, bin) => (1 - TWIN_SHARE) * mass + (TWIN_SHARE * (expected[name][bin] ?? 0)) / whole);
  return { mmPerBin: measured.mmPerBin, dense: both("dense"), middling: both("middling"), light: both("light") };
}

/** How sure the two bands beside a splitter are; other bands do not matter to it. */
function surenessAt({ reading }: Case, { between }: Splitter): number {
  const border = bordersOf(reading).find((b) => b.between[0] === between[0] && b.between[1] === between[1]);
  return border ? border.confidence : bandConfidence(reading);
}

function sharesOf({ reading, notes }: Case, twin: TwinCase | null): ByClass {
  if (twin) return { dense: twin.feed.dense.share, middling: twin.feed.middling.share, light: twin.feed.light.share };
  const of = (kind: keyof ByClass) =>
    notes.profile?.[kind]?.feedShare ??
    reading.bands
      .filter((b) => b.kind === kind)
      .flatMap((b) => b.outlet)
      .reduce((all, o) => all + o.toMm - o.fromMm, 0);
  const [dense, middling, light] = [of("dense"), of("middling"), of("light")];
  const all = dense + middling + light || 1;
  return { dense: dense / all, middling: middling / all, light: light / all };
}

type Start = Pick<Place, "own" | "atMm" | "evenMm" | "errorMm">;

/** A splitter never passes its neighbours: it goes up to the next, which is then moved before it. */
function clearOf({ reading, deck }: Case, place: Place): Place {
  const i = deck.splitters.indexOf(place.own);
  const at = (k: number) => reading.splitters.find(({ name }) => name === deck.splitters[k]?.name)?.atMm;
  const [least, most] = [(at(i - 1) ?? 0) + LEAST_APART_MM, (at(i + 1) ?? Number.POSITIVE_INFINITY) - LEAST_APART_MM];
  if (place.suggestedMm >= least && place.suggestedMm <= most) return place;
  const nearest = Math.min(most, Math.max(least, place.suggestedMm));
  return {
    ...place,
    suggestedMm: reachable(place.own, nearest, outletLength(deck)),
    gain: place.gain && place.gain / 2,
  };
}

/** Where the prices pay best, with the other splitters where they would best stand too. */
function byPrice(seen: Case, curves: OutletCurves, shares: ByClass) {
  const worth = worthOf(seen.deck, seen.notes.aim, shares);
  const cuts = worth?.cuts(curves);
  const { splitters } = seen.deck;
  return (start: Start): Place => {
    const i = splitters.indexOf(start.own);
    const suggestedMm = cuts?.[i] ?? start.evenMm ?? start.atMm;
    if (!worth || !cuts) return { ...start, suggestedMm, gain: null, gainTogether: null, why: [] };
    const now = splitters.map((s) => seen.reading.splitters.find(({ name }) => name === s.name)?.atMm ?? s.atMm);
    const then = now.map((at, k) => (k === i ? suggestedMm : at));
    const [was, is, best] = [now, then, cuts].map((at) => worth.of(curves, at)) as [number, number, number];
    const shareOf = (more: number) => more / Math.max(Math.abs(best), 1e-9);
    const [gain, gainTogether] = [shareOf(is - was), shareOf(best - was)];
    const why = [said("said.why.paysBest", { gain: asShare(gain) })];
    return { ...start, suggestedMm, gain, gainTogether, why };
  };
}

function byFloor({ reading, deck, notes }: Case, start: Start): Place {
  const aimed = notes.aim ? placeForAim(reading, deck, start.own, notes.aim) : null;
  const suggestedMm = aimed?.atMm ?? start.evenMm ?? start.atMm;
  const why = [
    ...(aimed?.atMm === null ? [aimWords("no", notes.aim!)] : []),
    ...(suggestedMm !== start.evenMm ? [aimWords("gives", notes.aim!)] : []),
  ];
  return { ...start, suggestedMm, gain: null, gainTogether: null, why };
}

function say(
  seen: Case,
  { own, atMm, evenMm, suggestedMm, errorMm, why, offMm: off, sure }: Off,
  curves: OutletCurves,
): Hint {
  const { reading, deck } = seen;
  const known = reading.scale === "deck file";
  const ofOutlet = (mm: number) => Math.round((1000 * mm) / outletLength(deck)) / 10;
  const place = (mm: number): SaidValue => (known ? asMm(mm1(mm)) : { value: ofOutlet(mm) / 100, unit: "ofOutlet" });
  const direction = suggestedMm > atMm ? "raise" : "lower";
  const [first, second] = own.between;
  const even = evenMm !== null && Math.abs(suggestedMm - evenMm) < 1;
  return hintOf({
    control: "splitter",
    target: own.name,
    direction,
    amount: known ? { value: mm1(off), unit: "mm" } : { value: ofOutlet(off), unit: "%" },
    toMm: known ? mm1(suggestedMm) : null,
    because: [
      evenMm === null
        ? said("said.why.splitterAt", { name: own.name, at: place(atMm) })
        : said("said.why.bandsDivide", {
            upper: first,
            lower: second,
            divide: place(evenMm),
            name: own.name,
            at: place(atMm),
          }),
      ...(even ? [] : [said("said.why.servesBest", { place: place(suggestedMm) })]),
      ...why,
      ...(sure < TRUSTED ? [said("said.why.unsureBands", { sure: asShare(sure) })] : []),
    ],
    evidence: {
      ...(known
        ? { atMm: mm1(atMm), suggestedMm: mm1(suggestedMm), errorMm: mm1(errorMm) }
        : { atPercent: ofOutlet(atMm), suggestedPercent: ofOutlet(suggestedMm), errorPercent: ofOutlet(errorMm) }),
      ...(known ? carriedAt(seen, own, curves, atMm, suggestedMm) : {}),
    },
    expect: even
      ? said("said.expect.ownSide", { band: direction === "raise" ? first : second })
      : direction === "raise"
        ? said("said.expect.moreOf", { launder: first, band: first })
        : said("said.expect.lessOf", { launder: first, band: second }),
    lookAgainMinutes: SPLITTER_MINUTES,
    caution: CAUTIONS.lockOut,
    basis: [even ? SOURCES.leastWrongSide : SOURCES.aim, SOURCES.overlap, SOURCES.bandWidth],
    confidence: share(sure * (errorMm > 0 ? normalBelow(off / errorMm) : 1)),
  });
}

/**
 * Share of dense, middling and light that the launder above the splitter takes: now, as suggested, and beside that. The
 * edges' doubt, their blur and the stroke are in it.
 */
function carriedAt({ deck, reading }: Case, own: Splitter, curves: OutletCurves, atMm: number, suggestedMm: number) {
  const i = deck.splitters.indexOf(own);
  const standing = deck.splitters.map((s) => reading.splitters.find(({ name }) => name === s.name)?.atMm ?? s.atMm);
  const at = (mm: number) => {
    const cuts = standing.map((other, k) => (k === i ? mm : other));
    const { dense, middling, light } = carriedShares(curves, cuts)[i]!;
    return [rounded(dense), rounded(middling), rounded(light)];
  };
  const within = (mm: number) => reachable(own, mm, outletLength(deck));
  return {
    carriedNow: at(atMm),
    carriedSuggested: at(suggestedMm),
    carried10MmLess: at(within(suggestedMm - BESIDE_MM)),
    carried10MmMore: at(within(suggestedMm + BESIDE_MM)),
  };
}

/** What the person wants of the dense launder; shares of outlet length, which a photo shows, not of mass. */
function aimWords(gives: "gives" | "no", { densePurity = 0, denseRecovery = 0 }: AimFile): Text {
  const asked = [densePurity > 0 && "Purity", denseRecovery > 0 && "Recovery"].filter(Boolean).join("");
  const values = { purity: asShare(densePurity), recovery: asShare(denseRecovery) };
  return said(`said.why.${gives}${asked}` as SentenceKey, values);
}
