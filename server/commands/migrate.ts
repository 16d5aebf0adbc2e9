import { existsSync, mkdtempSync } from "node:fs";
import { readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { type Insertable, sql } from "kysely";
import { readConfig } from "../config.ts";
import { sha256 } from "../sha256.ts";
import { BlobBucket } from "../storage/blob-bucket.ts";
import { BlobFolder, type Blobs } from "../storage/blobs.ts";
import { type Db, openDatabase } from "../storage/database.ts";
import { blobsNamed } from "../storage/references.ts";
import { SECRETS, secretRows } from "../storage/secrets.ts";
import { DATABASE_FILE } from "../storage/sqlite.ts";
import type { Tables } from "../storage/tables.ts";
import { UsageError } from "../usage.ts";

/** Rows that are copied, and compared, at a time. */
const ROWS = 200;
/** Tables of the libraries, which each database makes itself; secrets are files in a folder. */
const OWN_TABLES = /^(kysely_|sqlite_|secrets$)/;

type Row = Record<string, unknown>;

/**
 * Move what the folder DECKBANDS_DATA holds to DECKBANDS_DATABASE and DECKBANDS_OBJECTS; the folder stays as it is. Every
 * photo and picture is read back and compared with its name, and every row with the one it was copied from. Stopped on the
 * way, it is begun again: what is there already is only compared.
 *
 * @throws {UsageError} when the folder is being written to, when there are other things already where it should go, or when
 *   something is not there as it was.
 */
export async function migrate(): Promise<number> {
  const { dataFolder: folder, elsewhere } = readConfig(process.env);
  if (folder === null || elsewhere.database === null) {
    throw new UsageError(
      "Name what is to be moved in DECKBANDS_DATA, and where to in DECKBANDS_DATABASE and DECKBANDS_OBJECTS.",
    );
  }
  if (!existsSync(join(folder, DATABASE_FILE))) throw new UsageError(`${folder} holds no ${DATABASE_FILE}.`);
  const from = await openDatabase(folder);
  const to = await openDatabase("", elsewhere.database).catch(async (error) => {
    await from.destroy();
    throw error;
  });
  try {
    await holdStill(from);
    await checkNobodyElse(from, to);
    const objects = elsewhere.objects;
    const blobs = objects === null ? 0 : await moveBlobs(from, BlobFolder.toRead(folder), objects);
    const tables = await inOrder(from);
    let rows = 0;
    for (const table of tables) rows += await moveRows(from, to, table);
    for (const table of tables) await compareRows(from, to, table);
    await moveSecrets(folder, to);
    process.stdout.write(
      objects === null
        ? `Moved and compared ${rows} rows of ${tables.length} tables; photos and pictures stay in the folder, which DECKBANDS_DATA must go on naming.\n`
        : `Moved and compared ${rows} rows of ${tables.length} tables and ${blobs} photos and pictures.\n`,
    );
    return 0;
  } finally {
    await sql`rollback`.execute(from); // nothing was written to it
    await from.destroy();
    await to.destroy();
  }
}

/** Nobody writes to the folder's database until it is closed. @throws {UsageError} when somebody is at it. */
async function holdStill(db: Db): Promise<void> {
  try {
    await sql`begin immediate`.execute(db);
  } catch {
    throw new UsageError("The data folder is being written to. Stop its server first.");
  }
}

/** @throws {UsageError} when there are sites of others. */
async function checkNobodyElse(from: Db, to: Db): Promise<void> {
  const ours = new Set((await from.selectFrom("sites").select("id").execute()).map(({ id }) => id));
  const there = await to.selectFrom("sites").select(["id", "name"]).execute();
  const other = there.find(({ id }) => !ours.has(id));
  if (other) {
    throw new UsageError(
      `The database of DECKBANDS_DATABASE is used already: it has the site "${other.name}". Name an empty one.`,
    );
  }
}

async function moveBlobs(db: Db, source: Blobs, objects: string): Promise<number> {
  const aside = mkdtempSync(join(tmpdir(), "deckbands-moving-"));
  const target = await BlobBucket.open(aside, objects);
  try {
    const named = await blobsNamed(db);
    for (const id of named) {
      const bytes = await source.read(id);
      if (!bytes || sha256(bytes) !== id)
        throw new UsageError(`The file ${id} is damaged or missing. Restore a backup.`);
      await target.keep(bytes);
    }
    for (const id of named) {
      const bytes = await target.read(id);
      if (!bytes || sha256(bytes) !== id)
        throw new UsageError(`The object ${id} is not what was sent. Delete it, and begin again.`);
    }
    return named.size;
  } finally {
    target.close();
    await rm(aside, { recursive: true, force: true });
  }
}

/** The tables, each after those that its rows point to. */
async function inOrder(db: Db): Promise<(keyof Tables)[]> {
  const all = (await db.introspection.getTables()).map(({ name }) => name).filter((name) => !OWN_TABLES.test(name));
  const ordered: string[] = [];
  const visit = async (table: string): Promise<void> => {
    if (ordered.includes(table)) return;
    const { rows } = await sql<{ table: string }>`select "table" from pragma_foreign_key_list(${table})`.execute(db);
    for (const { table: pointed } of rows) if (pointed !== table) await visit(pointed);
    ordered.push(table);
  };
  for (const table of all.sort()) await visit(table);
  return ordered as (keyof Tables)[];
}

/** @returns how many rows there are. */
async function moveRows(from: Db, to: Db, table: keyof Tables): Promise<number> {
  let many = 0;
  for await (const rows of rowsOf(from, table)) {
    many += rows.length;
    await to
      .insertInto(table)
      .values(rows as Insertable<Tables[typeof table]>[])
      .onConflict((on) => on.doNothing())
      .execute();
  }
  return many;
}

/** @throws {UsageError} at the first row that is not there as it was. */
async function compareRows(from: Db, to: Db, table: keyof Tables): Promise<void> {
  const { rows: columns } = await sql<{
    name: string;
    pk: number;
  }>`select name, pk from pragma_table_info(${table})`.execute(from);
  const key = columns.filter(({ pk }) => pk > 0).map(({ name }) => name);
  const names = columns.map(({ name }) => name);
  let many = 0;
  for await (const rows of rowsOf(from, table)) {
    many += rows.length;
    const keys = rows.map((row) => sql`(${sql.join(key.map((name) => sql`${row[name]}`))})`);
    const there =
      await sql<Row>`select * from ${sql.table(table)} where (${sql.join(key.map((name) => sql.ref(name)))}) in (${sql.join(keys)})`.execute(
        to,
      );
    const known = new Map(there.rows.map((row) => [toldBy(row, key), toldBy(row, names)]));
    const wrong = rows.find((row) => known.get(toldBy(row, key)) !== toldBy(row, names));
    if (wrong)
      throw new UsageError(
        `A row of ${table} is not there as it was: ${toldBy(wrong, key)}. Empty the database, and begin again.`,
      );
  }
  const { rows: count } = await sql<{ many: number }>`select count(*) as many from ${sql.table(table)}`.execute(to);
  if (count[0]?.many !== many) throw new UsageError(`${table} has ${count[0]?.many} rows there, and ${many} here.`);
}

/** All rows of a table, some at a time, in the order in which they came. */
async function* rowsOf(db: Db, table: string): AsyncGenerator<Row[]> {
  for (let after = 0; ; ) {
    const { rows } = await sql<
      Row & { place_: number }
    >`select rowid as place_, * from ${sql.table(table)} where rowid > ${after}
      order by rowid limit ${ROWS}`.execute(db);
    if (rows.length === 0) return;
    after = rows.at(-1)!.place_;
    yield rows.map(({ place_, ...row }) => row);
  }
}

/** Some columns of a row, alike from both databases: SQLite has no booleans, and keeps moments as text. */
const toldBy = (row: Row, names: readonly string[]): string =>
  JSON.stringify(
    names.map((name) => {
      const value = row[name];
      return typeof value === "boolean" ? Number(value) : value instanceof Date ? value.toISOString() : value;
    }),
  );

async function moveSecrets(folder: string, to: Db): Promise<void> {
  for (const name of SECRETS) {
    const kept = await readFile(join(folder, name), "utf8").catch(() => null);
    if (kept === null) continue; // never wanted
    if ((await secretRows(to).get(name, () => kept)) !== kept)
      throw new UsageError(`The database has another ${name} already.`);
  }
}
