import { Logger, type Runner, run, runMigrations } from "graphile-worker";
import { sql } from "kysely";
import pg from "pg";
import type { Logger as Log } from "pino";
import type { Db } from "../storage/database.ts";
import { inMs } from "../storage/naming.ts";
import { unheard } from "../storage/postgres.ts";
import type { Queue, Waiting, Work } from "./queue.ts";
import type { JobRows } from "./rows.ts";

/** How often jobs that have become due are looked for, ms; new ones are heard of at once. */
const LOOK_MS = 1000;
/** A job that has been due so long, and that nobody can take, was given to a process that is gone, ms. */
const FORGOTTEN_MS = 20_000;
/** Before a queue that broke down, such as with its database, is begun again, ms. */
const AGAIN_MS = 1000;

/**
 * The queue of many processes: graphile-worker, in the same PostgreSQL database as the rows. It hands a job's id to one
 * process, by priority and when it is due; what becomes of the job is written in its row alone.
 */
export class DatabaseQueue implements Queue {
  readonly #url: string;
  readonly #log: Log;
  #pool: pg.Pool | null = null;
  #runner: Runner | null = null;
  #timer: NodeJS.Timeout | undefined;
  #stopped = false;

  private constructor(url: string, log: Log) {
    this.#url = url;
    this.#log = log;
  }

  /** Bring the queue's own tables to the library's shape. */
  static async open(url: string, log: Log): Promise<DatabaseQueue> {
    const queue = new DatabaseQueue(url, log);
    const client = new pg.Client({ connectionString: url });
    client.on("error", () => {}); // the statement under way says so
    await client.connect();
    try {
      await client.query("select pg_advisory_lock($1)", [SHAPING]); // one process at a time
      await runMigrations({ connectionString: url, maxPoolSize: 1, logger: queue.#logger() });
    } finally {
      await client.end();
    }
    return queue;
  }

  async put(trx: Db, { id, priority, due_at }: Waiting): Promise<void> {
    await sql`select graphile_worker.add_job('job', json_build_object('id', ${id}::text), job_key := ${id},
      run_at := ${due_at}::timestamptz, priority := ${priority}::int, max_attempts := 1)`.execute(trx);
  }

  async putForgotten(db: Db): Promise<void> {
    const { rows } = await sql<Waiting>`select id, priority, due_at from jobs where state = 'waiting'
      and due_at < ${inMs(-FORGOTTEN_MS)} and not exists (select from graphile_worker.jobs as handed
      where handed.key = jobs.id and handed.locked_by is null and handed.attempts < handed.max_attempts) limit 100`.execute(
      db,
    );
    for (const job of rows) await this.put(db, job);
  }

  async start(rows: JobRows, places: number, work: Work): Promise<void> {
    if (places === 0) return;
    const pool = new pg.Pool({ connectionString: this.#url, application_name: "deckbands queue", max: places + 3 });
    unheard(pool);
    this.#pool = pool;
    const begin = async () => {
      this.#runner = await run({
        pgPool: pool,
        concurrency: places,
        pollInterval: LOOK_MS,
        noHandleSignals: true,
        // only what it ends in batches does it try again, whatever goes wrong, and never lets it bring the process down
        preset: { worker: { completeJobBatchDelay: 0, failJobBatchDelay: 0 } },
        logger: this.#logger(),
        taskList: {
          job: async (payload) => {
            const job = await rows.take((payload as { id: string }).id);
            if (job) await work(job);
          },
        },
      });
      await this.#runner.promise;
    };
    const keepOn = () => {
      begin()
        .catch((error: unknown) => this.#log.error({ err: error }, "the queue broke down"))
        .finally(() => {
          if (!this.#stopped) this.#timer = setTimeout(keepOn, AGAIN_MS);
        });
    };
    keepOn();
  }

  wake(): void {} // the database tells

  async stop(): Promise<void> {
    this.#stopped = true;
    clearTimeout(this.#timer);
    await this.#runner?.stop().catch(() => {}); // it has stopped already
    const pool = this.#pool;
    this.#pool = null;
    await pool?.end();
  }

  #logger(): Logger {
    return new Logger(() => (level, message) => {
      if (level === "error") this.#log.error(message);
      else if (level === "warning") this.#log.warn(message);
    });
  }
}

const SHAPING = 7306003;
