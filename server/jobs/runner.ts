import type { Logger } from "pino";
import type { NewReading, Problem } from "../../vision/contract/index.ts";
import { problem, toProblem } from "../problems.ts";
import { type Reader, ReaderError, type Task } from "../reader.ts";
import type { Data } from "../storage/data.ts";
import { isAway, isDiskFull } from "../storage/store-faults.ts";
import type { Queue } from "./queue.ts";
import { tellRun } from "./report.ts";
import { packCsv } from "./report-data.ts";
import { writePage } from "./report-page.ts";
import { writePdf } from "./report-pdf.ts";
import { type JobRow, type JobRows, LEASE_MS, Payload, ReportSpan } from "./rows.ts";

/** How often jobs of other processes, and those that wait for their next try, are looked for, ms. */
const LOOK_MS = 1000;
/** Tries of a photo that brings its process down, and of one that takes too long. */
const TRIES: Readonly<Record<string, number>> = { "engine-failed": 3, "photo-timeout": 2 };
/** Wait before the second try; each later one waits four times as long, ms. */
const FIRST_RETRY_MS = 500;
/** A full disk, or a fault of ours, is waited out this long, ms. */
const DISK_RETRY_MS = 5000;

/** Why a job did not come to its end, where that is no fault of the photo. */
const WHY_NOT: Readonly<Record<string, string>> = {
  "disk-full": "The server's disk is full.",
  "storage-away": "What the server keeps things in cannot be reached.",
};

/** What is told of a job under way. */
export interface News {
  stage(id: string, stage: string): void;
  done(id: string, usable: boolean): void;
  failed(id: string, why: Problem): void;
  /** A usable reading was kept. */
  read(site: string, id: string): void;
}

/** Takes jobs as reading processes are free, and sees each to its end. */
export class Runner {
  readonly #data: Data;
  readonly #rows: JobRows;
  readonly #queue: Queue;
  readonly #reader: Reader;
  readonly #places: number;
  readonly #news: News;
  readonly #log: Logger;
  readonly #running = new Set<{ readonly id: string; readonly stop: AbortController }>();
  #timers: NodeJS.Timeout[] = [];

  constructor(data: Data, rows: JobRows, queue: Queue, reader: Reader, places: number, news: News, log: Logger) {
    this.#data = data;
    this.#rows = rows;
    this.#queue = queue;
    this.#reader = reader;
    this.#places = places;
    this.#news = news;
    this.#log = log;
  }

  start(): void {
    if (this.#places === 0) return;
    this.#timers = [setInterval(() => this.#look(), LOOK_MS), setInterval(() => this.#renew(), LEASE_MS / 3)];
    this.#look();
    this.#queue
      .start(this.#rows, this.#places, (job) => this.#run(job))
      .catch((error) => this.#log.error({ err: error }, "no job can be taken"));
  }

  /** End the work on a job that nobody wants any more. */
  drop(id: string): void {
    for (const work of this.#running) if (work.id === id) work.stop.abort();
  }

  /** Take nothing more; what is not done after `graceMs` is given back, for whoever comes next. */
  async stop(graceMs: number): Promise<void> {
    const over = this.#queue.stop();
    let timer: NodeJS.Timeout | undefined;
    await Promise.race([over, new Promise((late) => (timer = setTimeout(late, graceMs)))]);
    clearTimeout(timer);
    for (const { id, stop } of this.#running) {
      await this.#rows.release(id).catch((error) => this.#log.error({ err: error }, "a job cannot be given back"));
      stop.abort();
    }
    await over;
    for (const each of this.#timers) clearInterval(each);
  }

  #look(): void {
    const why = problem("engine-failed", "The server stopped again and again while this photo was read.");
    this.#rows.recover(why).then(
      () => this.#queue.wake(),
      (error) => this.#log.error({ err: error }, "jobs cannot be looked for"),
    );
  }

  #renew(): void {
    this.#rows.renew([...this.#running].map(({ id }) => id)).then(
      (lost) => {
        for (const id of lost) this.drop(id);
      },
      (error) => this.#log.error({ err: error }, "jobs cannot be renewed"),
    );
  }

  async #run(job: JobRow): Promise<void> {
    const work = { id: job.id, stop: new AbortController() };
    this.#running.add(work);
    await this.#work(job, work.stop.signal).finally(() => this.#running.delete(work));
  }

  async #work(job: JobRow, signal: AbortSignal): Promise<void> {
    const started = performance.now();
    try {
      const usable = job.kind === "report" ? await this.#tell(job, signal) : await this.#read(job, signal);
      if (usable !== null) this.#news.done(job.id, usable);
      this.#log.info(
        { job: job.id, ms: Math.round(performance.now() - started), kind: job.kind, tries: job.tries },
        "job done",
      );
    } catch (error) {
      if (signal.aborted) return; // its row says already what became of it
      await this.#failed(job, error).catch((worse) => this.#log.error({ err: worse }, "a failure cannot be kept"));
    }
  }

  /** @returns whether the photo was usable; null when the job was cancelled meanwhile. @throws {ReaderError} */
  async #read(job: JobRow, signal: AbortSignal): Promise<boolean | null> {
    const { site_id: site, id } = job;
    const payload = Payload.parse(JSON.parse(job.payload_json));
    const photo = await this.#data.photos.find({ site, person: "" }, payload.asked.photo);
    const bytes = photo && (await this.#data.blobs.read(photo.sha256));
    if (!bytes)
      throw new ReaderError({ code: "not-found", message: "This photo is no longer kept here. Send it again." });
    const hear = (stage: string) => {
      this.#news.stage(id, stage);
      this.#rows.reach(id, stage).catch((error) => this.#log.warn({ err: error }, "a stage cannot be kept"));
    };
    const outcome = await this.#reader.tryRead(taskOf(payload.asked, photo.name, bytes), hear, signal);
    if (outcome.problem) throw new ReaderError(outcome.problem);
    const kept = await this.#data.readings.add(site, { id, ...payload }, outcome, (trx) => this.#rows.finish(trx, id));
    if (kept && outcome.reading.quality.usable) this.#news.read(site, id);
    return kept ? outcome.reading.quality.usable : null;
  }

  /** @returns true; null when the job was cancelled meanwhile. */
  async #tell(job: JobRow, signal: AbortSignal): Promise<true | null> {
    const { site_id: site, id, run_id: run } = job;
    if (run === null) throw new ReaderError({ code: "not-found", message: "There is no such run here." });
    const span = ReportSpan.parse(JSON.parse(job.payload_json));
    const report = await tellRun(this.#data, { site, person: "" }, run, span, signal);
    const { title, blocks } = report;
    const files = {
      page: new TextEncoder().encode(writePage(title, blocks, span.language)),
      pdf: await writePdf(title, blocks, span.language),
      data: packCsv(report.data),
    };
    return (await this.#data.reports.add(site, id, run, files, (trx) => this.#rows.finish(trx, id))) || null;
  }

  async #failed(job: JobRow, error: unknown): Promise<void> {
    if (!(error instanceof ReaderError)) {
      const waits = isDiskFull(error) || isAway(error); // no fault of the photo, and it will pass
      const { code } = toProblem(error);
      this.#log.error({ err: error, job: job.id }, code);
      const when = waits ? "The photo will be read when that is over." : "It will be tried again.";
      const why = problem(code, `${WHY_NOT[code] ?? "What was made could not be kept."} ${when}`);
      const hopeless = !waits && job.tries >= 3;
      await this.#rows.fail(job.id, why, hopeless ? null : DISK_RETRY_MS, !waits);
      if (hopeless) this.#news.failed(job.id, why);
      else this.#news.stage(job.id, "waiting");
      return;
    }
    const why = toProblem(error);
    if (error.code === "closed") return this.#rows.release(job.id);
    if (job.tries < (TRIES[error.code] ?? 1)) {
      await this.#rows.fail(job.id, why, FIRST_RETRY_MS * 4 ** (job.tries - 1));
      this.#news.stage(job.id, "waiting");
    } else {
      await this.#rows.fail(job.id, why, null);
      this.#log.warn({ job: job.id, code: why.code }, "job given up");
      this.#news.failed(job.id, why);
    }
  }
}

function taskOf(asked: NewReading, name: string, bytes: Uint8Array): Task {
  const { corners, deck, taps, profile, settings, aim, earlier, deckState } = asked;
  return {
    bytes,
    name,
    deck: deck ?? null,
    corners,
    notes: { taps: taps?.taps, firstCorner: taps?.firstCorner, profile, settings, aim, earlier, deckState },
    pictures: true,
  };
}
