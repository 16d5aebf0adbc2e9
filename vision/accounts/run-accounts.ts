import type { RunRecord, Told } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import { said } from "../said.ts";
import { isFeed, isProduct, nodesOf } from "./balances.ts";
import { AccountsError } from "./fault.ts";
import { figureOf, type Judged, reconcileAndJudge } from "./gross-errors.ts";
import type { Reconciled } from "./reconcile.ts";
import { checksOf, type HandCheck } from "./run-checks.ts";
import { figuresOfRun, type RunFigures, UsualErrors } from "./run-figures.ts";
import { type MiddlingAccount, middlingOf } from "./run-middling.ts";
import { metalPercent, separationOf } from "./separation.ts";
import { verdictOf } from "./verdict.ts";
import { waterBalance } from "./water-balance.ts";

/** What one stream that leaves holds, beside all that was fed; null where the figures do not tell it. */
export interface ProductAccount {
  readonly stream: string;
  /** Of the dry feed, 0 to 1. */
  readonly share: Measured | null;
  /** Ratio of concentration: kg of dry feed for each kg; null where the share may as well be nothing. */
  readonly ratio: Measured | null;
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

export interface RunAccounts {
  readonly run: Pick<RunRecord, "name" | "site" | "material" | "startedAt" | "endedAt">;
  readonly unit: RunFigures["unit"];
  readonly judged: Judged;
  readonly verdict: readonly Told[];
  readonly products: readonly ProductAccount[];
  readonly water: { readonly judged: Judged; readonly verdict: readonly Told[]; readonly unit: string } | null;
  readonly middling: MiddlingAccount | null;
  readonly checks: readonly HandCheck[];
  /** What a reader should know of these figures: errors that were taken, what is wanting. */
  readonly notes: readonly Told[];
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
    verdict: verdictOf(judged, figures.unit),
    products: productsOf(run, judged.after, metal),
    water: water.account,
    middling: middling.account,
    checks: checksOf(run, usual),
    notes: [...figures.notes, ...water.notes, ...middling.notes, ...usual.say()],
  };
}

/** The metal the run is for. */
export function mainMetal(run: RunRecord): string | null {
  const assayed = run.samples.flatMap(({ kind, figures }) => (kind === "assay" ? Object.keys(figures) : []));
  if (run.metal && !assayed.includes(run.metal)) {
    throw new AccountsError("too-few", said("said.runs.metalNotAssayed", { metal: run.metal }));
  }
  return run.metal || (assayed[0] ?? null);
}

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
    const ofFeed = balance.derive(share);
    return {
      stream: name,
      share: ofFeed,
      ratio: ofFeed && isSomething(ofFeed) ? balance.derive((read) => 1 / share(read)) : null,
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

/** Whether a share lies clear of nothing, by two standard errors: closer by, its reciprocal has no upper end. */
const isSomething = ({ value, error }: Measured) => value > 2 * error;

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
  const nodes = nodesOf(streams);
  const notes: Told[] = [];
  const valves = (["wash water", "feed water"] as const).flatMap((control) => {
    const set = run.settings.filter((setting) => setting.control === control);
    // water that was caught with the feed is in its cut already
    if (set.length === 0 || (control === "feed water" && feed?.water)) return [];
    const changed = run.changes.some((change) => change.control === control);
    if (changed) notes.push({ code: "note.waterChanged", values: { control } });
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
  return { account: { judged, verdict: verdictOf(judged, litres, "water"), unit: litres }, notes };
}
