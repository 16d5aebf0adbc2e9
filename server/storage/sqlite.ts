import { join } from "node:path";
import { type Kysely, type SqliteDatabase, SqliteDialect, type SqliteStatement, sql } from "kysely";
import Sqlite from "libsql";
import { UsageError } from "../usage.ts";
import type { Tables } from "./tables.ts";

export const DATABASE_FILE = "deckbands.sqlite";
/** How long a statement waits for another process to let go of the file, ms. */
const BUSY_MS = 10_000;

/**
 * The database file of a data folder. Each commit is on the disk before it is acknowledged (write-ahead log,
 * `synchronous = FULL`); what is deleted is overwritten (`secure_delete`).
 */
export function sqliteIn(folder: string): SqliteDialect {
  const file = new Sqlite(join(folder, DATABASE_FILE), { timeout: BUSY_MS });
  for (const setting of ["journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", "secure_delete = ON"]) {
    file.pragma(setting);
  }
  return new SqliteDialect({ database: rememberStatements(file) });
}

/** @throws {UsageError} when rows are damaged, or point to rows that are not there. */
export async function checkFile(db: Kysely<Tables>): Promise<void> {
  const { rows: faults } = await sql<{ integrity_check: string }>`pragma integrity_check`.execute(db);
  const { rows: loose } = await sql<{ table: string }>`pragma foreign_key_check`.execute(db);
  const told = [
    ...faults.map(({ integrity_check: fault }) => fault).filter((fault) => fault !== "ok"),
    ...loose.map(({ table }) => `a row of ${table} belongs to nothing`),
  ];
  if (told.length === 0) return;
  throw new UsageError(`The database is damaged (${told.slice(0, 3).join("; ")}). Restore a backup.`);
}

/** Empty the write-ahead log, so that what was deleted is in no file any more: `secure_delete` sees to the rest. */
export async function emptyFileLog(db: Kysely<Tables>): Promise<void> {
  await sql`pragma wal_checkpoint(truncate)`.execute(db);
}

/** A copy of the whole file as it stands at one moment, also while others write. `path` must not exist yet. */
export async function snapshot(db: Kysely<Tables>, path: string): Promise<void> {
  await sql`vacuum into ${path}`.execute(db);
}

/** Each statement is prepared once: the library frees them late, and a busy server would grow. */
function rememberStatements(file: Sqlite.Database): SqliteDatabase {
  const MOST = 300;
  const prepared = new Map<string, SqliteStatement>();
  return {
    close: () => {
      prepared.clear();
      file.close();
    },
    prepare: (text) => {
      const known = prepared.get(text);
      if (known) return known;
      if (prepared.size >= MOST) prepared.clear();
      const statement = file.prepare(text) as unknown as SqliteStatement;
      prepared.set(text, text === "rollback" ? rollback(file, statement) : statement);
      return prepared.get(text) as SqliteStatement;
    },
  };
}

/** A full disk has rolled the transaction back already; asking again would fail, and hide why. */
function rollback(file: Sqlite.Database, statement: SqliteStatement): SqliteStatement {
  const run: SqliteStatement["run"] = (parameters) =>
    file.inTransaction ? statement.run(parameters) : { changes: 0, lastInsertRowid: 0 };
  return { reader: false, run, all: () => [], iterate: () => [][Symbol.iterator]() };
}
