import { parentPort } from "node:worker_threads";
import type { CornersFile, DeckFileInput, Reading } from "../vision/contract/index.ts";
import {
  analyse,
  describeDeck,
  loadOpenCv,
  type Notes,
  type PhotoError,
  unreadable,
  VisionError,
} from "../vision/index.ts";
import { decode, preview } from "./decode.ts";
import { firstLook } from "./first-look.ts";
import { drawPictures, type Pictures } from "./pictures.ts";
import { sha256 } from "./sha256.ts";

/** One photo to be read, as plain data. */
export interface Task {
  readonly bytes: Uint8Array;
  readonly name: string;
  readonly deck: DeckFileInput | null;
  readonly corners: CornersFile | null;
  readonly notes: Notes;
  /** Whether the overlay, classes and confidence pictures are wanted. */
  readonly pictures: boolean;
}
/** What became of it. `problem` says why a photo could not be looked at; its reading then says the same. */
export interface Outcome {
  readonly reading: Reading;
  readonly pictures: Pictures | null;
  readonly problem: Trouble | null;
}
/** An error as it crosses threads: classes do not, codes do. */
export interface Trouble {
  readonly code: string;
  readonly message: string;
}
/** A photo taken in: size of the upright photo, pixels, and a small JPEG of it. */
export interface Received {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly takenAt: string | null;
  readonly jpeg: Uint8Array;
}
type Tell = (stage: string) => void;

const engines = Promise.all([loadOpenCv(), firstLook()]).then(([{ cv }, look]) => ({ cv, look }));
engines
  .then(() => {
    // opencv-wasm ends the process at any error nobody caught; here such an error ends this thread and is answered
    process.removeAllListeners("uncaughtException");
    process.removeAllListeners("unhandledRejection");
  })
  .catch(() => {}); // told to whoever asks for a reading

const actions = {
  /** Is this a photo that can be read? */
  async receive(_tell: Tell, bytes: Uint8Array, maxPx: number): Promise<Received> {
    const { header, jpeg } = await preview(bytes, maxPx);
    return { widthPx: header.width, heightPx: header.height, takenAt: header.takenAt, jpeg };
  },

  /** Is this a deck file that makes sense? */
  async checkDeck(_tell: Tell, deck: DeckFileInput): Promise<void> {
    describeDeck(deck);
  },

  async read(tell: Tell, task: Task): Promise<Outcome> {
    const source = { name: task.name, sha256: sha256(task.bytes) };
    try {
      tell("photo");
      const { photo, takenAt } = await decode(task.bytes);
      const job = {
        deck: describeDeck(task.deck),
        corners: task.corners,
        notes: task.notes,
        source: { ...source, takenAt },
      };
      const analysis = analyse(await engines, photo, job, tell);
      const pictures = task.pictures ? await drawPictures(photo, analysis) : null;
      return { reading: analysis.reading, pictures, problem: null };
    } catch (error) {
      if (error instanceof VisionError) return refusal(source, { code: error.code, message: error.message });
      throw error;
    }
  },

  /** The reading of a photo that could not be looked at, for a reason found outside this thread. */
  async refuse(_tell: Tell, source: { name: string; sha256: string }, why: Trouble): Promise<Outcome> {
    return refusal(source, why);
  },
};
export type Actions = typeof actions;
export type ActionName = keyof Actions;
/** What an action is asked with, after `tell`. */
export type Question<Name extends ActionName> = Parameters<Actions[Name]> extends [Tell, ...infer Rest] ? Rest : never;

function refusal(source: { name: string; sha256: string }, why: Trouble): Outcome {
  return {
    reading: unreadable(source, new VisionError(why.code, why.message) as PhotoError),
    pictures: null,
    problem: why,
  };
}

parentPort?.on("message", async ({ id, name, args }: { id: number; name: ActionName; args: unknown[] }) => {
  const send = (answer: object) => parentPort?.postMessage({ id, ...answer });
  try {
    const act = actions[name] as (tell: Tell, ...args: unknown[]) => Promise<unknown>;
    send({ value: await act((stage) => send({ stage }), ...args) });
  } catch (error) {
    if (error instanceof VisionError) send({ trouble: { code: error.code, message: error.message } });
    else
      send({ trouble: { code: "internal", message: String(error), stack: error instanceof Error ? error.stack : "" } });
  }
});
