import "./fonts.ts";
import { Worker } from "node:worker_threads";
import type { DeckFileInput } from "../vision/contract/index.ts";
import type { ActionName, Actions, Outcome, Question, Received, Task, Trouble } from "./reader.worker.ts";
import { sha256 } from "./sha256.ts";

export type { Outcome, Received, Task, Trouble } from "./reader.worker.ts";

/** Something a photo's reader could not do; the code is stable and the message is for people. */
export class ReaderError extends Error {
  constructor(
    readonly code: string,
    message: string,
  ) {
    super(message);
  }
}

type Answer<Name extends ActionName> = Awaited<ReturnType<Actions[Name]>>;
interface Asked {
  readonly id: number;
  readonly name: ActionName;
  readonly args: unknown[];
  readonly onStage: (stage: string) => void;
  readonly resolve: (value: never) => void;
  readonly reject: (error: ReaderError) => void;
}
interface Reply {
  readonly id: number;
  readonly stage?: string;
  readonly value?: unknown;
  readonly trouble?: Trouble & { stack?: string };
}

/** A server refuses more than this many waiting photos, so that nobody waits for ever. */
export const MOST_WAITING = 30;

const THREAD = new URL("./reader.worker.mjs", import.meta.url);

const TOO_LONG = "Reading this photo took too long and was stopped. Send a smaller or another photo.";
const STOPPED = "Reading this photo was stopped because nobody waits for it any more.";
const CRASHED = "The program that reads photos stopped at this one. Send another photo; if it happens again, tell us.";

/**
 * One warm thread that decodes and reads photos, one at a time, in the order they were asked for.
 *
 * A WebAssembly call cannot be interrupted: a photo that takes longer than the limit, or that nobody waits for any more,
 * is stopped by ending the thread, and the next photo starts a new one. A crash is answered in the same way.
 */
export class Reader {
  readonly #limitMs: number;
  readonly #thread: URL;
  #worker: Worker | null = null;
  #queue: Asked[] = [];
  #now: Asked | null = null;
  #timer: NodeJS.Timeout | undefined;
  #lastId = 0;

  /**
   * @param limitSeconds  Longest time one photo may take, from when its turn comes.
   * @param thread  What runs in the thread.
   */
  constructor({ limitSeconds = 60, thread = THREAD }: { limitSeconds?: number; thread?: URL } = {}) {
    this.#limitMs = limitSeconds * 1000;
    this.#thread = thread;
  }

  /** Photos waiting or being worked on. */
  get waiting(): number {
    return this.#queue.length + (this.#now ? 1 : 0);
  }

  /** Load the engines before the first photo comes. */
  warm(): void {
    this.#worker ??= this.#hire();
  }

  /** Check a photo and make a JPEG of at most `maxPx`. @throws {ReaderError} with the PhotoError's code. */
  receive(bytes: Uint8Array, maxPx: number): Promise<Received> {
    return this.#ask("receive", [bytes, maxPx]);
  }

  /** @throws {ReaderError} `deck-file` when a deck file contradicts itself. */
  checkDeck(deck: DeckFileInput): Promise<void> {
    return this.#ask("checkDeck", [deck]);
  }

  /**
   * Read a photo. Every photo is answered: one that cannot be looked at with an unusable reading that says why.
   *
   * @param signal  When it aborts, the photo leaves the queue, or the thread under it ends.
   * @throws {ReaderError} `stopped` after that; `closed`.
   */
  async read(task: Task, onStage: (stage: string) => void = () => {}, signal?: AbortSignal): Promise<Outcome> {
    try {
      return await this.#ask("read", [task], onStage, signal);
    } catch (error) {
      if (!(error instanceof ReaderError) || error.code === "closed" || error.code === "stopped") throw error;
      return this.refuse({ name: task.name, sha256: sha256(task.bytes) }, { code: error.code, message: error.message });
    }
  }

  /** The reading of a photo that cannot be looked at, saying why. */
  refuse(source: { name: string; sha256: string }, why: Trouble): Promise<Outcome> {
    return this.#ask("refuse", [source, why]);
  }

  /** End the thread. What still waits is rejected with code `closed`. */
  async close(): Promise<void> {
    const left = [...(this.#now ? [this.#now] : []), ...this.#queue];
    this.#queue = [];
    this.#now = null;
    clearTimeout(this.#timer);
    for (const asked of left) asked.reject(new ReaderError("closed", "The program is closing. Try again."));
    const worker = this.#worker;
    this.#worker = null;
    await worker?.terminate();
  }

  #ask<Name extends ActionName>(
    name: Name,
    args: Question<Name>,
    onStage = (_stage: string) => {},
    signal?: AbortSignal,
  ) {
    const id = ++this.#lastId;
    const stop = () => this.#stop(id);
    const answer = new Promise<Answer<Name>>((resolve, reject) => {
      this.#queue.push({ id, name, args, onStage, resolve, reject });
      if (this.#now) onStage("waiting");
      this.#next();
    });
    signal?.addEventListener("abort", stop);
    if (signal?.aborted) stop();
    return answer.finally(() => signal?.removeEventListener("abort", stop));
  }

  #stop(id: number): void {
    const at = this.#queue.findIndex((asked) => asked.id === id);
    if (this.#now?.id === id) this.#dismiss(new ReaderError("stopped", STOPPED));
    else if (at >= 0) this.#queue.splice(at, 1)[0]?.reject(new ReaderError("stopped", STOPPED));
  }

  #next(): void {
    if (this.#now) return;
    const asked = this.#queue.shift();
    if (!asked) return;
    this.#now = asked;
    this.warm();
    this.#timer = setTimeout(() => this.#dismiss(new ReaderError("photo-timeout", TOO_LONG)), this.#limitMs);
    this.#worker?.postMessage({ id: asked.id, name: asked.name, args: asked.args });
  }

  #hear({ id, stage, value, trouble }: Reply): void {
    const asked = this.#now;
    if (asked?.id !== id) return;
    if (stage !== undefined) {
      asked.onStage(stage);
      return;
    }
    this.#finish();
    if (!trouble) asked.resolve(value as never);
    else if (trouble.code !== "internal") asked.reject(new ReaderError(trouble.code, trouble.message));
    else {
      if (process.env.DECKBANDS_DEBUG) console.error(trouble.stack);
      asked.reject(new ReaderError("engine-failed", CRASHED));
    }
    this.#next();
  }

  /** End the thread under the photo it works on, answer that photo, and go on with the others. */
  #dismiss(why: ReaderError): void {
    const asked = this.#now;
    const worker = this.#worker;
    this.#worker = null;
    this.#finish();
    worker?.removeAllListeners();
    worker?.on("error", () => {});
    void worker?.terminate();
    asked?.reject(why);
    this.#next();
  }

  #finish(): void {
    clearTimeout(this.#timer);
    this.#now = null;
  }

  #hire(): Worker {
    const worker = new Worker(this.#thread);
    worker.on("message", (reply: Reply) => this.#hear(reply));
    worker.on("error", (error) => {
      if (process.env.DECKBANDS_DEBUG) console.error(error);
      this.#dismiss(new ReaderError("engine-failed", CRASHED));
    });
    worker.on("exit", () => this.#dismiss(new ReaderError("engine-failed", CRASHED)));
    return worker;
  }
}
