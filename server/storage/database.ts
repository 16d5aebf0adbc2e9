import { Kysely, Migrator, PostgresAdapter, type Transaction } from "kysely";
import { UsageError } from "../usage.ts";
import { MIGRATIONS } from "./migrations.ts";
import { checkFile, emptyFileLog, sqliteIn } from "./sqlite.ts";
import type { Tables } from "./tables.ts";

/** Where rows are; a transaction serves wherever this is asked for. */
export type Db = Kysely<Tables>;
export type Trx = Transaction<Tables>;

/**
 * Open the database of a data folder, or the PostgreSQL database at `url`, and bring it to this program's shape. The same
 * statements serve both: where they differ, it is said in this file, `sqlite.ts` and `postgres.ts`, and nowhere else.
 *
 * @throws {UsageError} when a newer program wrote it, when it is damaged, or does not answer.
 */
export async function openDatabase(folder: string, url: string | null = null): Promise<Db> {
  const dialect = url === null ? sqliteIn(folder) : await (await postgres()).postgresAt(url, "deckbands");
  const db: Db = new Kysely<Tables>({ dialect });
  try {
    await migrate(db);
  } catch (error) {
    await db.destroy();
    throw error;
  }
  return db;
}

export const isPostgres = (db: Db): boolean => db.getExecutor().adapter instanceof PostgresAdapter;

/** Loaded where it is wanted only: a data folder needs none of it. */
const postgres = () => import("./postgres.ts");

async function migrate(db: Db): Promise<void> {
  const migrator = new Migrator({ db, provider: { getMigrations: async () => ({ ...MIGRATIONS }) } });
  const done = (await migrator.getMigrations().catch(() => [])).map(({ name }) => name);
  const { error } = await migrator.migrateToLatest();
  if (error instanceof Error && /previously executed migration/.test(error.message)) {
    throw new UsageError(
      "What is kept there was written by a newer deckbands. Run that one, or name another data folder.",
    );
  }
  if (error) throw error;
  if (done.length < Object.keys(MIGRATIONS).length) await check(db);
}

/** @throws {UsageError} when rows are damaged, or point to rows that are not there. PostgreSQL sees to both by itself. */
export async function check(db: Db): Promise<void> {
  if (!isPostgres(db)) await checkFile(db);
}

/** Have what was deleted be in no file any more. PostgreSQL's own files are out of our hands. */
export async function forgetDeleted(db: Db): Promise<void> {
  if (!isPostgres(db)) await emptyFileLog(db);
}

/** Until the end of this transaction, no other one that asks for this goes on; a file has one writer at a time anyway. */
export async function alone(trx: Trx): Promise<void> {
  if (isPostgres(trx)) await (await postgres()).waitAlone(trx);
}
