import type { Figure, PriceName, RunRecord, RunSample, Told } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import { said } from "../said.ts";
import { isFeed } from "./balances.ts";
import { paidPerTonne, TERM_NAMES, termsOf } from "./buyer.ts";
import { AccountsError } from "./fault.ts";
import { figureOf } from "./gross-errors.ts";
import { decideMiddling, type MiddlingDecision, type MiddlingMoney } from "./middling-decision.ts";
import { type MiddlingFraction, type MiddlingTest, testMiddling } from "./middling-kind.ts";
import { propagate } from "./propagate.ts";
import type { Reconciled } from "./reconcile.ts";
import type { UsualErrors } from "./run-figures.ts";

export interface MiddlingAccount {
  readonly stream: string;
  readonly test: MiddlingTest;
  readonly decision: MiddlingDecision;
}

/** Judge a run's middling; with what is wanting where that cannot be done, and what was taken. */
export function middlingOf(run: RunRecord, balance: Reconciled, metal: string | null, usual: UsualErrors) {
  const stream = run.streams.find(({ product }) => product === "middling")?.name;
  if (!stream || metal === null) return { account: null, notes: [] };
  const own = run.samples.filter((sample) => sample.stream === stream);
  const fractions = own.filter(({ kind }) => kind === "fraction").map((sample) => fractionOf(sample, metal, usual));
  const counts = own.filter(({ kind }) => kind === "count").map(countOf);
  const grade = figureOf(balance, stream, metal);
  if (fractions.length + counts.length === 0 || grade.value === null) {
    return { account: null, notes: [{ code: "note.middlingWanted", values: {} }] };
  }
  const test = testMiddling([...fractions, ...counts]);
  const light = run.streams.find(({ product }) => product === "light")?.name;
  const tailing = light ? figureOf(balance, light, metal) : null;
  const feeds = balance.streams.filter(isFeed).map(({ name }) => name);
  const share = balance.derive((read) => read(stream, null) / feeds.reduce((sum, feed) => sum + read(feed, null), 0));
  const { money, notes } = moneyOf(run.prices, usual, netOfCharges(run, balance, metal, usual));
  const decision = decideMiddling({
    test,
    gradePercent: { value: grade.value, error: grade.error ?? 0 },
    tailingPercent: tailing?.value != null ? { value: tailing.value, error: tailing.error ?? 0 } : null,
    shareOfFeed: share?.value ?? null,
    money,
  });
  return { account: { stream, test, decision }, notes };
}

/**
 * What a tonne of metal brings in the dense product after its buyer's charges; undefined where no terms are told, or the
 * dense product was not assayed: then the price is taken for what one is paid.
 */
function netOfCharges(run: RunRecord, balance: Reconciled, metal: string, usual: UsualErrors): Measured | undefined {
  const { prices, penalties, streams } = run;
  const dense = streams.find(({ product }) => product === "dense")?.name;
  if (!prices.metal || !dense || !(prices.payable || prices.deduction || prices.treatment)) return undefined;
  const { value, error } = figureOf(balance, dense, metal);
  if (value === null || value <= 0) return undefined;
  const names = TERM_NAMES.filter((name) => prices[name]);
  const inputs = [{ value, error: error ?? 0 }, ...names.map((name) => usual.of(prices[name]!, "prices"))];
  return propagate(inputs, ([grade, ...told]) => {
    const drawn = Object.fromEntries(names.map((name, i) => [name, { value: told[i]!, error: null }]));
    const others = Object.keys(penalties).map((name) => [name, figureOf(balance, dense, name).value ?? 0] as const);
    const paid = paidPerTonne(termsOf(drawn, penalties), Math.min(100, grade!), Object.fromEntries(others));
    return Math.max(0, (100 * paid) / grade!);
  });
}

function fractionOf(
  { stream, sample, sizeMm, figures }: RunSample,
  metal: string,
  usual: UsualErrors,
): MiddlingFraction {
  const { mass, [metal]: grade, "free dense": freeDense, "free light": freeLight, locked } = figures;
  if (!mass) throw new AccountsError("too-few", said("said.runs.fractionNoMass", { sample, stream }));
  const counted = freeDense || freeLight || locked;
  return {
    sizeMm: sizeMm ?? [0, 1],
    mass: usual.of(mass, "masses"),
    grade: grade ? usual.of(grade, "assays") : null,
    grains: counted
      ? { freeDense: freeDense?.value ?? 0, freeLight: freeLight?.value ?? 0, locked: locked?.value ?? 0 }
      : null,
  };
}

/** Grains of the middling as it is, unscreened. */
const countOf = ({ figures }: RunSample): MiddlingFraction => ({
  sizeMm: [0, 1],
  mass: { value: 1, error: 0 },
  grade: null,
  grains: {
    freeDense: figures["free dense"]?.value ?? 0,
    freeLight: figures["free light"]?.value ?? 0,
    locked: figures.locked?.value ?? 0,
  },
});

/** Shares that a rerun wins where nobody measured them, %: judgement. */
const USUAL_WON = { "free won": 70, "free won ground": 60, "locked won ground": 55 } as const;

export type WonShares = Pick<MiddlingMoney, "freeWon" | "freeWonAfterGrinding" | "lockedWonAfterGrinding">;

/** Null until metal, rerun and regrind have a price; with what was taken for shares that nobody told. */
export function moneyOf(prices: Partial<Record<PriceName, Figure>>, usual: UsualErrors, metal?: Measured) {
  const { rerun, regrind, discard } = prices;
  const untold = (Object.keys(USUAL_WON) as (keyof typeof USUAL_WON)[]).filter((name) => !prices[name]);
  const won = (name: keyof typeof USUAL_WON): Measured => {
    const { value, error } = usual.of(prices[name] ?? { value: USUAL_WON[name], error: null }, "shares won");
    return { value: value / 100, error: error / 100 };
  };
  const shares: WonShares = {
    freeWon: won("free won"),
    freeWonAfterGrinding: won("free won ground"),
    lockedWonAfterGrinding: won("locked won ground"),
  };
  if (!prices.metal || !rerun || !regrind) return { won: shares, money: null, notes: [] };
  const money: MiddlingMoney = {
    ...shares,
    metal: metal ?? usual.of(prices.metal, "prices"),
    rerunCost: usual.of(rerun, "prices"),
    regrindCost: usual.of(regrind, "prices"),
    discardCost: discard ? usual.of(discard, "prices") : { value: 0, error: 0 },
  };
  const notes = untold.map((name): Told => ({ code: `taken.${name}`, values: { percent: USUAL_WON[name] } }));
  return { won: shares, money, notes };
}
