import {
  type NewRun,
  type Run,
  type RunChange,
  type SettingsEntry,
  SettingsFile,
} from "../../vision/contract/index.ts";
import { RequestError } from "../problems.ts";
import type { Caller } from "./caller.ts";
import type { Db } from "./database.ts";
import { newId, now } from "./naming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "./pages.ts";
import type { Row } from "./tables.ts";

/** Runs of a site, with what the controls stood at. */
export class Runs {
  readonly #db: Db;

  constructor(db: Db) {
    this.#db = db;
  }

  /** @throws {RequestError} `not-found` for a deck that this site does not have. */
  async add({ site }: Caller, { name, deck, material, startedAt }: NewRun, id = newId()): Promise<Run> {
    if (deck !== null) {
      const query = this.#db.selectFrom("decks").select("id").where("site_id", "=", site).where("id", "=", deck);
      if (!(await query.executeTakeFirst())) throw new RequestError("not-found", "There is no such deck here.");
    }
    const times = { started_at: startedAt ?? now(), ended_at: null };
    const row: Row<"runs"> = { id, site_id: site, deck_id: deck, name, material, ...times, log: 0 };
    await this.#db
      .insertInto("runs")
      .values(row)
      .onConflict((on) => on.column("id").doNothing())
      .execute();
    return tell(row);
  }

  /** @throws {RequestError} `not-found`. */
  async change({ site }: Caller, id: string, { name, material, endedAt }: RunChange): Promise<Run> {
    const set = {
      ...(name !== undefined && { name }),
      ...(material !== undefined && { material }),
      ...(endedAt !== undefined && { ended_at: endedAt }),
    };
    if (Object.keys(set).length === 0) return this.one({ site }, id);
    const row = await this.#db
      .updateTable("runs")
      .set(set)
      .where("site_id", "=", site)
      .where("id", "=", id)
      .returningAll()
      .executeTakeFirst();
    return tell(found(row));
  }

  /** @throws {RequestError} `not-found`. */
  async one({ site }: Pick<Caller, "site">, id: string): Promise<Run> {
    const query = this.#db.selectFrom("runs").selectAll().where("site_id", "=", site).where("id", "=", id);
    return tell(found(await query.executeTakeFirst()));
  }

  async list({ site }: Caller, ask: Ask): Promise<Page<Run>> {
    const rows = await this.#db
      .selectFrom("runs")
      .selectAll()
      .where("site_id", "=", site)
      .$call(newestFirst(ask, "started_at", "id"))
      .execute();
    return pageOf(rows, ask, (row) => [row.started_at, row.id], tell);
  }

  /** The latest runs of a deck, or of no deck that is kept. */
  async ofDeck({ site }: Caller, deck: string | null, most: number): Promise<Run[]> {
    const rows = await this.#db
      .selectFrom("runs")
      .selectAll()
      .where("site_id", "=", site)
      .where("deck_id", deck === null ? "is" : "=", deck)
      .orderBy("started_at", "desc")
      .limit(most)
      .execute();
    return rows.map(tell);
  }

  /** @throws {RequestError} `not-found` for a run that is not here. */
  async addSettings(
    caller: Caller,
    run: string,
    settings: SettingsFile,
    at = now(),
    id = newId(),
  ): Promise<SettingsEntry> {
    await this.one(caller, run);
    const row = { id, site_id: caller.site, run_id: run, person_id: caller.person, at };
    await this.#db
      .insertInto("settings")
      .values({ ...row, settings_json: JSON.stringify(settings) })
      .onConflict((on) => on.column("id").doNothing())
      .execute();
    return { id, at, person: caller.person, settings };
  }

  /** @throws {RequestError} `not-found` for a run that is not here. */
  async settings(caller: Caller, run: string, ask: Ask): Promise<Page<SettingsEntry>> {
    await this.one(caller, run);
    const rows = await this.#db
      .selectFrom("settings")
      .selectAll()
      .where("run_id", "=", run)
      .$call(newestFirst(ask, "at", "id"))
      .execute();
    return pageOf(
      rows,
      ask,
      (row) => [row.at, row.id],
      ({ id, at, person_id: person, settings_json }) => {
        return { id, at, person, settings: SettingsFile.parse(JSON.parse(settings_json)) };
      },
    );
  }
}

function found(row: Row<"runs"> | undefined): Row<"runs"> {
  if (!row) throw new RequestError("not-found", "There is no such run here.");
  return row;
}

const tell = (row: Row<"runs">): Run => ({
  id: row.id,
  name: row.name,
  deck: row.deck_id,
  material: row.material,
  startedAt: row.started_at,
  endedAt: row.ended_at,
});
