import type { Measured } from "../process/range.ts";
import { AccountsError } from "./fault.ts";
import { figureOf, type Judged, reconcileAndJudge } from "./gross-errors.ts";
import { countedShare, magnetShare, panCount } from "./hand-checks.ts";
import {
  decideMiddling,
  type MiddlingDecision,
  type MiddlingFraction,
  type MiddlingMoney,
  type MiddlingTest,
  testMiddling,
} from "./middling.ts";
import type { Reconciled } from "./reconcile.ts";
import { figuresOfRun, type RunFigures, UsualErrors } from "./run-figures.ts";
import type { Figure, PriceName, RunRecord, RunSample } from "./run-record.ts";
import { metalPercent, separationOf } from "./separation.ts";
import { sayVerdict } from "./verdict.ts";
import { waterBalance } from "./water-balance.ts";

/** What one stream that leaves holds, beside all that was fed; null where the figures do not tell it. */
export interface ProductAccount {
  readonly stream: string;
  /** Of the dry feed, 0 to 1. */
  readonly share: Measured | null;
  readonly metals: readonly MetalAccount[];
}
export interface MetalAccount {
  readonly metal: string;
  readonly gradePercent: Measured | null;
  /** Of the metal fed, 0 to 1. */
  readonly recovery: Measured | null;
  /** Grade over that of the feed. */
  readonly enrichment: Measured | null;
  /** Recovery of the mineral less that of the gangue, 0 to 1; for the dense product's main metal where its mineral is told. */
  readonly separation: Measured | null;
}

/** A quick check by hand, with the interval that holds the truth 19 times of 20 where it is a count. */
export interface HandCheck {
  readonly stream: string;
  readonly what: string;
  readonly found: Measured;
  readonly from: number | null;
  readonly to: number | null;
  readonly unit: "%" | "grains/kg" | "grains";
}

export interface RunAccounts {
  readonly run: Pick<RunRecord, "name" | "site" | "material" | "startedAt" | "endedAt">;
  readonly unit: RunFigures["unit"];
  readonly judged: Judged;
  readonly verdict: readonly string[];
  readonly products: readonly ProductAccount[];
  readonly water: { readonly judged: Judged; readonly verdict: readonly string[]; readonly unit: string } | null;
  readonly middling: {
    readonly stream: string;
    readonly test: MiddlingTest;
    readonly decision: MiddlingDecision;
  } | null;
  readonly checks: readonly HandCheck[];
  /** What a reader should know of these figures: errors that were taken, what is wanting. */
  readonly notes: readonly string[];
}

/**
 * A run's samples → balance, products, water, middling and hand checks, each with its error.
 *
 * @throws {AccountsError} when the samples do not suffice for a balance; the message says what to add or correct.
 */
export function accountFor(run: RunRecord): RunAccounts {
  const usual = new UsualErrors();
  const metal = mainMetal(run);
  const figures = figuresOfRun(run, usual);
  const judged = reconcileAndJudge(figures.streams);
  const water = waterOf(run, figures, judged, usual);
  const middling = middlingOf(run, judged.after, metal, usual);
  return {
    run: { name: run.name, site: run.site, material: run.material, startedAt: run.startedAt, endedAt: run.endedAt },
    unit: figures.unit,
    judged,
    verdict: sayVerdict(judged, figures.unit),
    products: productsOf(run, judged.after, metal),
    water: water.account,
    middling: middling.account,
    checks: checksOf(run, usual),
    notes: [...figures.notes, ...water.notes, ...middling.notes, ...usual.say()],
  };
}

/** The metal the run is for. */
function mainMetal(run: RunRecord): string | null {
  const assayed = run.samples.flatMap(({ kind, figures }) => (kind === "assay" ? Object.keys(figures) : []));
  if (run.metal && !assayed.includes(run.metal)) {
    throw new AccountsError(
      "too-few",
      `The run is for ${run.metal}, which was not assayed. Correct the metal or add its assays.`,
    );
  }
  return run.metal || (assayed[0] ?? null);
}

const isFeed = ({ from, to }: { from: string | null; to: string | null }) => from === null && to !== null;
const isProduct = ({ from, to }: { from: string | null; to: string | null }) => from !== null && to === null;

function productsOf(run: RunRecord, balance: Reconciled, main: string | null): ProductAccount[] {
  const feeds = balance.streams.filter(isFeed).map(({ name }) => name);
  const metals = Object.keys(balance.streams[0]?.assays ?? {});
  type Read = Parameters<Parameters<Reconciled["derive"]>[0]>[0];
  const fed = (read: Read) => feeds.reduce((sum, feed) => sum + read(feed, null), 0);
  const metalFed = (read: Read, metal: string) =>
    feeds.reduce((sum, feed) => sum + read(feed, null) * read(feed, metal), 0);
  if (feeds.length === 0) return [];
  return balance.streams.filter(isProduct).map(({ name }) => {
    const dense = run.streams.find((stream) => stream.name === name)?.product === "dense";
    const pure = dense && run.mineral ? metalPercent(run.mineral) : null;
    const share = (read: Read) => read(name, null) / fed(read);
    return {
      stream: name,
      share: balance.derive(share),
      metals: metals.map((metal) => {
        const grade = (read: Read) => metalFed(read, metal) / fed(read);
        return {
          metal,
          gradePercent: balance.derive((read) => read(name, metal)),
          recovery: balance.derive((read) => (share(read) * read(name, metal)) / grade(read)),
          enrichment: balance.derive((read) => read(name, metal) / grade(read)),
          separation:
            pure !== null && metal === main && (figureOf(balance, name, metal).value ?? pure) < pure
              ? balance.derive((read) => separationOf(grade(read), read(name, metal), share(read), pure))
              : null,
        };
      }),
    };
  });
}

/**
 * Water of the streams that were caught wet, with what the valves gave; null where fewer than two were measured. What was
 * caught wet less the balanced solids is water, so that solids weighed wrongly do not make water.
 */
function waterOf(run: RunRecord, { streams, unit }: RunFigures, { after, misfits }: Judged, usual: UsualErrors) {
  const beside = ({ name, mass, water }: RunFigures["streams"][number]): Measured | null => {
    const solids = figureOf(after, name, null);
    if (!water || !mass || solids.value === null) return water;
    const wrong = misfits.some(({ stream, assay }) => stream === name && assay === null);
    return {
      value: water.value + mass.value - solids.value,
      error: Math.hypot(water.error, wrong ? (solids.error ?? 0) : 0),
    };
  };
  const caught = streams.filter(({ water }) => water !== null);
  if (unit === "of the feed" || caught.length === 0) return { account: null, notes: [] };
  const hours = run.hours?.value ?? 1;
  const [feed] = streams.filter(isFeed);
  const nodes = [...new Set(streams.flatMap(({ from, to }) => [from, to]))].filter((node) => node !== null);
  const notes: string[] = [];
  const valves = (["wash water", "feed water"] as const).flatMap((control) => {
    const set = run.settings.filter((setting) => setting.control === control);
    // water that was caught with the feed is in its cut already
    if (set.length === 0 || (control === "feed water" && feed?.water)) return [];
    const changed = run.changes.some((change) => change.control === control);
    if (changed) notes.push(`The ${control} was changed during the run, so its amount is left to the balance.`);
    return set.map(({ target, figure }) => {
      const perMinute = usual.of(figure, "settings");
      const times = 60 * hours;
      const to = nodes.includes(target) ? target : (feed?.to ?? nodes[0] ?? null);
      const water = changed ? null : { value: perMinute.value * times, error: perMinute.error * times };
      return { name: set.length > 1 ? `${control} to ${to}` : control, from: null, to, water };
    });
  });
  const all = [
    ...streams.map((stream) => ({ name: stream.name, from: stream.from, to: stream.to, water: beside(stream) })),
    ...valves,
  ];
  if (all.filter(({ water }) => water !== null).length < 2) return { account: null, notes };
  const judged = waterBalance(all);
  const litres = unit === "kg" ? "L" : "L/h";
  return { account: { judged, verdict: sayVerdict(judged, litres, "water"), unit: litres }, notes };
}

function middlingOf(run: RunRecord, balance: Reconciled, metal: string | null, usual: UsualErrors) {
  const stream = run.streams.find(({ product }) => product === "middling")?.name;
  if (!stream || metal === null) return { account: null, notes: [] };
  const own = run.samples.filter((sample) => sample.stream === stream);
  const fractions = own.filter(({ kind }) => kind === "fraction").map((sample) => fractionOf(sample, metal, usual));
  const counts = own.filter(({ kind }) => kind === "count").map(countOf);
  const grade = figureOf(balance, stream, metal);
  if (fractions.length + counts.length === 0 || grade.value === null) {
    return { account: null, notes: ["To decide about the middling, assay it, and screen it or count grains of it."] };
  }
  const test = testMiddling([...fractions, ...counts]);
  const light = run.streams.find(({ product }) => product === "light")?.name;
  const tailing = light ? figureOf(balance, light, metal) : null;
  const feeds = balance.streams.filter(isFeed).map(({ name }) => name);
  const share = balance.derive((read) => read(stream, null) / feeds.reduce((sum, feed) => sum + read(feed, null), 0));
  const { money, notes } = moneyOf(run.prices, usual);
  const decision = decideMiddling({
    test,
    gradePercent: { value: grade.value, error: grade.error ?? 0 },
    tailingPercent: tailing?.value != null ? { value: tailing.value, error: tailing.error ?? 0 } : null,
    shareOfFeed: share?.value ?? null,
    money,
  });
  return { account: { stream, test, decision }, notes };
}

function fractionOf(
  { stream, sample, sizeMm, figures }: RunSample,
  metal: string,
  usual: UsualErrors,
): MiddlingFraction {
  const { mass, [metal]: grade, "free dense": freeDense, "free light": freeLight, locked } = figures;
  if (!mass)
    throw new AccountsError("too-few", `Fraction ${sample} of ${stream} has no mass: add a row with item mass.`);
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

/** Null until metal, rerun and regrind have a price; with what was taken for shares that nobody told. */
function moneyOf(prices: Partial<Record<PriceName, Figure>>, usual: UsualErrors) {
  const { metal, rerun, regrind, discard } = prices;
  if (!metal || !rerun || !regrind) return { money: null, notes: [] };
  const untold = (Object.keys(USUAL_WON) as (keyof typeof USUAL_WON)[]).filter((name) => !prices[name]);
  const taken = untold.map((name) => `${name} ${USUAL_WON[name]} %`).join(", ");
  const won = (name: keyof typeof USUAL_WON): Measured => {
    const { value, error } = usual.of(prices[name] ?? { value: USUAL_WON[name], error: null }, "shares won");
    return { value: value / 100, error: error / 100 };
  };
  const money: MiddlingMoney = {
    metal: usual.of(metal, "prices"),
    rerunCost: usual.of(rerun, "prices"),
    regrindCost: usual.of(regrind, "prices"),
    discardCost: discard ? usual.of(discard, "prices") : { value: 0, error: 0 },
    freeWon: won("free won"),
    freeWonAfterGrinding: won("free won ground"),
    lockedWonAfterGrinding: won("locked won ground"),
  };
  const notes =
    untold.length > 0 ? [`Taken for the middling's worth, since nobody measured it: ${taken} (judgement).`] : [];
  return { money, notes };
}

function checksOf(run: RunRecord, usual: UsualErrors): HandCheck[] {
  const percent = ({ value, error }: Measured) => ({ value: 100 * value, error: 100 * error });
  return run.streams.flatMap(({ name: stream }): HandCheck[] => {
    const of = (kind: RunSample["kind"]) => run.samples.filter((one) => one.stream === stream && one.kind === kind);
    const tries = of("magnet").flatMap(({ figures: { held, charge } }) =>
      held && charge ? [{ heldGrams: usual.of(held, "masses"), chargeGrams: usual.of(charge, "masses") }] : [],
    );
    const magnetic = tries.length > 0 ? percent(magnetShare(tries)) : null;
    const counts = of("count").flatMap(({ figures }) => {
      const all = Object.values(figures).reduce((sum, { value }) => sum + value, 0);
      return Object.entries(figures).map(([kind, { value }]): HandCheck => {
        const share = countedShare(value, all);
        const found = percent(share);
        return { stream, what: `${kind} grains`, found, from: 100 * share.from, to: 100 * share.to, unit: "%" };
      });
    });
    const pans = of("pan").flatMap(({ figures: { grains, panned } }): HandCheck[] => {
      if (!grains) return [];
      const count = panCount(grains.value);
      const kg = panned ? panned.value : 1;
      const found = { value: count.value / kg, error: count.error / kg };
      return [
        { stream, what: "pan", found, from: count.from / kg, to: count.to / kg, unit: panned ? "grains/kg" : "grains" },
      ];
    });
    return [
      ...(magnetic ? [{ stream, what: "magnet", found: magnetic, from: null, to: null, unit: "%" } as const] : []),
      ...counts,
      ...pans,
    ];
  });
}
