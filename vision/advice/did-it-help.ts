import type { Hint, SaidText, TwinBelief } from "../contract/index.ts";
import { inEnglish, type SentenceKey, said } from "../said.ts";
import { bordersOf } from "../twin/as-seen.ts";
import { farOf, type Judgement, judgeChange } from "../twin/did-it-help.ts";
import { fitTwin } from "../twin/fit-twin.ts";
import type { TwinSettings } from "../twin/transport.ts";
import { expectedMoves } from "./best-change.ts";
import type { Case } from "./case.ts";
import { learned, type TwinCase, twinOf } from "./twin-case.ts";

/** What was changed between two looks, as far as the person says. */
export interface Change {
  readonly control: Hint["control"];
  readonly direction?: Hint["direction"];
  readonly amount?: Hint["amount"];
}

/** What one border did after the change, beside what was expected of it. */
export interface BorderJudged extends Judgement {
  readonly between: readonly [string, string];
  readonly movedMm: number;
  readonly movedErrorMm: number;
  readonly expectedMm: number | null;
}
export interface Helped {
  readonly borders: readonly BorderJudged[];
  /** The verdict over all borders, and what to do next, in words. */
  readonly say: string;
  readonly said: SaidText;
  readonly next: Judgement["next"];
  /** The twin after both looks, for `settings.twin`; null where there is no twin. */
  readonly twin: TwinBelief | null;
}

/** An expected move from a direction alone, without a twin, mm: up to this much, one standard error (judgement). */
const UNKNOWN_MM = 150;
/** The twin's own doubt of a move it foretells, as a share of it (judgement, until pairs from real decks are in). */
const TWIN_DOUBT = 0.4;

const SETTING: Partial<Record<Hint["control"], keyof TwinSettings>> = {
  washWater: "washWaterLitresPerMinute",
  feedWater: "feedWaterLitresPerMinute",
  feedRate: "feedKgPerHour",
  crossSlope: "crossSlopeMmPerM",
  endSlope: "endSlopeMmPerM",
  stroke: "strokeMm",
  speed: "strokesPerMinute",
};
/** Which way bands go when a control is raised: down toward the tailings is above 0. Source: V1 to V7 of the trade's table. */
const DOWN: Partial<Record<Hint["control"], 1 | -1>> = {
  washWater: 1,
  feedWater: 1,
  crossSlope: 1,
  stroke: -1,
  speed: -1,
};

/**
 * Did one change help: how far each border moved against what was expected, and what to do next.
 *
 * With a twin (see `twinOf`) the move is foretold in mm and both looks are learned from. Without one the direction alone is
 * judged. A moved splitter moves no band: then none should have moved.
 *
 * @param before, after  Looks with their notes; the settings of each where they are known.
 */
export function didItHelp(before: Case, after: Case, change: Change): Helped {
  const twin = twinOf(before);
  const then = twin && settingsAfter(twin, after, change);
  const foretold = twin && then ? expectedMoves(twin, then) : [];
  const was = bordersOf(before.reading);
  const borders = bordersOf(after.reading).flatMap((border): BorderJudged[] => {
    const { between, atMm } = border;
    const first = was.find((b) => b.between.join() === between.join());
    if (!first) return [];
    const moved = { value: atMm.value - first.atMm.value, error: Math.hypot(atMm.error, first.atMm.error) };
    const told = foretold.find((f) => f.between.join() === between.join());
    const expected = told ? { value: told.byMm, error: TWIN_DOUBT * Math.abs(told.byMm) } : unaided(change);
    const judged = expected ? judgeChange(moved, expected) : unjudged(moved);
    return [{ between, movedMm: moved.value, movedErrorMm: moved.error, expectedMm: told?.byMm ?? null, ...judged }];
  });
  return { borders, ...verdict(borders, change), twin: learnedFrom(twin, after, then) };
}

/** The settings file of the later look wins; else what the change says was done. */
function settingsAfter(twin: TwinCase, after: Case, { control, direction, amount }: Change): TwinSettings | null {
  const setting = SETTING[control];
  if (!setting) return control === "splitter" ? twin.settings : null;
  const typed = after.notes.settings?.[setting as "washWaterLitresPerMinute"];
  if (typed !== undefined && typed !== twin.settings[setting]) return { ...twin.settings, [setting]: typed };
  if (!amount || !direction || direction === "hold") return null;
  const by = direction === "raise" ? amount.value : -amount.value;
  return { ...twin.settings, [setting]: Math.max(0.1, twin.settings[setting] + by) };
}

/** What a direction alone lets one expect: some way down or up; nothing at all of a splitter. */
function unaided({ control, direction }: Change): { value: number; error: number } | null {
  if (control === "splitter" || control === "none") return { value: 0, error: 0 };
  const sign = DOWN[control];
  if (!sign || !direction || direction === "hold") return null;
  const way = direction === "raise" ? sign : -sign;
  return { value: (way * UNKNOWN_MM) / 3, error: UNKNOWN_MM / 3 };
}

function unjudged(moved: { value: number; error: number }): Judgement {
  const seen = Math.abs(moved.value) >= 2 * moved.error;
  const text = said(seen ? "said.moved.unforetold" : "said.moved.noMore", { moved: farOf(moved) });
  return {
    verdict: "nothing seen",
    share: null,
    say: inEnglish(text),
    said: text,
    next: seen ? "keep" : "wait",
  };
}

/** Worst news first: one border that went the other way outweighs one that went as it should. */
const WORST_FIRST: readonly Judgement["next"][] = ["back", "other", "more", "keep", "wait"];

function verdict(borders: readonly BorderJudged[], { control }: Change): Pick<Helped, "say" | "said" | "next"> {
  const judged = (next: Judgement["next"], key: SentenceKey) => ({ next, say: inEnglish(said(key)), said: said(key) });
  if (borders.length === 0) return judged("wait", "said.helped.noBorder");
  if (control === "splitter") {
    const moved = borders.some(({ movedMm, movedErrorMm }) => Math.abs(movedMm) >= 2 * movedErrorMm);
    return moved ? judged("other", "said.helped.splitterMoved") : judged("keep", "said.helped.splitterStill");
  }
  const next = WORST_FIRST.find((one) => borders.some((border) => border.next === one)) ?? "wait";
  return judged(next, `said.helped.${next}`);
}

/** Both looks together: what was believed before them is not counted twice. */
function learnedFrom(twin: TwinCase | null, after: Case, then: TwinSettings | null): TwinBelief | null {
  if (!twin) return null;
  const borders = bordersOf(after.reading);
  if (borders.length === 0 || !then) return learned(twin);
  const pair = [
    { settings: twin.settings, feed: twin.feed, borders: twin.borders },
    { settings: then, feed: twin.feed, borders },
  ];
  return learned({ ...twin, fit: fitTwin(twin.deck, pair, after.notes.settings?.twin) });
}
