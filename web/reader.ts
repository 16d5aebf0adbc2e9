import { type DeckFileInput, PREVIEW_PX, type StageEvent } from "../vision/contract/index.ts";
import type { Change, Helped } from "../vision/index.ts";
import { overlayWords } from "../vision/telling/index.ts";
import type { Sight, Taken } from "./camera-frames.ts";
import type { Corner } from "./deck.ts";
import type { FlatDrawing, FlatSheet, LaunderContent } from "./flat-deck.ts";
import type { Opened } from "./photo-limits.ts";
import type { QuickLook, QuickTask } from "./quick-look.ts";
import type { EdgeTask, Look, ReadHere, Task } from "./read-photo.ts";
import type { Answer, Call, Problem } from "./reader.worker.ts";
import { currentLanguage, speech } from "./words.ts";

/** The page's half of reading on this device. */

/** Why a photo could not be opened or read, by code; the message is for people, in English. */
export class ReaderProblem extends Error {
  readonly code: string;
  readonly said: Problem["said"];
  readonly photoId: string | null;
  constructor({ code, message, said, photoId }: Problem) {
    super(message);
    this.code = code;
    this.said = said;
    this.photoId = photoId;
  }
}
type OnStage = (stage: StageEvent["stage"]) => void;
interface Waiting {
  readonly resolve: (value: never) => void;
  readonly reject: (error: unknown) => void;
  readonly onStage: OnStage;
}

interface EdgePhoto {
  readonly id: string;
  readonly file: Blob;
  readonly widthPx: number;
  readonly heightPx: number;
}

/** What is written on what this device draws. */
const written = () => overlayWords(speech, currentLanguage());
type AskedTask = Omit<Task, "previewPx" | "words">;
const whole = (task: AskedTask): Task => ({ ...task, previewPx: PREVIEW_PX, words: written() });

export type Reader = ReturnType<typeof openReader>;
/** The worker starts at once, while its script can be had. Stopping ends it, since nothing else stops WebAssembly; the next call starts another. */
export function openReader() {
  let worker: Worker | null = null;
  let calls = 0;
  const waiting = new Map<number, Waiting>();

  const failAll = (error: unknown) => {
    worker?.terminate();
    worker = null;
    for (const { reject } of waiting.values()) reject(error);
    waiting.clear();
  };
  function start(): Worker {
    const made = new Worker(new URL("./reader.worker.ts", import.meta.url), { type: "module" });
    made.onmessage = ({ data }: MessageEvent<Answer>) => {
      const asked = waiting.get(data.id);
      if (!asked) return;
      if ("stage" in data) return asked.onStage(data.stage);
      waiting.delete(data.id);
      if ("problem" in data) asked.reject(new ReaderProblem(data.problem));
      else asked.resolve(data.value as never);
    };
    // out of memory, or a script that could not be had
    made.onerror = ({ message }) =>
      failAll(new ReaderProblem({ code: "internal", message, said: null, photoId: null }));
    return made;
  }
  function ask<T>(
    name: Call["name"],
    args: readonly unknown[],
    signal?: AbortSignal,
    onStage: OnStage = () => {},
    given: readonly Transferable[] = [],
  ) {
    return new Promise<T>((resolve, reject) => {
      signal?.throwIfAborted();
      worker ??= start();
      const id = ++calls;
      const stop = () => waiting.has(id) && failAll(signal!.reason);
      signal?.addEventListener("abort", stop, { once: true });
      waiting.set(id, {
        resolve: (value) => {
          signal?.removeEventListener("abort", stop);
          resolve(value);
        },
        reject: (error) => {
          signal?.removeEventListener("abort", stop);
          reject(error);
        },
        onStage,
      });
      const call: Call = { id, name, args };
      worker.postMessage(call, [...given]);
    });
  }
  worker = start();
  return {
    /** @throws {ReaderProblem} with a code of `OpeningFault`. */
    open: (file: Blob, signal: AbortSignal) => ask<Opened>("open", [file, PREVIEW_PX], signal),
    /** Get ready for a reading; it fails in silence, since reading will say why. */
    warm: () => void ask<void>("warm", []).catch(() => {}),
    /** Where the photo's edges cross near a corner, full-size pixels; null where no clear ones are near. */
    drawToEdge: ({ id, file, widthPx, heightPx }: EdgePhoto, task: Omit<EdgeTask, "widthPx" | "heightPx">) =>
      ask<Corner | null>("drawToEdge", [file, id, { ...task, widthPx, heightPx }, PREVIEW_PX]),
    /** The deck of an earlier reading of this photo, laid flat: PNG. @throws {ReaderProblem} */
    flatten: (id: string, file: Blob, look: Look, signal: AbortSignal) =>
      ask<Blob>("flatten", [file, id, look, PREVIEW_PX], signal),
    /** What was read, drawn on the flat deck. @throws {ReaderProblem} */
    drawFlat: (look: Look, classesPng: Uint8Array) => ask<FlatDrawing>("drawFlat", [look, classesPng]),
    /** The same with its ruler and splitters round it, to be printed. @throws {ReaderProblem} */
    drawFlatSheet: (look: Look, classesPng: Uint8Array) =>
      ask<FlatSheet>("drawFlatSheet", [look, classesPng, written()]),
    /** What launders would carry with splitters at these places, outlet mm. @throws {ReaderProblem} */
    tryPlaces: (look: Look, places: readonly number[]) => ask<LaunderContent[]>("tryPlaces", [look, places]),
    /** What taps and corners make of the photo, on a coarse grid. @throws {ReaderProblem} */
    quickLook: ({ id, file, widthPx, heightPx }: EdgePhoto, task: Omit<QuickTask, "widthPx" | "heightPx">) =>
      ask<QuickLook>("quickLook", [file, id, { ...task, widthPx, heightPx }, PREVIEW_PX]),
    /** What a frame of the camera shows; the frame goes over to the worker. @throws {ReaderProblem} */
    lookAtFrame: (frame: ImageBitmap, deck: DeckFileInput | null) =>
      ask<Sight>("lookAtFrame", [frame, deck], undefined, undefined, [frame]),
    /** A burst as one photo; the frames go over to the worker. @throws {ReaderProblem} */
    mergeFrames: (frames: readonly ImageBitmap[], corners: readonly Corner[] | null, takenAt: Date) =>
      ask<Taken>("mergeFrames", [frames, corners, takenAt], undefined, undefined, frames),
    /** How far bands moved between two looks, and whether a change helped. @throws {ReaderProblem} */
    judgeLooks: (before: Look, after: Look, change: Change, signal: AbortSignal) =>
      ask<Helped>("judgeLooks", [before, after, change], signal),
    /** Look at the deck while the person looks at the photo; it fails in silence, since reading will say why. */
    lookAhead: (file: Blob, task: AskedTask) => void ask<void>("lookAhead", [file, whole(task)]).catch(() => {}),
    /** @throws {ReaderProblem} with a code of `VisionError`. */
    read: (file: Blob, task: AskedTask, onStage: OnStage, signal: AbortSignal) =>
      ask<ReadHere>("read", [file, whole(task)], signal, onStage),
  };
}
