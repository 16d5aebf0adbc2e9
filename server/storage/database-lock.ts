import type pg from "pg";
import type { SharedLock } from "./gate.ts";
import { Line } from "./line.ts";
import { BLOBS_LOCK } from "./postgres.ts";
import { StoreAway } from "./store-faults.ts";

/** Who goes on holding it together lets go this often, so that somebody elsewhere gets it alone, ms. */
const TURN_MS = 500;

/** What those who share it hold it by, together: one connection has it for all of them. */
interface Hold {
  /** The connection, once it has the lock. */
  readonly line: Promise<pg.Client>;
  readonly since: number;
  readonly over: Promise<void>;
  readonly end: () => void;
  count: number;
}

/**
 * A lock of the database (PostgreSQL manual, section 13.3.5, advisory locks), on a connection of its own. Where that is cut
 * the lock is lost, and whoever held it hears so at the end: then what was done must not be told as done.
 */
export class DatabaseLock implements SharedLock {
  readonly #line: Line;
  #hold: Hold | null = null;

  constructor(url: string) {
    this.#line = new Line(url, "deckbands lock");
  }

  async share(): Promise<() => Promise<void>> {
    while (this.#hold && performance.now() - this.#hold.since > TURN_MS) await this.#hold.over;
    const hold = this.#hold ?? this.#begin();
    hold.count++;
    const leave = () => {
      if (--hold.count > 0) return false;
      if (this.#hold === hold) this.#hold = null; // who comes from now on holds another one
      hold.end();
      return true;
    };
    try {
      const line = await hold.line;
      return async () => {
        if (leave()) await unlock(line, "pg_advisory_unlock_shared");
        else await line.query("select 1"); // is it held still?
      };
    } catch (error) {
      leave();
      throw error;
    }
  }

  async take(): Promise<() => Promise<void>> {
    const line = await this.#connected();
    await line.query("select pg_advisory_lock($1)", [BLOBS_LOCK]);
    return () => unlock(line, "pg_advisory_unlock");
  }

  close(): Promise<void> {
    return this.#line.close();
  }

  #begin(): Hold {
    let end = () => {};
    const over = new Promise<void>((resolve) => {
      end = resolve;
    });
    const line = this.#connected().then(async (connected) => {
      await connected.query("select pg_advisory_lock_shared($1)", [BLOBS_LOCK]);
      return connected;
    });
    this.#hold = { line, since: performance.now(), over, end, count: 0 };
    return this.#hold;
  }

  async #connected(): Promise<pg.Client> {
    return this.#line.connected(() => {
      this.#hold = null; // those in it hear of it; those who come now hold another one
    });
  }
}

async function unlock(line: pg.Client, how: "pg_advisory_unlock" | "pg_advisory_unlock_shared"): Promise<void> {
  const { rows } = await line.query<{ held: boolean }>(`select ${how}($1) as held`, [BLOBS_LOCK]);
  if (!rows[0]?.held) throw new StoreAway("The lock was lost.");
}
