import type { Reading, SettingsFile } from "../contract/index.ts";
import type { Pair } from "../geometry.ts";
import { asMm, asShare, type SentenceKey, said, type Text } from "../said.ts";
import { bordersOf } from "../twin/as-seen.ts";
import {
  type Case,
  ERRORS,
  fanSeen,
  laundersOf,
  outletLength,
  overlaps,
  rounded,
  SURE,
  share,
  sideStart,
  sum,
  sureSpans,
  total,
} from "./case.ts";
import { sameSet } from "./steadied.ts";

/** One number that a symptom is judged by, with its doubt and what to tell of it. */
export interface Sight {
  readonly value: number;
  /** Taken off the value before it is held against the limit: what lies within the photo's doubt does not count. */
  readonly doubt?: number;
  readonly confidence: number;
  readonly told: Text;
  readonly evidence: Readonly<Record<string, number | string>>;
}
export type Measure = (seen: Case) => Sight | null;

/** Least dry patch worth a change, mm²: a 20 mm disc is the least the classes can show. */
const DRY_MM2 = 400;
/** A dry patch with its upper edge within this share of the deck's width from the wash pipe is "by the pipe". */
const BY_PIPE_SHARE = 0.15;
/** Where the deck has no dense launder, light over this share of the outlet from the high corner counts. */
const NO_LAUNDER_SHARE = 0.1;
/** Most of a band. */
const MOSTLY = 0.6;
/** Looks under one setting needed to tell a swing or a drift from noise. */
const LOOKS = 4;
/** How far a person's word is believed. */
const TOLD = 0.7;

export const outletHidden: Measure = ({ reading, deck }) => {
  const hidden = total(reading.outletUnseenMm) / outletLength(deck);
  const told = said("said.seen.outletHidden", { share: asShare(hidden) });
  return { value: hidden, confidence: share(hidden), told, evidence: { outletHiddenShare: rounded(hidden) } };
};

/** Share of the deck that is dry, if the largest sure patch starts by the wash pipe. */
export const dryByPipe: Measure = (seen) => dry(seen, true);
/** The same, if it starts elsewhere. */
export const dryElsewhere: Measure = (seen) => dry(seen, false);

function dry({ reading, deck }: Case, byPipe: boolean): Sight | null {
  const patch = sureDry(reading).toSorted((a, b) => b.areaMm2 - a.areaMm2)[0];
  if (!patch || besidePipe(patch, deck) !== byPipe) return null;
  const value = dryShareOf({ reading, deck });
  const told = said("said.seen.dry", { share: asShare(value) });
  return { value, confidence: patch.confidence, told, evidence: { dryShare: rounded(value) } };
}

const sureDry = ({ dryPatches }: Pick<Reading, "dryPatches">) =>
  dryPatches.filter((p) => p.confidence >= SURE && p.areaMm2 >= DRY_MM2);

/** Share of the deck that is surely dry. */
export const dryShareOf = ({ reading, deck }: Pick<Case, "reading" | "deck">): number =>
  sum(sureDry(reading).map((p) => p.areaMm2)) / (deck.lengthMm * deck.widthMm);

/** The patch's nearest point lies close to the wash pipe, or to the high side where the deck file names no pipe. */
function besidePipe({ outline, centre }: Reading["dryPatches"][number], deck: Case["deck"]): boolean {
  const near = BY_PIPE_SHARE * deck.widthMm;
  const points = outline.length > 0 ? outline : [centre];
  const pipes: readonly (readonly Pair[])[] = deck.file.washPipes ?? [
    deck.outline.slice(0, 2).map(({ x, y }): Pair => [x, y]),
  ];
  return pipes.some((pipe) =>
    pipe.slice(1).some((end, i) => points.some((p) => distanceToLine(p, pipe[i]!, end) <= near)),
  );
}

function distanceToLine([x, y]: Pair, [ax, ay]: Pair, [bx, by]: Pair): number {
  const [dx, dy] = [bx - ax, by - ay];
  const t = Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy || 1)));
  return Math.hypot(x - ax - t * dx, y - ay - t * dy);
}

/** Share of the deck seen that carries no solids. */
export const emptyDeck: Measure = ({ reading: { cover } }) => {
  const seen = cover ? 1 - cover.unseen : 0;
  if (!cover || seen <= 0) return null;
  const solids = (cover.dense + cover.middling + cover.light) / seen;
  const told = said("said.seen.fewSolids", { share: asShare(solids) });
  const confidence = share(seen * (0.5 + (1 - solids) / 2));
  return { value: 1 - solids, confidence, told, evidence: { solidsShare: rounded(solids) } };
};

export const rillCount: Measure = ({ reading }) => {
  const sure = reading.rills.filter((rill) => rill.confidence >= SURE);
  if (sure.length === 0) return null;
  return {
    value: sure.length,
    confidence: Math.max(...sure.map((rill) => rill.confidence)),
    told: said("said.seen.rills", { count: sure.length }),
    evidence: { rills: sure.length },
  };
};

/** Share of the dense band that leaves past its own launder. */
export const densePast: Measure = ({ reading, deck }) => {
  const dense = sureSpans(reading, "dense");
  const launders = laundersOf(deck, "dense");
  if (!fanSeen(reading) || dense.length === 0 || launders.length === 0 || dense.middle < launders[0]![0]) return null;
  const past = 1 - overlaps(dense.spans, launders) / dense.length;
  return {
    value: past,
    doubt: Math.min(1, (ERRORS * dense.errorMm) / dense.length),
    confidence: share(dense.confidence),
    told: said("said.seen.densePast", { share: asShare(past) }),
    evidence: { densePastShare: rounded(past) },
  };
};

/** Share of the dense band that leaves over the low side, beyond any launder of its own. */
export const denseOverLowSide: Measure = (seen) => {
  const { reading, deck } = seen;
  if (strayDense(seen)) return null; // apart from a band that leaves where it should: another matter
  const dense = sureSpans(reading, "dense");
  const launders = laundersOf(deck, "dense");
  if (!fanSeen(reading) || dense.length === 0 || (launders.length > 0 && dense.middle < launders[0]![0])) return null;
  const limit = Math.max(sideStart(deck), ...launders.map((l) => l[1]));
  const over = overlaps(dense.spans, [[limit, Infinity]]) / dense.length;
  return {
    value: over,
    doubt: Math.min(1, (ERRORS * dense.errorMm) / dense.length),
    confidence: share(dense.confidence),
    told: said("said.seen.denseLow", { share: asShare(over) }),
    evidence: { denseOnTailingsSideShare: rounded(over) },
  };
};

/** The part of the dense band that leaves over the low side, when most of it leaves over the end, apart from it. */
export const strayDense: Measure = ({ reading, deck }) => {
  const dense = sureSpans(reading, "dense");
  const side = sideStart(deck);
  const main = dense.spans.filter(([from]) => from < side);
  const stray = total(dense.spans.filter(([from]) => from >= side)) / (dense.length || 1);
  if (total(main) < MOSTLY * dense.length || stray === 0) return null;
  return {
    value: stray,
    doubt: Math.min(1, (ERRORS * dense.errorMm) / dense.length),
    confidence: share(dense.confidence),
    told: said("said.seen.denseStrays", { share: asShare(stray) }),
    evidence: { strayDenseShare: rounded(stray) },
  };
};

/** How far light (or middling) reaches into where the dense product leaves, over what a moved splitter would keep out. */
export const lightOnDenseEnd: Measure = (seen) => reaching(seen, "light");
export const middlingOnDenseEnd: Measure = (seen) => reaching(seen, "middling");

function reaching({ reading, deck }: Case, kind: "light" | "middling"): Sight | null {
  const band = sureSpans(reading, kind);
  const launders = laundersOf(deck, "dense");
  if (!fanSeen(reading) || band.length === 0 || (kind === "middling" && launders.length === 0)) return null;
  const places = reading.splitters.flatMap(({ atMm, suggestedMm }) =>
    suggestedMm !== null && launders.some(([, to]) => Math.abs(to - atMm) < 1) ? [suggestedMm] : [],
  );
  const ends = launders.length > 0 ? launders.map((l) => l[1]) : [NO_LAUNDER_SHARE * outletLength(deck)];
  const top = Math.min(...ends, ...places);
  const reached = overlaps(band.spans, [[0, top]]);
  const sure = reached - ERRORS * band.errorMm;
  if (sure <= 0) return null;
  return {
    value: Math.max(sure / band.length, top > 0 ? sure / top : 0),
    confidence: share(band.confidence),
    told: said("said.seen.onDenseEnd", { band: kind, share: asShare(reached / top) }),
    evidence: { [`${kind}OnDenseEndShare`]: rounded(reached / top) },
  };
}

/** Share of the dense launder that nothing falls into. */
export const denseLaunderEmpty: Measure = ({ reading, deck }) => {
  const launders = laundersOf(deck, "dense");
  const dense = sureSpans(reading, "dense");
  const width = total(launders);
  const inside = overlaps(dense.spans, launders);
  if (width === 0 || inside < MOSTLY * dense.length || inside === 0) return null;
  const others = sum(
    (["middling", "light"] as const).map((kind) => overlaps(sureSpans(reading, kind).spans, launders)),
  );
  const hidden = overlaps(reading.outletUnseenMm, launders);
  const empty = 1 - (inside + others + hidden) / width;
  return {
    value: empty,
    doubt: Math.min(1, (ERRORS * dense.errorMm) / width),
    confidence: share(dense.confidence),
    told: said("said.seen.denseLaunder", { share: asShare(1 - empty) }),
    evidence: { denseLaunderEmptyShare: rounded(empty) },
  };
};

/** Gaps and stretches narrower than this share of the outlet are ragged ends of a band, not streaks (judgement). */
const STREAK_SHARE = 0.03;

/** Streaks apart from each other that one class leaves in, of the class with the most. */
export const stretches: Measure = ({ reading, deck }) => {
  const least = STREAK_SHARE * outletLength(deck);
  const sure = reading.bands
    .filter(({ confidence }) => confidence >= SURE)
    .map((band) => ({ ...band, streaks: streaksOf(band, least) }));
  const most = sure.toSorted((a, b) => b.streaks - a.streaks)[0];
  if (!most) return null;
  return {
    value: most.streaks,
    confidence: share(most.confidence),
    told: said("said.seen.streaks", { band: most.kind, count: most.streaks }),
    evidence: { stretches: most.streaks },
  };
};

function streaksOf({ outlet }: Reading["bands"][number], least: number): number {
  const streaks: [from: number, to: number][] = [];
  for (const { fromMm, toMm } of outlet.toSorted((a, b) => a.fromMm - b.fromMm)) {
    const last = streaks.at(-1);
    if (last && fromMm - last[1] < least) last[1] = toMm;
    else streaks.push([fromMm, toMm]);
  }
  return streaks.filter(([from, to]) => to - from >= least).length;
}

/** Share of what surely leaves that lies out of order, for the best division into dense, middling and light. */
export const noFan: Measure = ({ reading }) => {
  const sure = reading.bands.filter((band) => band.confidence >= SURE && band.outlet.length > 0);
  const spans = sure.flatMap(({ kind, outlet }) => outlet.map((o) => ({ kind, span: [o.fromMm, o.toMm] as const })));
  const all = total(spans.map(({ span }) => span));
  if (sure.length < 2 || all === 0) return null;
  const ends = [0, ...spans.flatMap(({ span }) => span)].toSorted((a, b) => a - b);
  const outside = (kind: string, from: number, to: number) => {
    const own = spans.filter((one) => one.kind === kind).map(({ span }) => span);
    return total(own) - overlaps(own, [[from, to]]);
  };
  const wrong = ends.flatMap((a) =>
    ends
      .filter((b) => b >= a)
      .map((b) => outside("dense", 0, a) + outside("middling", a, b) + outside("light", b, Number.POSITIVE_INFINITY)),
  );
  const value = Math.min(...wrong) / all;
  const told = said("said.seen.noFan", { share: asShare(value) });
  return { value, confidence: TOLD, told, evidence: { outOfOrderShare: rounded(value) } };
};

/** Dense grains cover deck along the wash pipe but none of them leaves: they heap up. Share of the deck so covered. */
export const denseHeap: Measure = ({ reading, deck }) => {
  const dense = reading.bands.find(({ kind }) => kind === "dense");
  const hidden = total(reading.outletUnseenMm) / outletLength(deck);
  if (!dense || dense.confidence < SURE || dense.outlet.length > 0 || hidden > 0.1) return null;
  const value = dense.areaMm2 / (deck.lengthMm * deck.widthMm);
  const told = said("said.seen.denseHeap", { share: asShare(value) });
  return { value, confidence: share(dense.confidence), told, evidence: { denseAreaShare: rounded(value) } };
};

/** Per cent solids by weight of the feed, from the settings file. */
export const feedSolids: Measure = ({ notes }) => {
  const value = notes.settings?.feedSolidsPercent;
  if (value === undefined) return null;
  return {
    value,
    confidence: 0.8,
    told: said("said.seen.feedSolids", { solids: { value, unit: "%" } }),
    evidence: { feedSolidsPercent: value },
  };
};

/** Width over which bands change into each other, over that of the looks before. */
export const blurGrowth: Measure = ({ reading, notes }) => {
  const widest = ({ bands }: Pick<Reading, "bands">) =>
    Math.max(0, ...bands.flatMap(({ edgeBlurMm }) => edgeBlurMm ?? []));
  const before = (notes.earlier ?? []).map((look) => widest(look.reading)).filter((mm) => mm > 0);
  const now = widest(reading);
  if (before.length === 0 || now === 0) return null;
  const usual = before.toSorted((a, b) => a - b)[Math.floor(before.length / 2)]!;
  const told = said("said.seen.blur", { now: asMm(Math.round(now)), before: asMm(Math.round(usual)) });
  const evidence = { edgeBlurMm: Math.round(now), edgeBlurBeforeMm: Math.round(usual) };
  return { value: now / usual, confidence: before.length > 1 ? 0.7 : 0.5, told, evidence };
};

/** 1 when dense left in the looks before and none is seen now, though the outlet is. */
export const denseGone: Measure = ({ reading, deck, notes }) => {
  const leaves = ({ bands }: Pick<Reading, "bands">) =>
    bands.some(({ kind, outlet }) => kind === "dense" && outlet.length > 0);
  const before = notes.earlier ?? [];
  const hidden = total(reading.outletUnseenMm) / outletLength(deck);
  if (before.length === 0 || !before.every((look) => leaves(look.reading)) || leaves(reading) || hidden > 0.1)
    return null;
  return { value: 1, confidence: 0.6, told: said("said.seen.denseGone"), evidence: {} };
};

/** How a border wandered over the looks under this setting, in standard errors: up and down, or one way. */
export const swing: Measure = (seen) => wander(seen, "swing");
export const oneWay: Measure = (seen) => wander(seen, "one way");

function wander({ reading, notes }: Case, how: "swing" | "one way"): Sight | null {
  const looks = [
    ...(notes.earlier ?? []).filter(({ settings }) => sameSet(settings, notes.settings)).map((look) => look.reading),
    reading,
  ];
  const borders = looks.map(bordersOf);
  const found = (borders.at(-1) ?? []).flatMap(({ between }): Sight[] => {
    const places = borders.flatMap((all) => all.filter((b) => b.between.join() === between.join()).map((b) => b.atMm));
    if (places.length < LOOKS) return [];
    const { slope, slopeError, left, spread } = lineThrough(places);
    const far = Math.round(Math.abs(slope) * (places.length - 1));
    const border = (by: number) => ({
      upper: between[0],
      lower: between[1],
      far: asMm(by),
      photos: places.length,
    });
    const steady = Math.abs(slope) < 3 * slopeError;
    if (how === "one way") {
      const told = said("said.seen.wander", border(far));
      return [{ value: Math.abs(slope) / slopeError, confidence: 0.7, told, evidence: { wanderedMm: far } }];
    }
    const told = said("said.seen.swing", border(Math.round(spread)));
    return [{ value: steady ? left : 0, confidence: 0.7, told, evidence: { swingMm: Math.round(spread) } }];
  });
  return found.toSorted((a, b) => b.value - a.value)[0] ?? null;
}

/** Straight line through places with errors, evenly spaced: slope a look; `left`, root mean square of misses in errors. */
function lineThrough(places: readonly { value: number; error: number }[]) {
  const weights = places.map(({ error }) => 1 / Math.max(error, 1) ** 2);
  const all = sum(weights);
  const middle = sum(places.map((_, i) => i * weights[i]!)) / all;
  const mean = sum(places.map(({ value }, i) => value * weights[i]!)) / all;
  const turn = sum(places.map((_, i) => weights[i]! * (i - middle) ** 2));
  const slope = sum(places.map(({ value }, i) => weights[i]! * (i - middle) * (value - mean))) / turn;
  const misses = places.map(({ value }, i) => value - mean - slope * (i - middle));
  const left = Math.sqrt(sum(misses.map((miss, i) => miss ** 2 * weights[i]!)) / (places.length - 2));
  return { slope, slopeError: 1 / Math.sqrt(turn), left, spread: Math.max(...misses) - Math.min(...misses) };
}

type SeenByEye = NonNullable<SettingsFile["seen"]>[number];
const EYE_WORDS: Readonly<Record<SeenByEye, SentenceKey>> = {
  "feed surges": "said.eye.feedSurges",
  "feed uneven along the feed box": "said.eye.feedUneven",
  "bed stands in the riffles": "said.eye.bedStands",
  "wash jets land low": "said.eye.jetsLow",
  "water thick with fines": "said.eye.fines",
  "fine streaks ahead of the dense edge": "said.eye.fineStreaks",
  "round heavy grains roll to the low side": "said.eye.roundGrains",
  "froth or floating grains": "said.eye.froth",
  "dense band gone, weights the same": "said.eye.denseGone",
};
/** 1 when a person says so in the settings file. */
export const byEye =
  (what: SeenByEye): Measure =>
  ({ notes }) =>
    notes.settings?.seen?.includes(what)
      ? { value: 1, confidence: TOLD, told: said(EYE_WORDS[what]), evidence: { seenByEye: what } }
      : null;
