import { EventEmitter } from "node:events";
import type { DoneEvent, NewReading, Problem, StageEvent } from "../vision/contract/index.ts";
import { problem, RequestError } from "./problems.ts";
import { MOST_WAITING, type Reader, ReaderError } from "./reader.ts";
import { sha256 } from "./sha256.ts";
import type { Store } from "./store.ts";
import { VERSION } from "./version.ts";

/** What is told while a reading is made; `done` or `problem` comes last. */
export type JobEvent =
  | { readonly event: "stage"; readonly data: StageEvent }
  | { readonly event: "done"; readonly data: DoneEvent }
  | { readonly event: "problem"; readonly data: Problem };

interface Job {
  last: JobEvent;
  readonly news: EventEmitter;
  /** How many asked for it and still wait. */
  askers: number;
  readonly stop: AbortController;
}

/** Failures remembered, so that whoever asks later hears why. */
const MOST_FAILURES = 200;

/** Readings under way. A finished one lives in the store. */
export class Jobs {
  readonly #reader: Reader;
  readonly #store: Store;
  readonly #jobs = new Map<string, Job>();
  readonly #failures = new Map<string, JobEvent & { event: "problem" }>();

  constructor(reader: Reader, store: Store) {
    this.#reader = reader;
    this.#store = store;
  }

  /**
   * Start a reading. The same photo, name, notes and program version give the same id, and are read once.
   *
   * @throws {RequestError} `not-found` for a photo that is not kept; `busy`.
   */
  async start(asked: NewReading): Promise<string> {
    const photo = await this.#store.photo(asked.photo);
    if (!photo) throw new RequestError("not-found", "This photo is no longer kept here. Send it again.");
    const id = sha256(JSON.stringify([VERSION, photo.receipt.name, asked]));
    if (this.#joined(id) || (await this.#store.reading(id))) return id;
    if (this.#reader.waiting >= MOST_WAITING) {
      throw new RequestError("busy", "Too many photos wait to be read. Try again in a minute.");
    }
    if (this.#joined(id)) return id; // asked twice while we looked
    this.#failures.delete(id);
    const last: JobEvent = { event: "stage", data: { stage: "waiting" } };
    const job: Job = { last, news: new EventEmitter(), askers: 1, stop: new AbortController() };
    this.#jobs.set(id, job);
    void this.#work(id, job, asked, photo);
    return id;
  }

  /** One who asked does not wait any more; when nobody does, the work is dropped. @returns false: not under way. */
  leave(id: string): boolean {
    const job = this.#jobs.get(id);
    if (!job) return false;
    job.askers--;
    if (job.askers > 0) return true;
    job.stop.abort();
    this.#end(id, job); // at once, so that whoever asks again starts it anew
    return true;
  }

  #joined(id: string): boolean {
    const job = this.#jobs.get(id);
    if (job) job.askers++;
    return job !== undefined;
  }

  #end(id: string, job: Job): void {
    if (this.#jobs.get(id) === job) this.#jobs.delete(id);
  }

  /** The latest news of a reading that is under way or failed. */
  latest(id: string): JobEvent | null {
    return this.#jobs.get(id)?.last ?? this.#failures.get(id) ?? null;
  }

  /** Hear the news of a reading under way, the latest at once. @returns stops listening; null when it is not under way. */
  listen(id: string, hear: (event: JobEvent) => void): (() => void) | null {
    const job = this.#jobs.get(id);
    if (!job) return null;
    hear(job.last);
    job.news.on("news", hear);
    return () => job.news.off("news", hear);
  }

  async #work(
    id: string,
    job: Job,
    asked: NewReading,
    photo: NonNullable<Awaited<ReturnType<Store["photo"]>>>,
  ): Promise<void> {
    const { corners, deck = null, taps, profile, settings, aim } = asked;
    const notes = { taps: taps?.taps, profile, settings, aim };
    const task = { bytes: photo.bytes, name: photo.receipt.name, deck, corners, notes, pictures: true };
    try {
      const hear = (stage: string) => tell(job, { event: "stage", data: { stage: stage as StageEvent["stage"] } });
      const outcome = await this.#reader.read(task, hear, job.stop.signal);
      if (outcome.problem) throw new ReaderError(outcome.problem.code, outcome.problem.message);
      await this.#store.addReading(id, outcome);
      tell(job, { event: "done", data: { id, usable: outcome.reading.quality.usable } });
    } catch (error) {
      if (!(error instanceof ReaderError)) console.error(error);
      const why =
        error instanceof ReaderError
          ? problem(error.code, error.message)
          : problem(
              "internal",
              "The reading could not be kept. Try again; if it happens again, tell whoever runs this.",
            );
      if (!job.stop.signal.aborted) this.#remember(id, { event: "problem", data: why });
      tell(job, { event: "problem", data: why });
    } finally {
      this.#end(id, job);
    }
  }

  #remember(id: string, failure: JobEvent & { event: "problem" }): void {
    this.#failures.set(id, failure);
    const [oldest] = this.#failures.keys();
    if (this.#failures.size > MOST_FAILURES && oldest !== undefined) this.#failures.delete(oldest);
  }
}

function tell(job: Job, event: JobEvent): void {
  job.last = event;
  job.news.emit("news", event);
}
