import "./fonts.ts";
import { fileURLToPath } from "node:url";
import Tinypool from "tinypool";
import type { DeckFileInput } from "../vision/contract/index.ts";
import { inEnglish, said, type Text } from "../vision/index.ts";
import type { MadeReference } from "./made-deck.ts";
import type * as actions from "./reader.worker.ts";
import type { Answer, Outcome, PhotoSource, Received, Task, Trouble } from "./reader.worker.ts";
import { sha256 } from "./sha256.ts";
import { Turns } from "./turns.ts";

export type { Outcome, Received, Task, Trouble } from "./reader.worker.ts";

/** Something a photo's reader could not do; the code is stable and the message is for people. */
export class ReaderError extends Error {
  readonly code: string;
  readonly said: Trouble["said"];
  constructor({ code, message, said }: Trouble) {
    super(message);
    this.code = code;
    this.said = said;
  }
}

type Actions = typeof actions;
type ActionName = keyof Actions;
type Question<Name extends ActionName> = Parameters<Actions[Name]>[0];
type ValueOf<Name extends ActionName> = Awaited<ReturnType<Actions[Name]>> extends Answer<infer Value> ? Value : never;

const troubleOf = (code: string, text: Text): Trouble => ({ code, message: inEnglish(text), said: text });

const ENTRY = new URL("./reader.worker.mjs", import.meta.url);
/** What needs no engines and must not wait behind a reading. */
const QUICK: ReadonlySet<ActionName> = new Set(["receive", "checkDeck"]);
/** Processes for that: two, so that one stubborn photo does not keep the next one waiting. */
const RECEIVERS = 2;
/** How long taking a photo in may take, ms: it is only decoded and made smaller. */
const RECEIVE_MS = 20_000;
/** How long a process may take to come up, ms; no fault of the photo that waits for it. */
const STARTING_MS = 20_000;

const TOO_LONG = troubleOf("photo-timeout", said("said.file.tooLong"));
const STOPPED = { code: "stopped", message: "Reading this photo was stopped because nobody waits for it any more." };
const CRASHED = troubleOf("engine-failed", said("said.file.crashed"));
/** A process keeps to one core: collecting garbage on others costs a sixth more of all cores' time, and they have work of their own. A larger nursery makes up for most of the wait. */
const ONE_CORE = ["--single-threaded", "--max-semi-space-size=64"];
const CLOSED = { code: "closed", message: "The program is closing. Try again." };

/**
 * Processes that decode and read photos, each one photo at a time, in the order they were asked for.
 *
 * Decoders are native code fed with strangers' bytes, and a WebAssembly call cannot be interrupted: a photo that takes
 * longer than the limit, that nobody waits for any more, or that brings its process down, costs that process only.
 */
export class Reader {
  readonly #limitMs: number;
  readonly #entry: string;
  readonly #count: number;
  readonly #apart: boolean;
  readonly #closing = new AbortController();
  readonly #turns: { readonly read: Turns; readonly receive: Turns };
  #readers: Tinypool | null = null;
  #receivers: Tinypool | null = null;
  #waiting = 0;

  /**
   * @param limitSeconds  Longest time one photo may take, from when its turn comes.
   * @param readers  Processes that read, each some 850 MB at 12 megapixels.
   * @param apart  Whether photos are taken in by processes of their own; a command reads one after another without.
   * @param entry  What runs in a process.
   */
  constructor({
    limitSeconds = 60,
    readers = 1,
    apart = true,
    entry = ENTRY,
  }: { limitSeconds?: number; readers?: number; apart?: boolean; entry?: URL } = {}) {
    this.#limitMs = limitSeconds * 1000;
    this.#entry = fileURLToPath(entry);
    this.#count = readers;
    this.#apart = apart;
    this.#turns = { read: new Turns(readers), receive: new Turns(RECEIVERS) };
  }

  /** Photos waiting or being worked on. */
  get waiting(): number {
    return this.#waiting;
  }

  /** Load the engines before the first photo comes. */
  warm(): void {
    for (let i = 0; i < this.#count; i++) void this.#ask("warm", undefined).catch(() => {}); // told to whoever reads
  }

  /** Check the photo file at `path` and make a JPEG of at most `maxPx`. @throws {ReaderError} with the PhotoError's code. */
  receive(path: string, maxPx: number): Promise<Received> {
    return this.#ask("receive", { path, maxPx }, { limitMs: RECEIVE_MS });
  }

  /** @throws {ReaderError} `deck-file` when a deck file contradicts itself. */
  async checkDeck(deck: DeckFileInput): Promise<void> {
    await this.#ask("checkDeck", deck);
  }

  /**
   * Read a photo. Every photo is answered: one that cannot be looked at with an unusable reading that says why.
   *
   * @param signal  When it aborts, the photo leaves the queue, or the process under it ends.
   * @throws {ReaderError} `stopped` after that; `closed`.
   */
  async read(task: Task, onStage: (stage: string) => void = () => {}, signal?: AbortSignal): Promise<Outcome> {
    try {
      return await this.tryRead(task, onStage, signal);
    } catch (error) {
      if (!(error instanceof ReaderError) || error.code === "closed" || error.code === "stopped") throw error;
      const { code, message, said } = error;
      return this.refuse({ name: task.name, sha256: sha256(task.bytes) }, { code, message, said });
    }
  }

  /** As `read`, but a process that ends or takes too long is an error: @throws {ReaderError} `engine-failed`, `photo-timeout`. */
  tryRead(task: Task, onStage: (stage: string) => void, signal?: AbortSignal): Promise<Outcome> {
    return this.#ask("read", task, { onStage, signal, limitMs: this.#limitMs });
  }

  /** The first deck to teach from that the scene maker makes from this seed on. @throws {ReaderError} as `tryRead`. */
  makeDeck(seed: number): Promise<MadeReference> {
    return this.#ask("makeDeck", seed);
  }

  /** The reading of a photo that cannot be looked at, saying why. */
  refuse(source: PhotoSource, why: Trouble): Promise<Outcome> {
    return this.#ask("refuse", { source, why });
  }

  /** End the processes. What still waits is rejected with code `closed`. */
  async close(): Promise<void> {
    this.#closing.abort(new ReaderError(CLOSED));
    await Promise.all([this.#readers?.destroy(), this.#receivers?.destroy()]);
  }

  async #ask<Name extends ActionName>(
    name: Name,
    question: Question<Name>,
    { onStage = (_stage: string) => {}, signal, limitMs = this.#limitMs }: Manner = {},
  ): Promise<ValueOf<Name>> {
    const reason = () => (this.#closing.signal.aborted ? this.#closing.signal.reason : new ReaderError(STOPPED));
    const wanted = AbortSignal.any([this.#closing.signal, ...(signal ? [signal] : [])]);
    const turns = this.#isQuick(name) ? this.#turns.receive : this.#turns.read;
    this.#waiting++;
    try {
      if (this.#waiting > 1) onStage("waiting");
      const giveBack = await turns.take(wanted).catch(() => Promise.reject(reason()));
      try {
        return await this.#run(name, question, onStage, wanted, limitMs);
      } catch (error) {
        throw wanted.aborted ? reason() : error;
      } finally {
        giveBack();
      }
    } finally {
      this.#waiting--;
    }
  }

  /** One action in one process, ended when it takes too long or is not wanted. */
  async #run<Name extends ActionName>(
    name: Name,
    question: Question<Name>,
    onStage: (stage: string) => void,
    wanted: AbortSignal,
    limitMs: number,
  ): Promise<ValueOf<Name>> {
    const late = new AbortController();
    let timer = setTimeout(() => late.abort(), limitMs + STARTING_MS);
    const channel = {
      onMessage: () => {}, // a process hears nothing but its tasks
      postMessage: ({ stage }: { stage?: string }) => {
        if (stage === undefined) return;
        if (stage === "photo") {
          clearTimeout(timer); // the process is up: now the photo's own time runs
          timer = setTimeout(() => late.abort(), limitMs);
        }
        onStage(stage);
      },
    };
    let answer: Answer<ValueOf<Name>>;
    try {
      const signal = AbortSignal.any([wanted, late.signal]);
      answer = await this.#pool(name).run(question, { name, signal, channel });
    } catch (error) {
      if (late.signal.aborted) throw new ReaderError(TOO_LONG);
      if (process.env.DECKBANDS_DEBUG) console.error(error);
      throw new ReaderError(CRASHED);
    } finally {
      clearTimeout(timer);
    }
    if ("value" in answer) return answer.value;
    const { stack, ...trouble } = answer.trouble;
    if (trouble.code !== "internal") throw new ReaderError(trouble);
    if (process.env.DECKBANDS_DEBUG) console.error(stack ?? trouble.message);
    throw new ReaderError(CRASHED);
  }

  #isQuick(name: ActionName): boolean {
    return this.#apart && QUICK.has(name);
  }

  #pool(name: ActionName): Tinypool {
    if (this.#isQuick(name)) {
      this.#receivers ??= this.#hire(1, RECEIVERS);
      return this.#receivers;
    }
    this.#readers ??= this.#hire(this.#count, this.#count);
    return this.#readers;
  }

  #hire(minThreads: number, maxThreads: number): Tinypool {
    const pool = new Tinypool({
      filename: this.#entry,
      runtime: "child_process",
      minThreads,
      maxThreads,
      serialization: "advanced",
      execArgv: ONE_CORE,
      env: process.env as Record<string, string>,
    });
    // a process that ends between two photos: the next photo starts another one
    pool.on("error", (error) => process.env.DECKBANDS_DEBUG && console.error(error));
    return pool;
  }
}

interface Manner {
  readonly onStage?: (stage: string) => void;
  readonly signal?: AbortSignal;
  readonly limitMs?: number;
}
