import type { Share } from "../../vision/contract/index.ts";
import { digestOf, newToken } from "../people/tokens.ts";
import { RequestError } from "../problems.ts";
import type { Caller } from "./caller.ts";
import type { Db } from "./database.ts";
import { inMs, newId, now } from "./naming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "./pages.ts";
import type { Row } from "./tables.ts";

const DAY_MS = 24 * 60 * 60 * 1000;
type Told = Pick<Row<"shares">, "id" | "reading_id" | "made_at" | "expires_at">;

/** Readings shown to people outside, one a link. */
export class Shares {
  readonly #db: Db;

  constructor(db: Db) {
    this.#db = db;
  }

  /** @throws {RequestError} `not-found` for a reading that this site does not have. */
  async add({ site, person }: Caller, reading: string, days: number, id = newId()): Promise<Share & { token: string }> {
    const here = await this.#db
      .selectFrom("readings")
      .select("id")
      .where("site_id", "=", site)
      .where("id", "=", reading)
      .executeTakeFirst();
    if (!here) throw new RequestError("not-found", "There is no such reading here.");
    const { token, digest } = newToken();
    const row = { id, reading_id: reading, made_at: now(), expires_at: inMs(days * DAY_MS) };
    await this.#db
      .insertInto("shares")
      .values({ ...row, site_id: site, person_id: person, token_sha256: digest })
      .execute();
    return { ...tell(row), token };
  }

  async list({ site }: Caller, ask: Ask): Promise<Page<Share>> {
    const rows = await this.#db
      .selectFrom("shares")
      .select(["id", "reading_id", "made_at", "expires_at"])
      .where("site_id", "=", site)
      .$call(newestFirst(ask, "made_at", "id"))
      .execute();
    return pageOf(rows, ask, (row) => [row.made_at, row.id], tell);
  }

  /** From now on the link shows nothing. @throws {RequestError} `not-found`. */
  async withdraw({ site }: Caller, id: string): Promise<void> {
    const gone = await this.#db
      .deleteFrom("shares")
      .where("site_id", "=", site)
      .where("id", "=", id)
      .executeTakeFirst();
    if (gone.numDeletedRows === 0n) throw new RequestError("not-found", "There is no such link here.");
  }

  /** What a link shows: one reading of one site. @throws {RequestError} `not-found` when it is too old, withdrawn or none. */
  async shown(token: string): Promise<{ site: string; reading: string }> {
    const digest = digestOf(token);
    const row =
      digest &&
      (await this.#db
        .selectFrom("shares")
        .select(["site_id as site", "reading_id as reading"])
        .where("token_sha256", "=", digest)
        .where("expires_at", ">", now())
        .executeTakeFirst());
    if (row) return row;
    throw new RequestError("not-found", "This link shows nothing any more. Ask whoever sent it for a new one.");
  }
}

const tell = (row: Told): Share => ({
  id: row.id,
  reading: row.reading_id,
  madeAt: row.made_at,
  expiresAt: row.expires_at,
});
