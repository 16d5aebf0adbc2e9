import { type Deck, DeckFile, type DeckVersion, type NewDeck } from "../../vision/contract/index.ts";
import { RequestError } from "../problems.ts";
import type { Caller } from "./caller.ts";
import type { Db } from "./database.ts";
import { newId, now } from "./naming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "./pages.ts";
import type { Row } from "./tables.ts";

/** Decks of a site; each version of a deck's file stays. */
export class Decks {
  readonly #db: Db;

  constructor(db: Db) {
    this.#db = db;
  }

  async add({ site }: Caller, { name, file }: NewDeck, id = newId()): Promise<Deck> {
    const row: Row<"decks"> = { id, site_id: site, name, version: 1, made_at: now() };
    await this.#db.transaction().execute(async (trx) => {
      await trx
        .insertInto("decks")
        .values(row)
        .onConflict((on) => on.column("id").doNothing())
        .execute();
      await trx
        .insertInto("deck_versions")
        .values(versionRow(row.id, 1, file))
        .onConflict((on) => on.columns(["deck_id", "version"]).doNothing())
        .execute();
    });
    return tell(row, file);
  }

  /**
   * Write the deck's next version.
   *
   * @param from  The version that was looked at when this one was made.
   * @throws {RequestError} `not-found`; `changed` when the deck has another version by now.
   */
  async change(caller: Caller, id: string, { name, file }: NewDeck, from: number): Promise<Deck> {
    return this.#db.transaction().execute(async (trx) => {
      const row = await trx
        .updateTable("decks")
        .set({ name, version: from + 1 })
        .where("site_id", "=", caller.site)
        .where("id", "=", id)
        .where("version", "=", from)
        .returningAll()
        .executeTakeFirst();
      if (!row) {
        const is = await this.one(caller, id, trx); // not-found, where it is not here at all
        throw new RequestError(
          "changed",
          `The deck was changed meanwhile and is at version ${is.version}. Load it again.`,
        );
      }
      await trx
        .insertInto("deck_versions")
        .values(versionRow(id, row.version, file))
        .execute();
      return tell(row, file);
    });
  }

  /** @throws {RequestError} `not-found`. */
  async one({ site }: Caller, id: string, db: Db = this.#db): Promise<Deck> {
    const row = await db
      .selectFrom("decks")
      .selectAll()
      .where("site_id", "=", site)
      .where("id", "=", id)
      .executeTakeFirst();
    if (!row) throw new RequestError("not-found", "There is no such deck here.");
    const { file_json } = await db
      .selectFrom("deck_versions")
      .select("file_json")
      .where("deck_id", "=", id)
      .where("version", "=", row.version)
      .executeTakeFirstOrThrow();
    return tell(row, DeckFile.parse(JSON.parse(file_json)));
  }

  async list({ site }: Caller, ask: Ask): Promise<Page<Omit<Deck, "file">>> {
    const rows = await this.#db
      .selectFrom("decks")
      .selectAll()
      .where("site_id", "=", site)
      .$call(newestFirst(ask, "made_at", "id"))
      .execute();
    return pageOf(
      rows,
      ask,
      (row) => [row.made_at, row.id],
      ({ id, name, version, made_at: madeAt }) => ({ id, name, version, madeAt }),
    );
  }

  /** @throws {RequestError} `not-found`. */
  async versions(caller: Caller, id: string, ask: Ask): Promise<Page<DeckVersion>> {
    await this.one(caller, id);
    const rows = await this.#db
      .selectFrom("deck_versions")
      .selectAll()
      .where("deck_id", "=", id)
      .$call(newestFirst(ask, "made_at", "version"))
      .execute();
    return pageOf(
      rows,
      ask,
      (row) => [row.made_at, String(row.version)],
      ({ version, made_at: madeAt, file_json }) => ({ version, madeAt, file: DeckFile.parse(JSON.parse(file_json)) }),
    );
  }
}

const versionRow = (deck_id: string, version: number, file: DeckFile): Row<"deck_versions"> => ({
  deck_id,
  version,
  file_json: JSON.stringify(file),
  made_at: now(),
});
const tell = ({ id, name, version, made_at: madeAt }: Row<"decks">, file: DeckFile): Deck => ({
  id,
  name,
  version,
  madeAt,
  file,
});
