import { readFile } from "node:fs/promises";
import type { CornersFile, DeckFileInput, Reading } from "../vision/contract/index.ts";
import {
  analyse,
  describeDeck,
  type Engines,
  loadOpenCv,
  type Notes,
  type PhotoError,
  type Text,
  unreadable,
  VisionError,
} from "../vision/index.ts";
import { decode, preview } from "./decode.ts";
import { openEyes } from "./eyes.ts";
import { freshDeck, type MadeReference } from "./made-deck.ts";
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
/** An error as it crosses processes: classes do not, codes do. */
export interface Trouble {
  readonly code: string;
  readonly message: string;
  readonly said?: Text | undefined;
}
/** A photo taken in: size of the upright photo, pixels, and a small JPEG of it. */
export interface Received {
  readonly format: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly takenAt: string | null;
  readonly jpeg: Uint8Array;
}
export interface PhotoSource {
  readonly name: string;
  readonly sha256: string;
}
/** What every action answers; `internal` is a fault of this program. */
export type Answer<T> = { readonly value: T } | { readonly trouble: Trouble & { readonly stack?: string } };

let loading: Promise<Engines> | null = null;
/** The engines, loaded when first wanted: taking a photo in needs none. */
function engines(): Promise<Engines> {
  loading ??= Promise.all([loadOpenCv(), openEyes()]).then(([{ cv }, eyes]) => {
    // opencv-wasm catches what nobody caught and prints a page of its own code; here such an error ends this process
    process.removeAllListeners("uncaughtException");
    process.removeAllListeners("unhandledRejection");
    return { cv, eyes };
  });
  return loading;
}

/** Load the engines before the first photo comes. */
export const warm = () =>
  answer(async () => {
    await engines();
  });

/** Is the file at `path` a photo that can be read? Its preview has at most `maxPx` on its longer side. */
export const receive = ({ path, maxPx }: { path: string; maxPx: number }) =>
  answer<Received>(async () => {
    const { header, jpeg } = await preview(await readFile(path), maxPx);
    const { format, width, height, takenAt } = header;
    return { format, widthPx: width, heightPx: height, takenAt, jpeg };
  });

/** Is this a deck file that makes sense? */
export const checkDeck = (deck: DeckFileInput) =>
  answer(async () => {
    describeDeck(deck);
  });

export const read = (task: Task) =>
  answer<Outcome>(async () => {
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
      const analysis = analyse(await engines(), photo, job, tell);
      const pictures = task.pictures ? await drawPictures(photo, analysis) : null;
      return { reading: analysis.reading, pictures, problem: null };
    } catch (error) {
      if (error instanceof VisionError) return refusal(source, troubleOf(error));
      throw error;
    }
  });

/** The first deck to teach from that the scene maker makes from this seed on. */
export const makeDeck = (seed: number) =>
  answer<MadeReference>(async () => {
    tell("photo");
    return freshDeck(seed);
  });

/** The reading of a photo that could not be looked at, for a reason found outside this process. */
export const refuse = ({ source, why }: { source: PhotoSource; why: Trouble }) =>
  answer<Outcome>(async () => refusal(source, why));

function refusal(source: PhotoSource, why: Trouble): Outcome {
  return {
    reading: unreadable(source, new VisionError(why.code, why.said ?? why.message) as PhotoError),
    pictures: null,
    problem: why,
  };
}

const tell = (stage: string) => process.send?.({ stage });

async function answer<T>(work: () => Promise<T>): Promise<Answer<T>> {
  try {
    return { value: await work() };
  } catch (error) {
    if (error instanceof VisionError) return { trouble: troubleOf(error) };
    const stack = error instanceof Error ? error.stack : "";
    return { trouble: { code: "internal", message: String(error), stack } };
  }
}

const troubleOf = ({ code, message, said }: VisionError): Trouble => ({ code, message, ...(said ? { said } : {}) });
