import type { Logger as Log } from "pino";
import type { Db } from "../storage/database.ts";
import type { JobRow, JobRows } from "./rows.ts";

/** A job as it waits. */
export type Waiting = Pick<JobRow, "id" | "priority" | "due_at">;
/** Sees a job that this process has taken to its end; never fails. */
export type Work = (job: JobRow) => Promise<void>;

/** Decides who works on which job next. What a job is, and how far it has come, stands in its row. */
export interface Queue {
  /** Have it handed out, not before it is due: with its row or not at all. */
  put(trx: Db, job: Waiting): Promise<void>;
  /** Have jobs that wait handed out, though whoever was given them is gone. */
  putForgotten(db: Db): Promise<void>;
  /** Hand out jobs, `places` at a time, until stopped. */
  start(rows: JobRows, places: number, work: Work): Promise<void>;
  /** There may be something to do. */
  wake(): void;
  /** Hand out nothing more; resolves when what was handed out has come to its end. */
  stop(): Promise<void>;
}

/** The rows themselves are the queue, for one process or for few. */
export class RowQueue implements Queue {
  readonly #log: Log;
  readonly #running = new Set<Promise<void>>();
  #filling: Promise<void> | null = null;
  #fill: (() => Promise<void>) | null = null;
  #again = false;
  #stopped = false;

  constructor(log: Log) {
    this.#log = log;
  }

  async put(): Promise<void> {} // its row is all that is needed

  async putForgotten(): Promise<void> {} // a row that waits is seen by everyone

  async start(rows: JobRows, places: number, work: Work): Promise<void> {
    this.#fill = async () => {
      while (this.#again && !this.#stopped) {
        this.#again = false;
        while (this.#running.size < places && !this.#stopped) {
          const job = await rows.claim().catch((error: unknown) => {
            this.#log.error({ err: error }, "no job can be taken");
            return null;
          });
          if (!job) break;
          const end = work(job).finally(() => {
            this.#running.delete(end);
            this.wake();
          });
          this.#running.add(end);
        }
      }
    };
    this.wake();
  }

  wake(): void {
    this.#again = true;
    this.#filling ??= (this.#fill?.() ?? Promise.resolve()).finally(() => {
      this.#filling = null;
    });
  }

  async stop(): Promise<void> {
    this.#stopped = true;
    await this.#filling;
    await Promise.all(this.#running);
  }
}
