import type { NewPush, Push } from "../../vision/contract/index.ts";
import { RequestError } from "../problems.ts";
import type { Caller } from "./caller.ts";
import type { Db } from "./database.ts";
import { newId, now } from "./naming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "./pages.ts";
import type { Row } from "./tables.ts";

/** A device that is told of a site's alarms, as a push service knows it. */
export interface Subscription {
  readonly id: string;
  readonly endpoint: string;
  readonly p256dh: string;
  readonly auth: string;
  readonly language: string;
}
/** More devices of one person are forgotten ones. */
const MOST_OF_ONE = 20;

/** Devices that asked to be told of alarms, and which alarms were told. */
export class Pushes {
  readonly #db: Db;

  constructor(db: Db) {
    this.#db = db;
  }

  /** The same device asked again keeps its id, with its new language. @throws {RequestError} `body-wrong` for too many. */
  async add({ site, person }: Caller, { endpoint, keys, language }: NewPush, id = newId()): Promise<Push> {
    const own = this.#db.selectFrom("pushes").selectAll().where("site_id", "=", site).where("person_id", "=", person);
    const known = await own.execute();
    const same = known.find((row) => row.endpoint === endpoint);
    if (!same && known.length >= MOST_OF_ONE) {
      throw new RequestError("body-wrong", `You are told on ${MOST_OF_ONE} devices already. Withdraw one first.`);
    }
    // whoever holds the device now is told, not who held it before
    await this.#db.deleteFrom("pushes").where("site_id", "=", site).where("endpoint", "=", endpoint).execute();
    const row = {
      id: same?.id ?? id,
      site_id: site,
      person_id: person,
      endpoint,
      p256dh: keys.p256dh,
      auth: keys.auth,
      language,
      made_at: same?.made_at ?? now(),
    };
    await this.#db.insertInto("pushes").values(row).execute();
    return tell(row);
  }

  /** One's own devices. */
  async list({ site, person }: Caller, ask: Ask): Promise<Page<Push>> {
    const rows = await this.#db
      .selectFrom("pushes")
      .selectAll()
      .where("site_id", "=", site)
      .where("person_id", "=", person)
      .$call(newestFirst(ask, "made_at", "id"))
      .execute();
    return pageOf(rows, ask, (row) => [row.made_at, row.id], tell);
  }

  /** Tell one's own device no more. @throws {RequestError} `not-found`. */
  async withdraw({ site, person }: Caller, id: string): Promise<void> {
    const gone = await this.#db
      .deleteFrom("pushes")
      .where("site_id", "=", site)
      .where("person_id", "=", person)
      .where("id", "=", id)
      .executeTakeFirst();
    if (gone.numDeletedRows === 0n) throw new RequestError("not-found", "This device is not told of alarms.");
  }

  /** The push service says that it is over. */
  async end(id: string): Promise<void> {
    await this.#db.deleteFrom("pushes").where("id", "=", id).execute();
  }

  /** Devices of those who belong to the site now. */
  async ofSite(site: string): Promise<Subscription[]> {
    return this.#db
      .selectFrom("pushes")
      .innerJoin("members", (on) =>
        on.onRef("members.site_id", "=", "pushes.site_id").onRef("members.person_id", "=", "pushes.person_id"),
      )
      .select(["pushes.id", "endpoint", "p256dh", "auth", "language"])
      .where("pushes.site_id", "=", site)
      .execute();
  }

  /** Readings of a deck whose alarm was told. */
  async toldOf(deck: string): Promise<string[]> {
    const rows = await this.#db.selectFrom("alarms_told").select("reading_id").where("deck_id", "=", deck).execute();
    return rows.map(({ reading_id }) => reading_id);
  }

  /** @returns false when it was told before. */
  async tell(site: string, deck: string, reading: string): Promise<boolean> {
    const kept = await this.#db
      .insertInto("alarms_told")
      .values({ site_id: site, deck_id: deck, reading_id: reading, at: now() })
      .onConflict((on) => on.columns(["deck_id", "reading_id"]).doNothing())
      .executeTakeFirst();
    return kept.numInsertedOrUpdatedRows === 1n;
  }
}

const tell = ({ id, language, made_at }: Row<"pushes">): Push => ({ id, language, madeAt: made_at });
