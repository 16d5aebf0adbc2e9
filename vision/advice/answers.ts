import type { Hint, SettingsFile } from "../contract/index.ts";
import { waterWithSolids } from "../process/pulp.ts";
import { hintOf, said, type Text } from "../said.ts";
import { type Standing, standings } from "../set-points.ts";
import { SOURCES } from "../sources.ts";
import { ENOUGH, gainFrom } from "./best-change.ts";
import { CAUTIONS, type Case, type Draft, hold, mm1, rounded, share } from "./case.ts";
import type { Sight } from "./measures.ts";
import { type Remedy, SYMPTOMS, type Symptom } from "./symptoms.ts";
import type { TwinCase } from "./twin-case.ts";
import { waitMinutes } from "./waiting.ts";

/** Settings that a remedy changes, with the unit and step it is told in. */
const SETTINGS = {
  washWater: { setting: "washWaterLitresPerMinute", unit: "L/min", step: 0.5 },
  feedWater: { setting: "feedWaterLitresPerMinute", unit: "L/min", step: 0.5 },
  feedRate: { setting: "feedKgPerHour", unit: "kg/h", step: 1 },
  crossSlope: { setting: "crossSlopeMmPerM", unit: "mm/m", step: 1 },
  endSlope: { setting: "endSlopeMmPerM", unit: "mm/m", step: 1 },
  speed: { setting: "strokesPerMinute", unit: "1/min", step: 5 },
  stroke: { setting: "strokeMm", unit: "mm", step: 1 },
} as const;
const isSetting = (control: Hint["control"]): control is keyof typeof SETTINGS => control in SETTINGS;

/** What the symptoms call for, each answered by the first remedy that this deck can do; none on water when it is stopped. */
export function answers(seen: Case, twin: TwinCase | null): Draft[] {
  return SYMPTOMS.flatMap((symptom) => {
    if (seen.reading.deckState === "stopped" && !symptom.evenStopped) return [];
    if (twin && symptom.twinKnows) return [];
    const sight = symptom.measure(seen);
    if (!sight || sight.value - (sight.doubt ?? 0) <= symptom.above) return [];
    return answer(seen, symptom, sight, twin);
  });
}

function answer(seen: Case, symptom: Symptom, sight: Sight, twin: TwinCase | null): Draft[] {
  const enough = (remedy: Remedy) => (twin && symptom.costs ? asFarAsPays(seen, twin, remedy) : remedy);
  const remedies = twin ? byGain(seen, twin, symptom.remedies.map(enough)) : symptom.remedies;
  const able = remedies.filter((remedy) => canDo(seen, remedy));
  // past an end of the set points, or shut, only where nothing else is left
  const spent = (remedy: Remedy) => spentWords(seen, remedy);
  const remedy = able.find((one) => spent(one) === null) ?? able.find((one) => spent(one)?.shut === false);
  if (!remedy) return [];
  const before = remedies.slice(0, remedies.indexOf(remedy));
  const why = before.map((one) => (canDo(seen, one) ? spent(one)?.words : notHere(one)));
  const hint = hintOf({
    ...(remedy.direction
      ? {
          control: remedy.control,
          target: null,
          direction: remedy.direction,
          amount: amountOf(seen, remedy),
          toMm: null,
        }
      : hold(remedy.control, remedy.target ?? null)),
    because: [sight.told, symptom.cause, ...why.filter((words) => words !== undefined)],
    evidence: { symptom: symptom.id, ...sight.evidence, limit: rounded(symptom.above), ...waterStands(seen) },
    expect: symptom.expect,
    lookAgainMinutes: symptom.lookAgainMinutes ?? residence(seen),
    caution: remedy.control === "crossSlope" ? CAUTIONS.level : CAUTIONS[symptom.caution],
    basis: [...symptom.basis],
    confidence: share(sight.confidence),
  });
  const strength = symptom.above > 0 ? (sight.value - (sight.doubt ?? 0)) / symptom.above : 1;
  return [
    {
      hint,
      order: remedy.control === "crossSlope" ? "slope" : symptom.order,
      gain: symptom.costs ? sight.value : null,
      strength,
    },
  ];
}

/** What the twin expects of a remedy with an amount; the others tell nothing. */
function gainOf(seen: Case, twin: TwinCase, { control, direction, byShare }: Remedy): number {
  if (!byShare || !isSetting(control)) return Number.NEGATIVE_INFINITY;
  const { setting } = SETTINGS[control];
  const by = direction === "raise" ? 1 + byShare : 1 - byShare;
  return gainFrom(seen, twin, { [setting]: by * twin.settings[setting] });
}

/** The remedy with the least of these multiples of its amount that gets most of what the twin expects of any of them. */
function asFarAsPays(seen: Case, twin: TwinCase, remedy: Remedy): Remedy {
  if (!remedy.byShare) return remedy;
  const tried = MULTIPLES.map((times) => ({ ...remedy, byShare: times * remedy.byShare! }));
  const gains = tried.map((one) => gainOf(seen, twin, one));
  return tried[gains.findIndex((gain) => gain >= ENOUGH * Math.max(...gains))] ?? remedy;
}
const MULTIPLES = [1, 1.5, 2, 2.5];

/** Of remedies with an amount the twin's better first; the others keep their order. */
function byGain(seen: Case, twin: TwinCase, remedies: readonly Remedy[]): Remedy[] {
  const gains = new Map(remedies.map((remedy) => [remedy, gainOf(seen, twin, remedy)]));
  return remedies.toSorted((a, b) => (gains.get(b)! === gains.get(a)! ? 0 : gains.get(b)! - gains.get(a)!));
}

function canDo({ deck, notes }: Case, { control, direction }: Remedy): boolean {
  const { controls } = deck.file;
  if (isSetting(control) && atEnd(notes.settings, SETTINGS[control].setting, direction)) return false;
  if (control === "crossSlope" || control === "endSlope") return controls[control];
  return !(control in controls) || controls[control as keyof typeof controls];
}

/** The control stands at the end of its reach already. */
function atEnd(
  settings: SettingsFile = {},
  setting: keyof NonNullable<SettingsFile["reach"]>,
  direction: "raise" | "lower" | undefined,
): boolean {
  const { least, most, step = 0 } = settings.reach?.[setting] ?? {};
  const standing = settings[setting];
  const end = direction === "raise" ? most : least;
  return (
    standing !== undefined &&
    end !== undefined &&
    (direction === "raise" ? standing > end - step : standing < end + step)
  );
}

const NOT_HERE: Partial<Record<Hint["control"], Text>> = {
  washWater: said("said.why.washFixed"),
  crossSlope: said("said.why.slopeFixed"),
  feedRate: said("said.why.feedFixed"),
};
const notHere = ({ control }: Remedy) => NOT_HERE[control];

/** Water that is shut, or stands at an end of its set points: the next remedy, or the hint after this would undo it. */
function spentWords(seen: Case, { control, direction }: Remedy): { words: Text; shut: boolean } | null {
  if (control !== "washWater") return null;
  if (direction === "lower" && seen.notes.settings?.washWaterLitresPerMinute === 0) {
    return { words: said("said.why.washShut"), shut: true };
  }
  const water = washStanding(seen);
  if (water && direction === "raise" && water.at >= water.most) {
    return { words: said("said.why.waterMost"), shut: false };
  }
  if (water && direction === "lower" && water.at <= water.least) {
    return { words: said("said.why.waterLeast"), shut: false };
  }
  return null;
}

const washStanding = (seen: Case): Standing | undefined =>
  standings(seen.deck, seen.notes).find(({ control }) => control === "washWater");

/** Back to the set points; else to a density; else a share of what stands there, in whole steps. Null: a little at a time. */
function amountOf(seen: Case, { control, direction, byShare, toSolidsPercent }: Remedy): Hint["amount"] {
  if (!isSetting(control)) return null;
  const { setting, unit, step } = SETTINGS[control];
  const settings = seen.notes.settings ?? {};
  const off = control === "washWater" ? (washStanding(seen)?.off ?? 0) : 0;
  if (direction === "raise" ? off > 0 : off < 0) return { value: mm1(Math.abs(off)), unit };
  const { feedKgPerHour, feedSolidsPercent } = settings;
  if (toSolidsPercent && feedKgPerHour && feedSolidsPercent) {
    const more = waterWithSolids(feedKgPerHour, toSolidsPercent) - waterWithSolids(feedKgPerHour, feedSolidsPercent);
    return { value: Math.ceil(more / step) * step, unit };
  }
  const standing = settings[setting];
  if (!byShare || standing === undefined || standing <= 0) return null;
  const by = settings.reach?.[setting]?.step ?? step;
  const { least = 0, most = Number.POSITIVE_INFINITY } = settings.reach?.[setting] ?? {};
  const room = direction === "raise" ? most - standing : standing - least;
  return { value: mm1(Math.min(room, Math.max(by, Math.round((byShare * standing) / by) * by))), unit };
}

function residence({ deck, notes }: Case): number {
  const { strokeMm = deck.file.strokeMm ?? 14, strokesPerMinute = 290 } = notes.settings ?? {};
  return waitMinutes(deck.lengthMm, { strokeMm: strokeMm || 14, strokesPerMinute: strokesPerMinute || 290 });
}

function waterStands({ notes }: Case): { washWaterLitresPerMinute?: number } {
  const stands = notes.settings?.washWaterLitresPerMinute;
  return stands === undefined ? {} : { washWaterLitresPerMinute: stands };
}

/** How far a settings file is believed: it was typed in by hand, and a control may have been moved since. */
const SETTINGS_BELIEVED = 0.8;

/** What the settings file says stands off the deck file's set points, the furthest off first. */
export function offSetPoint(seen: Case): Draft[] {
  const { reading, deck, notes } = seen;
  if (reading.deckState === "stopped") return [];
  return standings(deck, notes)
    .filter(({ control, off }) => off !== 0 && deck.file.controls[control])
    .toSorted((a, b) => Math.abs(b.off / (b.most || 1)) - Math.abs(a.off / (a.most || 1)))
    .map((standing): Draft => {
      const { control, unit, off } = standing;
      const [at, least, most] = [standing.at, standing.least, standing.most].map(mm1) as [number, number, number];
      const of = (value: number) => ({ value, unit });
      const expected = EXPECTED[control];
      const hint = hintOf({
        control,
        target: null,
        direction: off > 0 ? "raise" : "lower",
        amount: { value: mm1(Math.abs(off)), unit },
        toMm: null,
        because: [
          least === most
            ? said("said.why.offPoint", { control, at: of(at), point: of(least) })
            : said("said.why.offRange", { control, at: of(at), least: of(least), most: of(most) }),
        ],
        evidence: { at, setPointLeast: least, setPointMost: most },
        expect: off > 0 ? expected.raised : expected.lowered,
        lookAgainMinutes: residence(seen),
        caution: control === "washWater" ? CAUTIONS.water : CAUTIONS.level,
        basis: [SOURCES.setPoints, control === "washWater" ? SOURCES.washWater : SOURCES.order],
        confidence: SETTINGS_BELIEVED,
      });
      return { hint, order: control === "washWater" ? "water" : "slope", gain: null, strength: 1 };
    });
}
const EXPECTED = {
  washWater: { raised: said("said.expect.moreWater"), lowered: said("said.expect.lessWater") },
  crossSlope: { raised: said("said.expect.steeper"), lowered: said("said.expect.flatter") },
  endSlope: { raised: said("said.expect.endBack"), lowered: said("said.expect.endBack") },
} as const;
