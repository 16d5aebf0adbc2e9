import type { Hint, SettingsFile } from "../contract/index.ts";
import { asMm, asShare, hintOf, said, type Text } from "../said.ts";
import { SOURCES } from "../sources.ts";
import { type Border, divideOf } from "../twin/as-seen.ts";
import { type OutletCurves, smeared } from "../twin/outlet-curves.ts";
import { predictOutlet, type TwinSettings } from "../twin/transport.ts";
import { CAUTIONS, type Case, type Draft, ERRORS, mm1, share } from "./case.ts";
import { isBeingSet, sameSet } from "./steadied.ts";
import type { TwinCase } from "./twin-case.ts";
import { waitMinutes } from "./waiting.ts";
import { type Worth, worthOf } from "./worth.ts";

/** A control that moves the bands, with what the trade sets it in. */
interface Lever {
  readonly control: "washWater" | "feedWater" | "crossSlope" | "endSlope" | "stroke" | "speed";
  readonly setting: keyof TwinSettings & keyof NonNullable<SettingsFile["reach"]>;
  readonly unit: NonNullable<Hint["amount"]>["unit"];
  /** Smallest step it is set in where nobody said (common practice). */
  readonly step: number;
  readonly order: Draft["order"];
  readonly caution: Text;
}

/** In the trade's order. The feed water is touched only where the wash water cannot be. */
const LEVERS = (
  [
    ["washWater", "washWaterLitresPerMinute", "L/min", 0.5, "water", CAUTIONS.water],
    ["feedWater", "feedWaterLitresPerMinute", "L/min", 0.5, "water", CAUTIONS.water],
    ["crossSlope", "crossSlopeMmPerM", "mm/m", 1, "slope", CAUTIONS.level],
    ["endSlope", "endSlopeMmPerM", "mm/m", 1, "slope", CAUTIONS.level],
    ["stroke", "strokeMm", "mm", 1, "drive", CAUTIONS.drive],
    ["speed", "strokesPerMinute", "1/min", 5, "drive", CAUTIONS.drive],
  ] as const
).map(
  ([control, setting, unit, step, order, caution]): Lever => ({
    control,
    setting,
    unit,
    step,
    order,
    caution,
  }),
);

/** One hint changes a control by these shares of itself at most: beyond it the twin is not to be trusted (judgement). */
const SHARES = [0.6, 0.7, 0.8, 0.88, 0.94, 1.07, 1.15, 1.27, 1.45, 1.7];
/** The least change that gets this much of the gain is taken. */
export const ENOUGH = 0.85;
/**
 * A smaller gain than this share of what is had now is not worth a change: less while a deck is being set, more at rest, so that
 * what works is left alone.
 */
const LEAST_GAIN = { setting: 0.008, atRest: 0.04 };
/**
 * Splitters must follow the bands: from this many changes among the looks before, theirs too, each one more makes a further one
 * worth it from so many times more.
 */
const FREE_CHANGES = 2;
const EACH_MORE = 2;
const MM_PER_BIN = 20;

/** Curves the twin expects, with the doubt of the borders and the stroke smeared in. */
export function expectedCurves(twin: TwinCase, settings: TwinSettings, mmPerBin = MM_PER_BIN): OutletCurves {
  const doubt = Math.min(...twin.borders.map(({ atMm }) => atMm.error));
  const curves = predictOutlet(twin.deck, settings, twin.feed, twin.fit.parameters, mmPerBin);
  return smeared(curves, Math.min(doubt, 60));
}

/** What each control can bring, each as one change from where it stands; splitters are thought to follow. */
export function bestChanges(seen: Case, twin: TwinCase): Draft[] {
  const worth = worthOf(seen.deck, seen.notes.aim, shareOf(twin), MM_PER_BIN);
  if (!worth) return [];
  const at = (one: TwinCase, settings: TwinSettings) => potential(worth, expectedCurves(one, settings));
  const now = at(twin, twin.settings);
  const least = leastGain(seen);
  return LEVERS.filter((lever) => canSet(seen, lever)).flatMap((lever) => {
    const standing = twin.settings[lever.setting];
    const to = (value: number) => ({ ...twin.settings, [lever.setting]: value });
    const worthIt = candidates(seen, twin, lever)
      .map((value) => ({ value, gain: gainOf(now, at(twin, to(value))) }))
      .filter(({ gain }) => gain >= least);
    const most = Math.max(0, ...worthIt.map(({ gain }) => gain));
    const [chosen] = worthIt
      .filter(({ gain }) => gain >= ENOUGH * most)
      .toSorted((a, b) => Math.abs(a.value - standing) - Math.abs(b.value - standing));
    if (!chosen) return [];
    const holds = doubted(twin).every((one) => gainOf(at(one, one.settings), at(one, to(chosen.value))) > 0);
    return holds ? draft(seen, twin, lever, chosen) : [];
  });
}

/** What a change must gain at least, as a share of what is had now. */
function leastGain(seen: Case): number {
  const now = { settings: seen.notes.settings, reading: seen.reading };
  const looks = [...(seen.notes.earlier ?? []), now];
  const places = ({ reading }: (typeof looks)[number]) => reading.splitters.map(({ atMm }) => atMm).join();
  const isChange = (is: (typeof looks)[number], i: number) =>
    !sameSet(looks[i]!.settings, is.settings) || places(looks[i]!) !== places(is);
  const changes = looks.slice(1).filter(isChange).length;
  return LEAST_GAIN[isBeingSet(seen) ? "setting" : "atRest"] * EACH_MORE ** Math.max(0, changes - FREE_CHANGES);
}

const gainOf = (now: number | null, then: number | null) =>
  now === null || then === null ? 0 : (then - now) / Math.max(Math.abs(now), 1e-9);

/** The twin with what it is least sure of a standard error more or less: a gain must hold in each. */
function doubted(twin: TwinCase): TwinCase[] {
  const { parameters, logErrors } = twin.fit;
  const with_ = (change: Partial<typeof parameters>) => ({
    ...twin,
    fit: { ...twin.fit, parameters: { ...parameters, ...change } },
  });
  const by = (name: "spread" | "sorting", errors: number) =>
    parameters[name] * Math.exp(errors * Math.min(0.5, logErrors[name]));
  return [
    ...[-1, 1].map((sign) => with_({ spread: Math.min(0.5, by("spread", sign)) })),
    ...[-1, 1].map((sign) => with_({ sorting: Math.min(2, Math.max(0.2, by("sorting", sign))) })),
  ];
}

/** Best the aim can be met by, with the splitters moved along. */
function potential(worth: Worth, curves: OutletCurves): number | null {
  const cuts = worth.cuts(curves);
  return cuts && worth.of(curves, cuts);
}

/** What one change is expected to gain, as a share of what is had now; 0 where the aim cannot be met. */
export function gainFrom(seen: Case, twin: TwinCase, change: Partial<TwinSettings>): number {
  const worth = worthOf(seen.deck, seen.notes.aim, shareOf(twin), MM_PER_BIN);
  if (!worth) return 0;
  const [now, then] = [{}, change].map((by) => potential(worth, expectedCurves(twin, { ...twin.settings, ...by })));
  return gainOf(now!, then!);
}

const shareOf = ({ feed }: TwinCase) => ({
  dense: feed.dense.share,
  middling: feed.middling.share,
  light: feed.light.share,
});

function canSet({ deck, notes }: Case, { control }: Lever): boolean {
  const { controls, setPoints } = deck.file;
  if (!controls[control]) return false;
  if (control === "feedWater") return !controls.washWater && notes.settings?.feedWaterLitresPerMinute !== undefined;
  if (control === "endSlope") return setPoints?.endSlopeMmPerM === undefined; // the deck's own wins
  if (control === "crossSlope") return setPoints?.crossSlopeMmPerM === undefined;
  if (control === "stroke") return notes.settings?.strokeMm !== undefined;
  if (control === "speed") return notes.settings?.strokesPerMinute !== undefined;
  return true;
}

/** Settings worth trying: whole steps within the control's reach and its set points, and not too far at once. */
function candidates({ deck, notes }: Case, { settings }: TwinCase, { control, setting, step: usual }: Lever): number[] {
  const { least = 0, most = Number.POSITIVE_INFINITY, step = usual } = notes.settings?.reach?.[setting] ?? {};
  const standing = settings[setting];
  const water = deck.file.setPoints?.waterLitresPerMinute;
  const other = settings.washWaterLitresPerMinute + settings.feedWaterLitresPerMinute - standing;
  const allowed = (value: number) => {
    if (value < least - 1e-9 || value > most + 1e-9 || Math.abs(value - standing) < step / 2) return false;
    const all = value + other;
    return (
      !(water && control.endsWith("Water")) || (all >= Math.min(...water) - 1e-9 && all <= Math.max(...water) + 1e-9)
    );
  };
  const from =
    control === "endSlope" ? [-6, -4, -2, 2, 4, 6].map((by) => standing + by) : SHARES.map((s) => s * standing);
  const whole = from.map((value) => Math.round(standing / step + (value - standing) / step) * step);
  return [...new Set(whole.map((value) => Math.round(value * 1000) / 1000))].filter(allowed);
}

/** How far each border is expected to move, mm, with what one can tell between two photos. */
export function expectedMoves(twin: TwinCase, settings: TwinSettings) {
  const [was, is] = [twin.settings, settings].map((s) => predictOutlet(twin.deck, s, twin.feed, twin.fit.parameters));
  return twin.borders.flatMap(({ between, atMm }) => {
    const [from, to] = [divideOf(was!, between), divideOf(is!, between)];
    if (!from || !to) return [];
    return [{ between, byMm: to.atMm - from.atMm, errorMm: Math.SQRT2 * atMm.error }];
  });
}

function draft(seen: Case, twin: TwinCase, lever: Lever, { value, gain }: { value: number; gain: number }): Draft[] {
  const standing = twin.settings[lever.setting];
  const moves = expectedMoves(twin, { ...twin.settings, [lever.setting]: value });
  const seenBest = Math.max(0, ...moves.map(({ byMm, errorMm }) => Math.abs(byMm) / errorMm));
  if (seenBest < ERRORS) return []; // smaller than what can be seen
  const up = value > standing;
  const least = leastGain(seen);
  const of = (number: number) => ({ value: mm1(number), unit: lever.unit });
  const materials = ([upper, lower]: Border["between"]) => ({ upper: upper, lower: lower });
  const hint = hintOf({
    control: lever.control,
    target: null,
    direction: up ? "raise" : "lower",
    amount: { value: mm1(Math.abs(value - standing)), unit: lever.unit },
    toMm: null,
    because: [
      said("said.why.twin", { control: lever.control, from: of(standing), to: of(value), gain: asShare(gain) }),
      ...twin.borders.map(({ between, atMm: { value: at, error } }) =>
        said("said.why.divide", {
          ...materials(between),
          at: { value: Math.round(at), error: Math.round(error), unit: "mm" },
        }),
      ),
    ],
    evidence: {
      from: mm1(standing),
      to: mm1(value),
      expectedGain: share(gain),
      modelMisfitMm: mm1(twin.fit.misfitMm),
      ...Object.fromEntries(
        moves.map(({ between, byMm }) => [`${between[0]}To${capital(between[1])}MovesMm`, mm1(byMm)]),
      ),
    },
    expect: moves.flatMap(({ between, byMm }) =>
      said("said.expect.borderMoves", {
        ...materials(between),
        far: asMm(Math.round(Math.abs(byMm))),
        way: byMm > 0 ? "down" : "up",
      }),
    ),
    lookAgainMinutes: waitMinutes(seen.deck.lengthMm, twin.settings),
    caution: lever.caution,
    basis: [SOURCES.twin, ...BASES[lever.control]],
    confidence: share(
      0.9 * Math.min(1, ...twin.borders.map(({ confidence }) => confidence)) * (1 - Math.exp(-gain / least)),
    ),
  });
  return [{ hint, order: lever.order, gain, strength: gain / least }];
}

const BASES = {
  washWater: [SOURCES.washWater, SOURCES.minimumWater],
  feedWater: [SOURCES.washWater],
  crossSlope: [SOURCES.slope, SOURCES.minimumWater],
  endSlope: [SOURCES.endSlope],
  stroke: [SOURCES.stroke],
  speed: [SOURCES.stroke],
} as const;

const capital = (words: string) => words.charAt(0).toUpperCase() + words.slice(1);
