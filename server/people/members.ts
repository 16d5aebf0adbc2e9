import type { Device, Invitation, Role } from "../../vision/contract/index.ts";
import { RequestError } from "../problems.ts";
import type { Caller, Member } from "../storage/caller.ts";
import type { Db } from "../storage/database.ts";
import { inMs, newId, now } from "../storage/naming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "../storage/pages.ts";
import type { Row } from "../storage/tables.ts";
import { type Auth, LEAST_PHRASE } from "./auth.ts";
import { digestOf, newToken } from "./tokens.ts";

export const DAY_MS = 24 * 60 * 60 * 1000;

/** Who belongs to which site, as what; and how they come and go. */
export class Members {
  readonly #db: Db;
  readonly #auth: Auth;

  constructor(db: Db, auth: Auth) {
    this.#db = db;
    this.#auth = auth;
  }

  /** A person in one of their sites: the one they name, else the one they came to first. */
  async member(person: string, site?: string): Promise<Member | null> {
    const row = await this.#db
      .selectFrom("members")
      .innerJoin("sites", "sites.id", "members.site_id")
      .select(["members.site_id as site", "members.person_id as person", "members.role"])
      .where("members.person_id", "=", person)
      .$if(site !== undefined, (query) => query.where("members.site_id", "=", site!))
      .orderBy("sites.made_at")
      .orderBy("sites.id")
      .limit(1)
      .executeTakeFirst();
    return row ?? null;
  }

  /** Whoever's device this token is, in the site it was made for. */
  async byDevice(token: string): Promise<Member | null> {
    const digest = digestOf(token);
    if (!digest) return null;
    const device = await this.#db
      .updateTable("devices")
      .set({ used_at: now() })
      .where("token_sha256", "=", digest)
      .returning(["site_id", "person_id"])
      .executeTakeFirst();
    return device ? this.member(device.person_id, device.site_id) : null;
  }

  async invite(caller: Caller, role: Role, days: number, id = newId()): Promise<Invitation & { token: string }> {
    const { token, digest } = newToken();
    const row = { id, role, made_at: now(), expires_at: inMs(days * DAY_MS), used_at: null };
    await this.#db
      .insertInto("invitations")
      .values({ ...row, site_id: caller.site, person_id: caller.person, token_sha256: digest })
      .execute();
    return { ...tellInvitation(row), token };
  }

  async invitations({ site }: Caller, ask: Ask): Promise<Page<Invitation>> {
    const rows = await this.#db
      .selectFrom("invitations")
      .select(["id", "role", "made_at", "expires_at", "used_at"])
      .where("site_id", "=", site)
      .$call(newestFirst(ask, "made_at", "id"))
      .execute();
    return pageOf(rows, ask, (row) => [row.made_at, row.id], tellInvitation);
  }

  /** @throws {RequestError} `not-found`. */
  async withdrawInvitation({ site }: Caller, id: string): Promise<void> {
    const gone = await this.#db
      .deleteFrom("invitations")
      .where("site_id", "=", site)
      .where("id", "=", id)
      .executeTakeFirst();
    if (gone.numDeletedRows === 0n) throw new RequestError("not-found", "There is no such invitation here.");
  }

  /** Whether this link still lets somebody in, and as what. */
  async invited(token: string): Promise<{ role: Role; siteName: string } | null> {
    const row = await this.#open(token);
    return row && { role: row.role, siteName: row.name };
  }

  /**
   * Come in by an invitation, once.
   *
   * @throws {RequestError} `not-found` when it is used, withdrawn or too old; `body-wrong` for a short pass phrase; `taken`
   *   when somebody has this address.
   */
  async join(token: string, { name, email, phrase }: { name: string; email: string; phrase: string }): Promise<void> {
    const row = await this.#open(token);
    if (!row)
      throw new RequestError("not-found", "This invitation was used, withdrawn or is too old. Ask for a new one.");
    if (phrase.length < LEAST_PHRASE) {
      throw new RequestError(
        "body-wrong",
        `A pass phrase has at least ${LEAST_PHRASE} characters: take four words or more.`,
      );
    }
    const used = await this.#db
      .updateTable("invitations")
      .set({ used_at: now() })
      .where("id", "=", row.id)
      .where("used_at", "is", null)
      .executeTakeFirst();
    if (used.numUpdatedRows === 0n) throw new RequestError("not-found", "This invitation was used already.");
    const id = await this.#auth.addPerson({ name, email, phrase });
    if (id === null) {
      await this.#db.updateTable("invitations").set({ used_at: null }).where("id", "=", row.id).execute();
      throw new RequestError("taken", "Somebody logs in with this address already. Take another one, or log in.");
    }
    await this.#db.transaction().execute(async (trx) => {
      await trx.insertInto("people").values({ id, name, made_at: now() }).execute();
      await trx.insertInto("members").values({ site_id: row.site_id, person_id: id, role: row.role }).execute();
    });
  }

  async addDevice({ site, person }: Caller, name: string, id = newId()): Promise<Device & { token: string }> {
    const { token, digest } = newToken();
    const row = { id, name, person_id: person, made_at: now(), used_at: null };
    await this.#db
      .insertInto("devices")
      .values({ ...row, site_id: site, token_sha256: digest })
      .execute();
    return { ...tellDevice(row), token };
  }

  /** One's own devices; an owner sees all of the site. */
  async devices({ site, person, role }: Member, ask: Ask): Promise<Page<Device>> {
    const rows = await this.#db
      .selectFrom("devices")
      .select(["id", "name", "person_id", "made_at", "used_at"])
      .where("site_id", "=", site)
      .$if(role !== "owner", (query) => query.where("person_id", "=", person))
      .$call(newestFirst(ask, "made_at", "id"))
      .execute();
    return pageOf(rows, ask, (row) => [row.made_at, row.id], tellDevice);
  }

  /** @throws {RequestError} `not-found`. */
  async withdrawDevice({ site, person, role }: Member, id: string): Promise<void> {
    const gone = await this.#db
      .deleteFrom("devices")
      .where("site_id", "=", site)
      .where("id", "=", id)
      .$if(role !== "owner", (query) => query.where("person_id", "=", person))
      .executeTakeFirst();
    if (gone.numDeletedRows === 0n) throw new RequestError("not-found", "There is no such device here.");
  }

  /** Let a person out of the site; their devices there with them. What they wrote stays. @throws {RequestError} `not-found`; `ended`. */
  async letOut({ site, person: owner }: Caller, person: string): Promise<void> {
    if (person === owner) throw new RequestError("ended", "You cannot let yourself out. Have another owner do it.");
    await this.#db.transaction().execute(async (trx) => {
      await trx.deleteFrom("devices").where("site_id", "=", site).where("person_id", "=", person).execute();
      await trx.deleteFrom("pushes").where("site_id", "=", site).where("person_id", "=", person).execute();
      const gone = await trx
        .deleteFrom("members")
        .where("site_id", "=", site)
        .where("person_id", "=", person)
        .executeTakeFirst();
      if (gone.numDeletedRows === 0n) throw new RequestError("not-found", "There is no such person here.");
    });
  }

  /** Whether anybody can log in at all. */
  async isAnyone(): Promise<boolean> {
    const query = this.#db.selectFrom("invitations").select("id").where("used_at", "is not", null).limit(1);
    return (await query.executeTakeFirst()) !== undefined;
  }

  async #open(token: string) {
    const digest = digestOf(token);
    if (!digest) return null;
    const row = await this.#db
      .selectFrom("invitations")
      .innerJoin("sites", "sites.id", "invitations.site_id")
      .select(["invitations.id", "invitations.site_id", "invitations.role", "sites.name"])
      .where("token_sha256", "=", digest)
      .where("used_at", "is", null)
      .where("expires_at", ">", now())
      .executeTakeFirst();
    return row ?? null;
  }
}

const tellInvitation = (
  row: Pick<Row<"invitations">, "id" | "role" | "made_at" | "expires_at" | "used_at">,
): Invitation => ({ id: row.id, role: row.role, madeAt: row.made_at, expiresAt: row.expires_at, usedAt: row.used_at });

const tellDevice = (row: Pick<Row<"devices">, "id" | "name" | "person_id" | "made_at" | "used_at">): Device => ({
  id: row.id,
  name: row.name,
  person: row.person_id,
  madeAt: row.made_at,
  usedAt: row.used_at,
});
