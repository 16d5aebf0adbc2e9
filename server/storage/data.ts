import { mkdir } from "node:fs/promises";
import type { Person, Site } from "../../vision/contract/index.ts";
import { BlobFolder } from "./blobs.ts";
import type { Caller } from "./caller.ts";
import { type Db, openDatabase } from "./database.ts";
import { Decks } from "./decks.ts";
import { Gate } from "./gate.ts";
import { newId, now } from "./naming.ts";
import { Photos } from "./photos.ts";
import { Readings } from "./readings.ts";
import { Reports } from "./reports.ts";
import { Runs } from "./runs.ts";

/** Everything that is kept: one database and the blobs of one data folder. */
export interface Data {
  readonly folder: string;
  readonly db: Db;
  readonly blobs: BlobFolder;
  readonly photos: Photos;
  readonly readings: Readings;
  readonly decks: Decks;
  readonly runs: Runs;
  readonly reports: Reports;
  /** Who works here where nobody logs in: the owner of the first site. */
  readonly local: Caller;
  close(): Promise<void>;
}

/** Open a data folder, made where it is missing. @throws {UsageError} when its database cannot be used. */
export async function openData(folder: string): Promise<Data> {
  await mkdir(folder, { recursive: true });
  const db = await openDatabase(folder);
  const blobs = await BlobFolder.open(folder);
  const gate = new Gate();
  return {
    folder,
    db,
    blobs,
    photos: new Photos(db, blobs, gate),
    readings: new Readings(db, blobs, gate),
    decks: new Decks(db),
    runs: new Runs(db),
    reports: new Reports(db, blobs, gate),
    local: await firstCaller(db),
    close: () => db.destroy(),
  };
}

/** The first site and its owner, made when there is none. */
async function firstCaller(db: Db): Promise<Caller> {
  return db.transaction().execute(async (trx) => {
    const known = await trx
      .selectFrom("members")
      .innerJoin("sites", "sites.id", "members.site_id")
      .select(["members.site_id as site", "members.person_id as person"])
      .where("members.role", "=", "owner")
      .orderBy("sites.made_at")
      .orderBy("sites.id")
      .limit(1)
      .executeTakeFirst();
    if (known) return known;
    const made = { site: newId(), person: newId() };
    await trx.insertInto("sites").values({ id: made.site, name: "My site", made_at: now() }).execute();
    await trx.insertInto("people").values({ id: made.person, name: "Owner", made_at: now() }).execute();
    await trx.insertInto("members").values({ site_id: made.site, person_id: made.person, role: "owner" }).execute();
    return made;
  });
}

export async function siteOf({ db }: Pick<Data, "db">, { site }: Caller): Promise<Site> {
  const row = await db.selectFrom("sites").selectAll().where("id", "=", site).executeTakeFirstOrThrow();
  return { id: row.id, name: row.name, madeAt: row.made_at };
}

export async function renameSite(data: Pick<Data, "db">, caller: Caller, name: string): Promise<Site> {
  await data.db.updateTable("sites").set({ name }).where("id", "=", caller.site).execute();
  return siteOf(data, caller);
}

export async function peopleOf({ db }: Pick<Data, "db">, { site }: Caller): Promise<Person[]> {
  return db
    .selectFrom("members")
    .innerJoin("people", "people.id", "members.person_id")
    .select(["people.id", "people.name", "members.role"])
    .where("members.site_id", "=", site)
    .orderBy("people.made_at")
    .execute();
}
