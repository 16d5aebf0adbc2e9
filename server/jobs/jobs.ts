import type { Logger } from "pino";
import type { DoneEvent, Job, NewReading, Problem, StageEvent } from "../../vision/contract/index.ts";
import { PROGRAM } from "../made-by.ts";
import { problem, RequestError } from "../problems.ts";
import type { Reader } from "../reader.ts";
import { sha256 } from "../sha256.ts";
import type { Caller } from "../storage/caller.ts";
import type { Data } from "../storage/data.ts";
import type { Ask, Page } from "../storage/pages.ts";
import type { JobState } from "../storage/tables.ts";
import type { Queue } from "./queue.ts";
import { type JobRow, JobRows, type Payload, problemOf, ReportSpan, tellJob } from "./rows.ts";
import { Runner } from "./runner.ts";

/** What is told while a reading is made; `done` or `problem` comes last. */
export type JobEvent =
  | { readonly event: "stage"; readonly data: StageEvent }
  | { readonly event: "done"; readonly data: DoneEvent }
  | { readonly event: "problem"; readonly data: Problem };

/** How much may wait before more is refused, so that a runaway program does not fill the queue for everyone. */
const MOST_WAITING = 20_000;
/** Who waits before a screen goes before what can wait. */
const PRIORITY = { reading: 0, report: 5, remake: 10 };
/** What is told, beside jobs by their ids: that nobody wants this one any more. */
const DROPPED = "dropped";
const STOPPED = problem("stopped", "Reading this photo was stopped because nobody waits for it any more.");

/** Readings asked for: kept as rows, done one after another, told to whoever listens. */
export class Jobs {
  readonly #data: Data;
  readonly #rows: JobRows;
  readonly #runner: Runner;
  readonly #queue: Queue;

  /**
   * @param places  Photos read at the same time; 0: jobs are kept, and wait.
   * @param read    Hears of each usable reading that was kept: its site and id.
   */
  constructor(
    data: Data,
    queue: Queue,
    reader: Reader,
    places: number,
    log: Logger,
    read: (site: string, id: string) => void,
  ) {
    this.#data = data;
    this.#queue = queue;
    this.#rows = new JobRows(data.db, queue);
    this.#runner = new Runner(
      data,
      this.#rows,
      queue,
      reader,
      places,
      {
        stage: (id, stage) => this.#tell(id, { event: "stage", data: { stage: stage as StageEvent["stage"] } }),
        done: (id, usable) => this.#tell(id, { event: "done", data: { id, usable } }),
        read,
        failed: (id, why) => this.#tell(id, { event: "problem", data: why }),
      },
      log,
    );
    data.wire.hear(DROPPED, (id: string) => this.#runner.drop(id));
  }

  start(): void {
    this.#runner.start();
  }

  stop(graceMs: number): Promise<void> {
    return this.#runner.stop(graceMs);
  }

  /**
   * Ask for a reading. The same photo, name, notes and program give the same id, and are read once.
   *
   * @throws {RequestError} `not-found` for a photo or deck that is not kept; `body-wrong`; `busy`.
   */
  async ask(caller: Caller, request: NewReading): Promise<string> {
    const { deckId, ...asked } = request;
    if (deckId === undefined) return this.#add(caller, "reading", payloadOf(asked, null, null));
    if (asked.deck) throw new RequestError("body-wrong", "Give `deck` or `deckId`, not both.");
    const { file: deck, version } = await this.#data.decks.one(caller, deckId);
    return this.#add(caller, "reading", { ...payloadOf({ ...asked, deck }, deckId, version) });
  }

  /** Ask for a kept reading to be made anew by this program, from what was asked then. @throws {RequestError} `not-found`. */
  async remake(caller: Caller, id: string): Promise<string> {
    const { asked, row } = await this.#data.readings.asked(caller, id);
    if (row.program === PROGRAM) return id;
    return this.#add(caller, "remake", { ...payloadOf(asked, row.deck_id, row.deck_version), remadeFrom: id });
  }

  async #add(caller: Caller, kind: JobRow["kind"], payload: Payload): Promise<string> {
    const photo = await this.#data.photos.find(caller, payload.asked.photo);
    if (!photo) throw new RequestError("not-found", "This photo is no longer kept here. Send it again.");
    const { asked, deckId, deckVersion } = payload;
    const id = sha256(JSON.stringify([PROGRAM, caller.site, photo.name, asked, deckId, deckVersion]));
    if (await this.#data.readings.has(caller, id)) return id;
    if ((await this.#rows.waiting()) >= MOST_WAITING)
      throw new RequestError("busy", "Too many photos wait to be read. Try again later.");
    await this.#rows.add(id, caller, kind, payload, PRIORITY[kind]);
    this.#queue.wake();
    return id;
  }

  /** Ask for a run, or a part of it, to be told, as it stands when its turn comes. @throws {RequestError} `not-found`. */
  async report(caller: Caller, run: string, span: ReportSpan, newId: () => string): Promise<string> {
    await this.#data.runs.one(caller, run);
    const id = sha256(`report ${newId()}`);
    await this.#rows.add(id, caller, "report", { run, span }, PRIORITY.report);
    this.#queue.wake();
    return id;
  }

  /** One who asked does not wait any more; when nobody does, the work is dropped. @returns false: not under way. */
  async leave(caller: Caller, id: string): Promise<boolean> {
    const left = await this.#rows.leave(caller, id);
    if (left === 0) this.#dropped(id);
    return left !== null;
  }

  /** @throws {RequestError} `not-found`; `ended`. */
  async cancel(caller: Caller, id: string): Promise<Job> {
    if (await this.#rows.cancel(caller, id)) this.#dropped(id);
    else if (await this.one(caller, id)) throw new RequestError("ended", "This job has ended already.");
    return this.one(caller, id);
  }

  /** Begin a job anew that was given up or cancelled. @throws {RequestError} `not-found`; `ended`. */
  async retry(caller: Caller, id: string): Promise<Job> {
    const row = await this.#must(caller, id);
    if (row.state !== "given-up" && row.state !== "cancelled") {
      throw new RequestError("ended", "Only a job that was given up or cancelled can begin anew.");
    }
    const payload = JSON.parse(row.payload_json);
    const subject = row.run_id === null ? payload : { run: row.run_id, span: ReportSpan.parse(payload) };
    await this.#rows.add(id, caller, row.kind, subject, row.priority);
    this.#queue.wake();
    return this.one(caller, id);
  }

  /** End all work on a photo that is about to go. */
  async forget(caller: Caller, photo: string): Promise<void> {
    for (const id of await this.#rows.cancelPhoto(caller, photo)) this.#dropped(id);
  }

  /** @throws {RequestError} `not-found`. */
  async one(caller: Caller, id: string): Promise<Job> {
    return tellJob(await this.#must(caller, id));
  }

  list(caller: Caller, ask: Ask, state: JobState | undefined): Promise<Page<Job>> {
    return this.#rows.list(caller, ask, state);
  }

  counts() {
    return this.#rows.counts();
  }

  /** The latest news of a reading that is under way or was given up. */
  async latest(caller: Caller, id: string): Promise<JobEvent | null> {
    const row = await this.#rows.find(caller, id);
    return row && row.state !== "cancelled" ? latestOf(row) : null;
  }

  /** Hear what becomes of a reading from now on. @returns stops listening. */
  listen(id: string, hear: (event: JobEvent) => void): () => void {
    return this.#data.wire.hear(id, hear);
  }

  #dropped(id: string): void {
    this.#runner.drop(id);
    this.#data.wire.tell(DROPPED, id); // another process may be at it
    this.#tell(id, { event: "problem", data: STOPPED });
  }

  #tell(id: string, event: JobEvent): void {
    this.#data.wire.tell(id, event);
  }

  async #must(caller: Caller, id: string): Promise<JobRow> {
    const row = await this.#rows.find(caller, id);
    if (!row) throw new RequestError("not-found", "There is no such job here.");
    return row;
  }
}

/** null: it is done. */
function latestOf(row: JobRow): JobEvent | null {
  if (row.state === "done") return null;
  if (row.state === "cancelled") return { event: "problem", data: STOPPED };
  const failed = row.state === "given-up" ? problemOf(row) : null;
  if (failed) return { event: "problem", data: failed };
  return { event: "stage", data: { stage: row.stage as StageEvent["stage"] } };
}

const payloadOf = (asked: NewReading, deckId: string | null, deckVersion: number | null): Payload => ({
  asked,
  deckId,
  deckVersion,
  remadeFrom: null,
});
