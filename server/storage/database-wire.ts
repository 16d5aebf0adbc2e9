import { sql } from "kysely";
import type { Db } from "./database.ts";
import { Line } from "./line.ts";
import { OwnWire, type Wire } from "./wire.ts";

const CHANNEL = "deckbands_news";
/** Before the line is tried again, ms. */
const AGAIN_MS = 1000;

/** Between processes, by LISTEN and NOTIFY of PostgreSQL, which carries up to 8000 bytes at a time. */
export class DatabaseWire implements Wire {
  readonly #db: Db;
  readonly #line: Line;
  readonly #own = new OwnWire();
  #timer: NodeJS.Timeout | undefined;
  #closed = false;

  private constructor(db: Db, url: string) {
    this.#db = db;
    this.#line = new Line(url, "deckbands news");
  }

  static async open(db: Db, url: string): Promise<DatabaseWire> {
    const wire = new DatabaseWire(db, url);
    await wire.#listen();
    return wire;
  }

  tell(topic: string, message: unknown): void {
    const text = JSON.stringify([topic, message]);
    sql`select pg_notify(${CHANNEL}, ${text})`.execute(this.#db).catch(() => {});
  }

  hear(topic: string, hear: (message: never) => void): () => void {
    return this.#own.hear(topic, hear);
  }

  async close(): Promise<void> {
    this.#closed = true;
    clearTimeout(this.#timer);
    await this.#line.close();
  }

  async #listen(): Promise<void> {
    const client = await this.#line.connected(() => this.#again());
    client.on("notification", ({ payload = "[]" }) => {
      const [topic, message] = JSON.parse(payload) as [string, unknown];
      this.#own.tell(topic, message);
    });
    await client.query(`listen ${CHANNEL}`);
  }

  #again(): void {
    if (this.#closed) return;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => {
      this.#listen().catch(() => this.#again());
    }, AGAIN_MS);
  }
}
