import { hostname } from "node:os";
import type { ExpressionBuilder, UpdateObject } from "kysely";
import { z } from "zod";
import { type Job, NewReading, type Problem } from "../../vision/contract/index.ts";
import type { Caller } from "../storage/caller.ts";
import { type Db, isPostgres, type Trx } from "../storage/database.ts";
import { inMs, newId, now } from "../storage/naming.ts";
import { type Ask, newestFirst, type Page, pageOf } from "../storage/pages.ts";
import type { JobState, Row, Tables } from "../storage/tables.ts";
import type { Queue } from "./queue.ts";

export type JobRow = Row<"jobs">;

/** What a worker needs to know to read a photo. */
export const Payload = z.object({
  asked: NewReading,
  deckId: z.string().nullable(),
  deckVersion: z.number().nullable(),
  remadeFrom: z.string().nullable(),
});
export type Payload = z.infer<typeof Payload>;

/** Which part of a run a report is of, as clocks at the table show it (null: no end there), and in which language. */
export const ReportSpan = z.object({
  from: z.string().nullable().default(null),
  to: z.string().nullable().default(null),
  /** That it is written in (BCP 47). */
  language: z.string().default("en"),
});
export type ReportSpan = z.infer<typeof ReportSpan>;

/** What a job is of: a photo with what was asked, or a part of a run. */
export type Subject = Payload | { readonly run: string; readonly span: ReportSpan };

/** How long a worker's word that it is at work is believed. It says so again three times as often. */
export const LEASE_MS = 10_000;
/** So often may the server stop under a job before the job itself is suspected, and given up. */
const MOST_INTERRUPTIONS = 20;
/** Each time it waits longer to be taken again, so that the others go first, ms. */
const interruptedMs = (times: number) => Math.min(60_000, 500 * 2 ** (times - 1));

/** A job whose worker is gone, or that waits, may be taken by anyone; `claim` sees to it that one gets it. */
export class JobRows {
  readonly #db: Db;
  readonly #queue: Queue;
  /** Names this process among all that ever work on this database. */
  readonly #holder = `${hostname()} ${process.pid} ${newId()}`;

  constructor(db: Db, queue: Queue) {
    this.#db = db;
    this.#queue = queue;
  }

  /** Ask for a job; one that is under way gets one more asker, one that has ended begins anew. */
  async add(id: string, { site }: Caller, kind: JobRow["kind"], of: Subject, priority: number): Promise<void> {
    const begun = {
      kind,
      payload_json: JSON.stringify("run" in of ? of.span : of),
      priority,
      state: "waiting" as const,
      askers: 1,
      due_at: now(),
    };
    const counts = { tries: 0, interruptions: 0, stage: "waiting" };
    const none = { holder: null, lease_until: null, problem_json: null, ended_at: null };
    const anew = { ...begun, ...counts, ...none };
    const subject = "run" in of ? { photo: null, run_id: of.run } : { photo: of.asked.photo, run_id: null };
    await this.#db.transaction().execute(async (trx) => {
      const { numInsertedOrUpdatedRows: isNew } = await trx
        .insertInto("jobs")
        .values({ id, site_id: site, asked_at: now(), ...subject, ...anew })
        .onConflict((on) => on.column("id").doNothing())
        .executeTakeFirstOrThrow();
      if (isNew) return this.#queue.put(trx, { id, priority, due_at: anew.due_at });
      const { numUpdatedRows: underWay } = await trx
        .updateTable("jobs")
        .set(({ eb }) => ({ askers: eb("askers", "+", 1) }))
        .where("id", "=", id)
        .where("state", "in", ["waiting", "working"])
        .executeTakeFirstOrThrow();
      if (underWay) return;
      await trx.updateTable("jobs").set(anew).where("id", "=", id).execute();
      await this.#queue.put(trx, { id, priority, due_at: anew.due_at });
    });
  }

  /** The next job that is due, for `LEASE_MS`; null when there is none. */
  async claim(): Promise<JobRow | null> {
    return this.#db.transaction().execute(async (trx) => {
      const next = await trx
        .selectFrom("jobs")
        .select("id")
        .where("state", "=", "waiting")
        .where("due_at", "<=", now())
        .orderBy("priority")
        .orderBy("due_at")
        .limit(1)
        .executeTakeFirst();
      return next ? this.take(next.id, trx) : null;
    });
  }

  /** This one, where it waits, for `LEASE_MS`; null when it does not. */
  async take(id: string, db: Db = this.#db): Promise<JobRow | null> {
    const taken = await db
      .updateTable("jobs")
      .set(({ eb }) => ({
        state: "working",
        tries: eb("tries", "+", 1),
        holder: this.#holder,
        lease_until: inMs(LEASE_MS),
      }))
      .where("id", "=", id)
      .where("state", "=", "waiting")
      .returningAll()
      .executeTakeFirst();
    return taken ?? null;
  }

  /** Say that these are still worked on. @returns those that are this process's no more: somebody cancelled them. */
  async renew(ids: readonly string[]): Promise<string[]> {
    if (ids.length === 0) return [];
    const kept = await this.#mine(ids)
      .set({ lease_until: inMs(LEASE_MS) })
      .returning("id")
      .execute();
    return ids.filter((id) => !kept.some((row) => row.id === id));
  }

  async reach(id: string, stage: string): Promise<void> {
    await this.#mine([id]).set({ stage }).execute();
  }

  /** In the transaction that keeps what came of it. @returns false when the job is not this process's any more. */
  async finish(trx: Trx, id: string): Promise<boolean> {
    const done = await this.#mine([id], trx)
      .set({ state: "done", stage: "done", ended_at: now(), problem_json: null, holder: null, lease_until: null })
      .executeTakeFirst();
    return done.numUpdatedRows === 1n;
  }

  /** @param retryInMs  When to try again; null gives it up. */
  async fail(id: string, problem: Problem, retryInMs: number | null, countsAsTry = true): Promise<void> {
    const problem_json = JSON.stringify(problem);
    const free = { holder: null, lease_until: null, stage: "waiting", problem_json };
    if (retryInMs === null) {
      await this.#mine([id])
        .set({ ...free, state: "given-up", ended_at: now() })
        .execute();
      return;
    }
    await this.#wait(id, (eb) => ({
      ...free,
      due_at: inMs(retryInMs),
      tries: countsAsTry ? eb.ref("tries") : eb("tries", "-", 1),
    }));
  }

  /** Give back what is not finished, since this process stops. It does not count as a try. */
  async release(id: string): Promise<void> {
    await this.#wait(id, (eb) => ({ stage: "waiting", holder: null, lease_until: null, tries: eb("tries", "-", 1) }));
  }

  /** Have one's own job wait again. */
  async #wait(id: string, set: (eb: ExpressionBuilder<Tables, "jobs">) => UpdateObject<Tables, "jobs">): Promise<void> {
    await this.#db.transaction().execute(async (trx) => {
      const waits = await this.#mine([id], trx)
        .set((eb) => ({ ...set(eb), state: "waiting" }))
        .returning(["id", "priority", "due_at"])
        .executeTakeFirst();
      if (waits) await this.#queue.put(trx, waits);
    });
  }

  /**
   * Let jobs whose worker is gone be taken again: its lease has run out, or its process on this machine is no more.
   * Being stopped under is no fault of the photo, so it does not count as a try; too often, the job is given up.
   */
  async recover(whyGivenUp: Problem): Promise<void> {
    const working = await this.#db
      .selectFrom("jobs")
      .select(["id", "holder", "lease_until", "interruptions"])
      .where("state", "=", "working")
      .execute();
    for (const { id, holder, lease_until, interruptions } of working) {
      if (holder === this.#holder || (!this.#isGone(holder ?? "") && (lease_until ?? "") >= now())) continue;
      const hopeless = interruptions + 1 >= MOST_INTERRUPTIONS;
      await this.#db.transaction().execute(async (trx) => {
        const waits = await trx
          .updateTable("jobs")
          .set(({ eb }) => ({
            state: hopeless ? "given-up" : "waiting",
            ended_at: hopeless ? now() : null,
            problem_json: hopeless ? JSON.stringify(whyGivenUp) : null,
            stage: "waiting",
            due_at: inMs(interruptedMs(interruptions + 1)),
            tries: eb("tries", "-", 1),
            interruptions: eb("interruptions", "+", 1),
            holder: null,
            lease_until: null,
          }))
          .where("id", "=", id)
          .where("state", "=", "working")
          .where("holder", "=", holder)
          .returning(["id", "priority", "due_at"])
          .executeTakeFirst();
        if (waits && !hopeless) await this.#queue.put(trx, waits);
      });
    }
    await this.#queue.putForgotten(this.#db);
  }

  /** Whether the process that `holder` names ran on this machine and is there no more; elsewhere only its lease tells. */
  #isGone(holder: string): boolean {
    return !isPostgres(this.#db) && isGone(holder);
  }

  /** One asker less. @returns how many still wait; null when the job is not under way. */
  async leave({ site }: Caller, id: string): Promise<number | null> {
    const row = await this.#db
      .updateTable("jobs")
      .set(({ eb }) => ({ askers: eb("askers", "-", 1) }))
      .where("site_id", "=", site)
      .where("id", "=", id)
      .where("state", "in", ["waiting", "working"])
      .returning("askers")
      .executeTakeFirst();
    if (!row) return null;
    if (row.askers <= 0) await this.cancel({ site }, id);
    return Math.max(0, row.askers);
  }

  /** @returns false when it is not under way. */
  async cancel({ site }: Pick<Caller, "site">, id: string): Promise<boolean> {
    const done = await this.#db
      .updateTable("jobs")
      .set({ state: "cancelled", ended_at: now(), holder: null, lease_until: null, problem_json: null })
      .where("site_id", "=", site)
      .where("id", "=", id)
      .where("state", "in", ["waiting", "working"])
      .executeTakeFirst();
    return done.numUpdatedRows === 1n;
  }

  /** Cancel all work on a photo. @returns what was under way. */
  async cancelPhoto(caller: Caller, photo: string): Promise<string[]> {
    const rows = await this.#db
      .selectFrom("jobs")
      .select("id")
      .where("site_id", "=", caller.site)
      .where("photo", "=", photo)
      .where("state", "in", ["waiting", "working"])
      .execute();
    for (const { id } of rows) await this.cancel(caller, id);
    return rows.map(({ id }) => id);
  }

  async find({ site }: Caller, id: string): Promise<JobRow | null> {
    const query = this.#db.selectFrom("jobs").selectAll().where("site_id", "=", site).where("id", "=", id);
    return (await query.executeTakeFirst()) ?? null;
  }

  async list({ site }: Caller, ask: Ask, state: JobState | undefined): Promise<Page<Job>> {
    const rows = await this.#db
      .selectFrom("jobs")
      .selectAll()
      .where("site_id", "=", site)
      .$if(state !== undefined, (query) => query.where("state", "=", state!))
      .$call(newestFirst(ask, "asked_at", "id"))
      .execute();
    return pageOf(rows, ask, (row) => [row.asked_at, row.id], tellJob);
  }

  async waiting(): Promise<number> {
    const query = this.#db.selectFrom("jobs").select(({ fn }) => fn.countAll<number>().as("count"));
    return Number((await query.where("state", "=", "waiting").executeTakeFirstOrThrow()).count);
  }

  /** How many jobs of all sites are in each state. */
  async counts(): Promise<Partial<Record<JobState, number>>> {
    const rows = await this.#db
      .selectFrom("jobs")
      .select(["state", ({ fn }) => fn.countAll<number>().as("count")])
      .groupBy("state")
      .execute();
    return Object.fromEntries(rows.map(({ state, count }) => [state, Number(count)]));
  }

  #mine(ids: readonly string[], db: Db = this.#db) {
    return db
      .updateTable("jobs")
      .where("id", "in", ids)
      .where("state", "=", "working")
      .where("holder", "=", this.#holder);
  }
}

/** Whether the process that `holder` names ran on this machine and is there no more. */
function isGone(holder: string): boolean {
  const [host, pid] = holder.split(" ");
  if (host !== hostname()) return false;
  if (Number(pid) === process.pid) return true; // an earlier process had our number
  try {
    process.kill(Number(pid), 0);
    return false;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === "ESRCH";
  }
}

export const problemOf = (row: JobRow): Problem | null =>
  row.problem_json === null ? null : JSON.parse(row.problem_json);

export function tellJob(row: JobRow): Job {
  const problem = problemOf(row);
  return {
    id: row.id,
    kind: row.kind,
    photo: row.photo,
    run: row.run_id,
    state: row.state,
    stage: row.stage,
    tries: row.tries,
    askedAt: row.asked_at,
    dueAt: row.state === "waiting" ? row.due_at : null,
    endedAt: row.ended_at,
    problem: problem && { code: problem.code, detail: problem.detail },
  };
}
