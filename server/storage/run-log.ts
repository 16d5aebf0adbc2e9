import { entryFault, type RunHead, runOf } from "../../vision/accounts/index.ts";
import { type NewRunLogEntry, RunEntry, type RunLogEntry, type RunRecord } from "../../vision/contract/index.ts";
import { RequestError } from "../problems.ts";
import type { Caller } from "./caller.ts";
import type { Db, Trx } from "./database.ts";
import { newId, now } from "./naming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "./pages.ts";
import type { Row } from "./tables.ts";

/** More is no run of one table. */
const MOST_ENTRIES = 20_000;
/** Rows written in one statement: SQLite takes so many values and no more. */
const ROWS_AT_ONCE = 500;

/** What was written down of a run, and how often. */
export interface LoggedRun {
  readonly record: RunRecord;
  /** Entries so far; what a change must name that rests on all of them. */
  readonly version: number;
}

/** What people wrote down of runs: entry after entry, none ever changed. */
export class RunLogs {
  readonly #db: Db;

  constructor(db: Db) {
    this.#db = db;
  }

  /**
   * Write one thing down, or correct or withdraw what was written.
   *
   * @throws {RequestError} `not-found`; `changed` when somebody else corrected the same entry before; `body-wrong`.
   */
  async add(caller: Caller, run: string, { entry, replaces }: NewRunLogEntry, id = newId()): Promise<RunLogEntry> {
    checkEntry(entry);
    return this.#db.transaction().execute(async (trx) => {
      const known = await trx.selectFrom("run_entries").selectAll().where("id", "=", id).executeTakeFirst();
      if (known?.site_id === caller.site) return tell({ ...known, replaced_by: null });
      const number = await next(trx, caller, run, 1);
      if (replaces !== null) await checkFree(trx, run, replaces);
      if (entry !== null) checkOnce(await liveEntries(trx, run), entry, replaces);
      const row = { ...rowOf(caller, run, number, entry, replaces), id };
      await trx.insertInto("run_entries").values(row).execute();
      return tell({ ...row, replaced_by: null });
    });
  }

  /** @throws {RequestError} `not-found`. */
  async list(caller: Caller, run: string, ask: Ask): Promise<Page<RunLogEntry>> {
    await head(this.#db, caller, run);
    const rows = await this.#db
      .selectFrom("run_entries")
      .leftJoin("run_entries as later", "later.replaces", "run_entries.id")
      .selectAll("run_entries")
      .select("later.id as replaced_by")
      .where("run_entries.run_id", "=", run)
      .$call(newestFirst(ask, "run_entries.at", "run_entries.id"))
      .execute();
    return pageOf(rows, ask, (row) => [row.at, row.id], tell);
  }

  /** All that counts now, as one record. @throws {RequestError} `not-found`. */
  async record(caller: Caller, run: string): Promise<LoggedRun> {
    return this.#db.transaction().execute(async (trx) => {
      const { about, version } = await head(trx, caller, run);
      const live = await liveEntries(trx, run);
      return {
        record: runOf(
          about,
          live.map(({ entry }) => entry),
        ),
        version,
      };
    });
  }

  /**
   * Have the run say what these entries say: those that say it already stay, others are withdrawn, new ones are added.
   *
   * @param from  How many entries there were when these were made.
   * @returns how many there are now.
   * @throws {RequestError} `not-found`; `changed` when something was written down meanwhile.
   */
  async rewrite(caller: Caller, run: string, from: number, entries: readonly RunEntry[]): Promise<number> {
    for (const entry of entries) checkEntry(entry);
    return this.#db.transaction().execute(async (trx) => {
      const { version } = await head(trx, caller, run);
      const live = await liveEntries(trx, run);
      const wanted = new Map(entries.map((entry) => [sameAs(entry), entry]));
      const gone = live.filter(({ entry }) => !wanted.delete(sameAs(entry)));
      const rows = [
        ...gone.map(({ id }) => ({ entry: null, replaces: id })),
        ...[...wanted.values()].map((entry) => ({ entry, replaces: null })),
      ];
      if (version !== from) throw addedTo(version);
      if (rows.length === 0) return version;
      const first = await next(trx, caller, run, rows.length, from);
      const all = rows.map(({ entry, replaces }, i) => rowOf(caller, run, first + i, entry, replaces));
      for (let i = 0; i < all.length; i += ROWS_AT_ONCE) {
        await trx
          .insertInto("run_entries")
          .values(all.slice(i, i + ROWS_AT_ONCE))
          .execute();
      }
      return first + rows.length - 1;
    });
  }
}

interface Live {
  readonly id: string;
  readonly entry: RunEntry;
}

/** Entries that nothing replaces, in the order in which they came; a correction stands where the corrected one stood. */
async function liveEntries(db: Db | Trx, run: string): Promise<Live[]> {
  const rows = await db
    .selectFrom("run_entries")
    .select(["id", "number", "entry_json", "replaces"])
    .where("run_id", "=", run)
    .orderBy("number")
    .execute();
  const places = new Map<string, number>();
  const live = new Map<number, Live | null>();
  for (const { id, number, entry_json, replaces } of rows) {
    const place = (replaces !== null && places.get(replaces)) || number;
    places.set(id, place);
    live.set(place, entry_json === null ? null : { id, entry: RunEntry.parse(JSON.parse(entry_json)) });
  }
  return [...live.values()].filter((one) => one !== null);
}

/**
 * Count so many entries more.
 *
 * @param from  How many there must be before, where that matters.
 * @returns the first one's number.
 * @throws {RequestError} `not-found`; `changed`; `body-wrong` for too many.
 */
async function next(trx: Trx, { site }: Caller, run: string, count: number, from?: number): Promise<number> {
  const row = await trx
    .updateTable("runs")
    .set((is) => ({ log: is("log", "+", count) }))
    .where("site_id", "=", site)
    .where("id", "=", run)
    .$if(from !== undefined, (query) => query.where("log", "=", from!))
    .returning("log")
    .executeTakeFirst();
  if (!row) throw from === undefined ? notHere() : addedTo(null);
  if (row.log > MOST_ENTRIES) {
    throw new RequestError("body-wrong", `A run has at most ${MOST_ENTRIES} entries. Start another run.`);
  }
  return row.log - count + 1;
}

async function head(db: Db | Trx, { site }: Caller, run: string): Promise<{ about: RunHead; version: number }> {
  const row = await db
    .selectFrom("runs")
    .innerJoin("sites", "sites.id", "runs.site_id")
    .select(["runs.name", "runs.material", "runs.started_at", "runs.ended_at", "runs.log", "sites.name as site"])
    .where("runs.site_id", "=", site)
    .where("runs.id", "=", run)
    .executeTakeFirst();
  if (!row) throw notHere();
  const seconds = (time: string) => time.replace(/\.\d+Z$/, "Z");
  return {
    version: row.log,
    about: {
      name: row.name.slice(0, 120),
      site: row.site.slice(0, 120),
      material: row.material?.slice(0, 120) ?? "",
      startedAt: seconds(row.started_at),
      endedAt: row.ended_at && seconds(row.ended_at),
    },
  };
}

/** @throws {RequestError} `not-found` for an entry that is not of this run; `changed` for one that was replaced. */
async function checkFree(trx: Trx, run: string, id: string): Promise<void> {
  const row = await trx
    .selectFrom("run_entries")
    .leftJoin("run_entries as later", "later.replaces", "run_entries.id")
    .select(["later.id as later"])
    .where("run_entries.run_id", "=", run)
    .where("run_entries.id", "=", id)
    .executeTakeFirst();
  if (!row) throw new RequestError("not-found", "There is no such entry of this run.");
  if (row.later !== null) {
    throw new RequestError("changed", "This entry was corrected or withdrawn meanwhile. Load the run again.");
  }
}

/** Fractions are named by their openings, so that two alike are one written down twice. @throws {RequestError} `taken`. */
function checkOnce(live: readonly Live[], entry: RunEntry, replaces: string | null): void {
  if (entry.kind !== "sample" || entry.sample.kind !== "fraction") return;
  const { stream, sample, figures } = entry.sample;
  const there = live.find(
    ({ id, entry: other }) =>
      id !== replaces &&
      other.kind === "sample" &&
      other.sample.kind === "fraction" &&
      other.sample.stream === stream &&
      other.sample.sample === sample &&
      Object.keys(figures).some((name) => name in other.sample.figures),
  );
  if (there)
    throw new RequestError("taken", `Fraction ${sample} of ${stream} is written down already. Correct that one.`);
}

function checkEntry(entry: RunEntry | null): void {
  const fault = entry && entryFault(entry);
  if (fault) throw new RequestError("body-wrong", `This cannot be written down: ${fault}`);
}

/** Entries that say the same are the same text, in whatever order their figures came. */
const sameAs = (entry: RunEntry) =>
  JSON.stringify(entry, (_name, value: unknown) =>
    typeof value === "object" && value !== null && !Array.isArray(value)
      ? Object.fromEntries(Object.entries(value).toSorted(([a], [b]) => (a < b ? -1 : 1)))
      : value,
  );

const rowOf = (
  { site, person }: Caller,
  run: string,
  number: number,
  entry: RunEntry | null,
  replaces: string | null,
): Row<"run_entries"> => ({
  id: newId(),
  site_id: site,
  run_id: run,
  person_id: person,
  number,
  at: now(),
  entry_json: entry && JSON.stringify(entry),
  replaces,
});

const tell = (row: Row<"run_entries"> & { replaced_by: string | null }): RunLogEntry => ({
  id: row.id,
  at: row.at,
  person: row.person_id,
  entry: row.entry_json === null ? null : RunEntry.parse(JSON.parse(row.entry_json)),
  replaces: row.replaces,
  replacedBy: row.replaced_by,
});

const addedTo = (version: number | null) =>
  new RequestError(
    "changed",
    `The run was added to meanwhile${version === null ? "" : ` and has ${version} entries`}. Load its sheet again, and change that one.`,
  );
const notHere = () => new RequestError("not-found", "There is no such run here.");
