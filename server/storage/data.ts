import { mkdir } from "node:fs/promises";
import type { Person, Site } from "../../vision/contract/index.ts";
import { RequestError } from "../problems.ts";
import { UsageError } from "../usage.ts";
import { BlobFolder, type BlobStore } from "./blobs.ts";
import type { Caller } from "./caller.ts";
import { type Claims, OwnClaims } from "./claims.ts";
import { alone, type Db, isPostgres, openDatabase } from "./database.ts";
import { Decks } from "./decks.ts";
import { Gallery } from "./gallery.ts";
import { Gate } from "./gate.ts";
import { Lessons } from "./lessons.ts";
import { newId, now } from "./naming.ts";
import { Packs } from "./packs.ts";
import { Photos, unneeded } from "./photos.ts";
import { Pushes } from "./pushes.ts";
import { Readings } from "./readings.ts";
import { REPORT_BLOBS } from "./references.ts";
import { Reports } from "./reports.ts";
import { Reviews } from "./reviews.ts";
import { RunLogs } from "./run-log.ts";
import { Runs } from "./runs.ts";
import { Said } from "./said.ts";
import { type Secrets, secretFiles, secretRows } from "./secrets.ts";
import { Shares } from "./shares.ts";
import { OwnWire, type Wire } from "./wire.ts";

/** What is kept elsewhere than in the data folder. */
export interface Elsewhere {
  /** A PostgreSQL database, as an address; null: SQLite in the data folder. */
  readonly database: string | null;
  /** A bucket, as an address; null: files in the data folder. */
  readonly objects: string | null;
}
export const NOTHING_ELSEWHERE: Elsewhere = { database: null, objects: null };

/** Everything that is kept: one database and the blobs beside it. */
export interface Data {
  /** Where files lie on this machine: what is coming in, and all that is not kept elsewhere. */
  readonly folder: string;
  readonly secrets: Secrets;
  readonly db: Db;
  readonly blobs: BlobStore;
  readonly gate: Gate;
  /** News of what is done with them. */
  readonly wire: Wire;
  readonly claims: Claims;
  readonly photos: Photos;
  readonly readings: Readings;
  readonly said: Said;
  readonly reviews: Reviews;
  readonly gallery: Gallery;
  readonly lessons: Lessons;
  readonly packs: Packs;
  readonly decks: Decks;
  readonly runs: Runs;
  readonly runLogs: RunLogs;
  readonly reports: Reports;
  readonly shares: Shares;
  readonly pushes: Pushes;
  /** Who works here where nobody logs in: the owner of the first site. */
  readonly local: Caller;
  close(): Promise<void>;
}

/** Open a data folder, made where it is missing. @throws {UsageError} when its database cannot be used. */
export async function openData(folder: string, { database, objects } = NOTHING_ELSEWHERE): Promise<Data> {
  await mkdir(folder, { recursive: true });
  const blobs = objects === null ? await BlobFolder.open(folder) : await bucketOf(folder, objects);
  const db = await openDatabase(folder, database);
  const gate = new Gate(database === null ? null : await lockOf(database));
  const wire = database === null ? new OwnWire() : await wireIn(db, database);
  const claims = database === null ? new OwnClaims() : await claimsIn(database);
  const readings = new Readings(db, blobs, gate);
  return {
    folder,
    secrets: isPostgres(db) ? secretRows(db) : secretFiles(folder),
    db,
    blobs,
    gate,
    wire,
    claims,
    photos: new Photos(db, blobs, gate),
    readings,
    said: new Said(db, readings, blobs, gate),
    reviews: new Reviews(db, readings),
    gallery: new Gallery(db, blobs, gate),
    lessons: new Lessons(db),
    packs: new Packs(db, blobs, gate),
    decks: new Decks(db),
    runs: new Runs(db),
    runLogs: new RunLogs(db),
    reports: new Reports(db, blobs, gate),
    shares: new Shares(db),
    pushes: new Pushes(db),
    local: await firstCaller(db),
    close: async () => {
      await wire.close();
      await gate.close();
      await claims.close();
      blobs.close();
      await db.destroy();
    },
  };
}

// loaded where they are wanted only
const bucketOf = async (folder: string, at: string) => (await import("./blob-bucket.ts")).BlobBucket.open(folder, at);
const wireIn = async (db: Db, url: string) => (await import("./database-wire.ts")).DatabaseWire.open(db, url);
const claimsIn = async (url: string) => new (await import("./database-claims.ts")).DatabaseClaims(url);
const lockOf = async (url: string) => new (await import("./database-lock.ts")).DatabaseLock(url);

/** The first site and its owner, made when there is none. */
async function firstCaller(db: Db): Promise<Caller> {
  return db.transaction().execute(async (trx) => {
    await alone(trx);
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

/** All sites a person belongs to, the first one first. */
export async function sitesOf({ db }: Pick<Data, "db">, { person }: Caller): Promise<Site[]> {
  const rows = await db
    .selectFrom("members")
    .innerJoin("sites", "sites.id", "members.site_id")
    .select(["sites.id", "sites.name", "sites.made_at as madeAt"])
    .where("members.person_id", "=", person)
    .orderBy("sites.made_at")
    .orderBy("sites.id")
    .execute();
  return rows;
}

export async function addSite({ db }: Pick<Data, "db">, { person }: Caller, name: string, id: string): Promise<Site> {
  const row = { id, name, made_at: now() };
  await db.transaction().execute(async (trx) => {
    await trx
      .insertInto("sites")
      .values(row)
      .onConflict((on) => on.column("id").doNothing())
      .execute();
    await trx
      .insertInto("members")
      .values({ site_id: id, person_id: person, role: "owner" })
      .onConflict((on) => on.columns(["site_id", "person_id"]).doNothing())
      .execute();
  });
  return { id, name, madeAt: row.made_at };
}

/**
 * Delete a site: its photos with all that was read in them, then all else.
 *
 * @throws {RequestError} `not-found` for another id than that of the caller's site; `ended` for the last site there is.
 */
export async function removeSite(data: Data, caller: Caller, id: string): Promise<void> {
  if (id !== caller.site) throw new RequestError("not-found", "This is not the site you work in: name it with X-Site.");
  const others = await data.db.selectFrom("sites").select("id").where("id", "!=", id).limit(1).execute();
  if (others.length === 0) throw new RequestError("ended", "This is the last site. Begin another one first.");
  for (;;) {
    const { items } = await data.photos.list(caller, { limit: 100, after: null }, null);
    if (items.length === 0) break;
    for (const photo of items) await data.photos.remove(caller, photo.id);
  }
  const pages = await data.db.deleteFrom("reports").where("site_id", "=", id).returning(REPORT_BLOBS).execute();
  for (const page of await unneeded(
    data.db,
    pages.flatMap((row) => Object.values(row)).filter((blob) => blob !== null),
  ))
    await data.blobs.remove(page);
  await data.db.deleteFrom("sites").where("id", "=", id).execute();
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

/** Somebody of this site, to ask in their name. @throws {UsageError} for a site that is not here. */
export async function callerIn({ db }: Data, site: string): Promise<Caller> {
  const query = db.selectFrom("members").select(["site_id as site", "person_id as person"]).where("site_id", "=", site);
  const found = await query.limit(1).executeTakeFirst();
  if (!found) throw new UsageError(`There is no site ${site} in this data folder.`);
  return found;
}
