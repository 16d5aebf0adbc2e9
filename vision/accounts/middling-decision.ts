import type { Told } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import type { Basis } from "../sources.ts";
import { checked } from "./fault.ts";
import type { MiddlingKind, MiddlingTest } from "./middling-kind.ts";
import { propagate } from "./propagate.ts";

export type MiddlingChoice = "rerun" | "regrind" | "discard" | "look closer";

/** Money for a tonne; shares 0 to 1, each with one standard error. */
export interface MiddlingMoney {
  /** For a tonne of metal in the product, after all charges on it. */
  readonly metal: Measured;
  readonly rerunCost: Measured;
  readonly regrindCost: Measured;
  /** Of stacking a tonne away; may be 0. */
  readonly discardCost: Measured;
  /** Share of the free dense grains that the table wins from a rerun, and what is left of that after grinding makes slimes. */
  readonly freeWon: Measured;
  readonly freeWonAfterGrinding: Measured;
  /** Share of what grinding sets free that the table then wins. */
  readonly lockedWonAfterGrinding: Measured;
}

export interface MiddlingDecision {
  readonly choice: MiddlingChoice;
  /** Whether the choice beats the next by two standard errors; always false without prices. */
  readonly sure: boolean;
  /** Money for a tonne of middling each way brings beside discarding it at no cost; null without prices. */
  readonly worth: Readonly<Record<"rerun" | "regrind" | "discard", Measured>> | null;
  readonly because: readonly Told[];
  readonly caution: Told | null;
  readonly basis: readonly Basis[];
}

export interface MiddlingCase {
  readonly test: MiddlingTest;
  /** Metal in the middling and in the tailing, %. */
  readonly gradePercent: Measured;
  readonly tailingPercent: Measured | null;
  /** Dry middling over new feed, 0 to 1, where it is known. */
  readonly shareOfFeed: number | null;
  readonly money: MiddlingMoney | null;
}

/** Wet grinding, guards, the mill's manual. */
const GRIND_CAUTION: Told = { code: "mid.dust", values: {} };
const LOAD: Basis = {
  source: "A returned middling of 10 to 30 % of the new feed is usual on small plants",
  kind: "common practice",
};
const WORTH: Basis = {
  source: "Price of the metal won, less what winning it costs, for a tonne of middling",
  kind: "computed",
};
/** Standard errors that one way must lead the next by, or the middling the tailing. */
const SURE = 2;
/** A returned middling above this share of the feed crowds the table. */
const MOST_LOAD = 0.3;

/**
 * Rerun, regrind or discard the middling?
 *
 * Without prices its kind alone decides, and a middling no richer than the tailing is discarded.
 *
 * @throws {AccountsError} `out-of-range`.
 */
export function decideMiddling({
  test,
  gradePercent,
  tailingPercent,
  shareOfFeed,
  money,
}: MiddlingCase): MiddlingDecision {
  checked("Grade of the middling, %", gradePercent.value, 0, 100);
  const richer = tailingPercent
    ? gradePercent.value - tailingPercent.value > SURE * Math.hypot(gradePercent.error, tailingPercent.error)
    : true;
  const byKind: MiddlingChoice = !richer ? "discard" : BY_KIND[test.kind];
  const priced = money ? byPrice(test, gradePercent, money) : null;
  const choice = priced?.best ?? byKind;
  const load = choice !== "discard" && shareOfFeed !== null && shareOfFeed > MOST_LOAD;
  return {
    choice,
    sure: priced?.sure ?? false,
    worth: priced?.worth ?? null,
    because: [
      ...test.because,
      { code: `mid.kind.${test.kind}`, values: {} },
      ...(richer ? [] : [{ code: "mid.notRicher", values: {} }]),
      ...(priced ? [tellPriced(priced)] : []),
      ...(load ? [{ code: "mid.load", values: { percent: Math.round(100 * shareOfFeed) } }] : []),
    ],
    caution: choice === "regrind" ? GRIND_CAUTION : null,
    basis: [...test.basis, ...(priced ? [WORTH] : []), ...(load ? [LOAD] : [])],
  };
}

const BY_KIND: Record<MiddlingKind, MiddlingChoice> = {
  locked: "regrind",
  misplaced: "rerun",
  mixed: "rerun",
  unsure: "look closer",
};
type Way = "rerun" | "regrind" | "discard";
type Priced = { readonly worth: Readonly<Record<Way, Measured>>; readonly best: Way; readonly sure: boolean };

/** For a tonne of middling. A kind that is not told counts as half locked, give or take a quarter. */
function byPrice({ lockedShare }: MiddlingTest, gradePercent: Measured, money: MiddlingMoney): Priced {
  const { metal, rerunCost, regrindCost, discardCost, freeWon, freeWonAfterGrinding, lockedWonAfterGrinding } = money;
  for (const share of [freeWon, freeWonAfterGrinding, lockedWonAfterGrinding]) checked("Share won", share.value, 0, 1);
  const locked = lockedShare ?? { value: 0.5, error: 0.25 };
  const won = [freeWon, freeWonAfterGrinding, lockedWonAfterGrinding];
  const inputs = [gradePercent, metal, locked, ...won, rerunCost, regrindCost, discardCost];
  const ways = (v: readonly number[]): Record<Way, number> => {
    const [grade, price, l, free, freeGround, setFree, rerun, grind, discard] = v as Nine;
    const inTonne = (grade / 100) * price;
    return {
      rerun: inTonne * (1 - l) * free - rerun,
      regrind: inTonne * ((1 - l) * freeGround + l * setFree) - grind - rerun,
      discard: -discard,
    };
  };
  const of = (way: Way) => propagate(inputs, (v) => ways(v)[way]);
  const worth = { rerun: of("rerun"), regrind: of("regrind"), discard: of("discard") };
  const order = (["rerun", "regrind", "discard"] as const).toSorted((a, b) => worth[b].value - worth[a].value);
  const [best, next] = order as [Way, Way, Way];
  const lead = propagate(inputs, (v) => ways(v)[best] - ways(v)[next]);
  return { worth, best, sure: lead.value > SURE * lead.error };
}
type Nine = [number, number, number, number, number, number, number, number, number];

function tellPriced({ worth, best, sure }: Priced): Told {
  const { value, error } = worth[best];
  const worthIt = { value: Math.round(value), error: Math.max(1, Math.round(error)), unit: "" };
  return { code: `mid.priced.${best}`, values: { worth: worthIt, sure: sure ? "yes" : "no" } };
}
