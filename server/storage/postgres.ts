import { PostgresDialect, sql, type Transaction } from "kysely";
import pg from "pg";
import { UsageError } from "../usage.ts";
import type { Tables } from "./tables.ts";

/** Connections of one process; a database allows 100 unless told otherwise. */
const MOST_CONNECTIONS = 10;
/** How long to wait for a connection, also for one that others use, before saying that the database is away, ms. */
const CONNECT_MS = 15_000;
/** Whole numbers come as text, since they could be larger than any of ours. */
const INT8 = 20;

/** How rows are sorted is how ids and times are compared: as SQLite does it, by their bytes. */
const BY_BYTES = /^(C|POSIX|C\.UTF-?8)$/i;

/** @throws {UsageError} when the database does not answer, or cannot hold our rows as they must be. */
export async function postgresAt(url: string, name: string): Promise<PostgresDialect> {
  const pool = new pg.Pool({
    connectionString: url,
    application_name: name,
    max: MOST_CONNECTIONS,
    connectionTimeoutMillis: CONNECT_MS,
    types: {
      getTypeParser: (type: number, format?: "text" | "binary") =>
        type === INT8 ? Number : pg.types.getTypeParser(type, format as "text"),
    } as pg.CustomTypesConfig,
  });
  unheard(pool);
  try {
    const { rows } = await pool.query<{ sorting: string; encoding: string }>(
      "select datcollate as sorting, pg_encoding_to_char(encoding) as encoding from pg_database where datname = current_database()",
    );
    const { sorting = "", encoding = "" } = rows[0] ?? {};
    if (!BY_BYTES.test(sorting) || encoding !== "UTF8") {
      throw new UsageError(
        `The database sorts text as ${sorting} and writes it in ${encoding}. Make one with: createdb --template template0 --locale C --encoding UTF8 NAME`,
      );
    }
  } catch (error) {
    await pool.end();
    if (error instanceof UsageError) throw error;
    const why = error instanceof Error ? (error as NodeJS.ErrnoException).code || error.message : String(error);
    throw new UsageError(
      `The database of DECKBANDS_DATABASE cannot be used (${why}). Start it, or look at the address.`,
    );
  }
  return new PostgresDialect({ pool });
}

/** A connection that is cut brings no process down: who uses it hears of it there, and who asks next gets another one. */
export function unheard(pool: pg.Pool): void {
  const ignore = () => {};
  pool.on("error", ignore).on("connect", (client) => client.on("error", ignore));
}

/** Until the end of this transaction, no other one that asks the same goes on. */
export async function waitAlone(trx: Transaction<Tables>): Promise<void> {
  await sql`select pg_advisory_xact_lock(${ALONE})`.execute(trx);
}

/** Names of locks, within one database. */
const ALONE = 7306001;
export const BLOBS_LOCK = 7306002;
