import type { DeckFileInput, SaidText } from "../vision/contract/index.ts";
import type { Change, OverlayWords, Photo, StageName } from "../vision/index.ts";
import type { Corner } from "./deck.ts";
import { OpeningError, openPhoto } from "./open-photo.ts";
import type { Opened } from "./photo-limits.ts";
import type { QuickTask } from "./quick-look.ts";
import type { EdgeTask, Look, ReadHere, Task } from "./read-photo.ts";

/** The worker's half of reading on this device. Its heavy part, `read-photo.ts`, is loaded when it is first wanted. */

let last: { readonly id: string; readonly photo: Photo } | null = null;

/** @param file  Opened anew, should its pixels not be here any more. */
async function pixelsOf(file: Blob, id: string, previewPx: number): Promise<Photo> {
  if (last?.id !== id) await actions.open(file, previewPx);
  return last!.photo;
}

const actions = {
  /** Look at a file; its pixels stay here to be read. */
  async open(file: Blob, previewPx: number): Promise<Opened> {
    const { photo, ...opened } = await openPhoto(file, previewPx);
    last = { id: opened.id, photo };
    return opened;
  },
  /** Get the engines ready while the person looks at the photo. */
  async warm(): Promise<void> {
    await (await import("./read-photo.ts")).engines();
  },
  /** Look at the deck before a reading is asked for. */
  async lookAhead(file: Blob, task: Task): Promise<void> {
    const { seen } = await import("./read-photo.ts");
    await seen(await pixelsOf(file, task.source.sha256, task.previewPx), task);
  },
  async read(file: Blob, task: Task, tell: (stage: StageName | "photo") => void): Promise<ReadHere> {
    tell("photo");
    const { readPhoto } = await import("./read-photo.ts");
    return readPhoto(await pixelsOf(file, task.source.sha256, task.previewPx), task, tell);
  },
  /** The deck of an earlier reading, laid flat again. @param id  The file's SHA-256. */
  async flatten(file: Blob, id: string, look: Look, previewPx: number) {
    const { flatten } = await import("./read-photo.ts");
    return flatten(await pixelsOf(file, id, previewPx), look);
  },
  /** What was read, drawn on the flat deck. */
  async drawFlat(look: Look, classesPng: Uint8Array) {
    return (await import("./read-photo.ts")).drawFlat(look, classesPng);
  },
  /** The same with its ruler and splitters round it. */
  async drawFlatSheet(look: Look, classesPng: Uint8Array, words: OverlayWords) {
    return (await import("./read-photo.ts")).drawFlatSheet(look, classesPng, words);
  },
  /** What launders would carry with splitters at these places, outlet mm. */
  async tryPlaces(look: Look, places: readonly number[]) {
    return (await import("./read-photo.ts")).tryPlaces(look, places);
  },
  /** Classes on a coarse grid, drawn to lay on the photo. @param id  The file's SHA-256. */
  async quickLook(file: Blob, id: string, task: QuickTask, previewPx: number) {
    const { quickLook } = await import("./read-photo.ts");
    return quickLook(await pixelsOf(file, id, previewPx), id, task);
  },
  /** What a frame of the camera shows. */
  async lookAtFrame(frame: ImageBitmap, deck: DeckFileInput | null) {
    return (await import("./read-photo.ts")).lookAtFrame(frame, deck);
  },
  /** A burst as one photo. @param corners  Where the deck lies, as shares of width and height. */
  async mergeFrames(frames: readonly ImageBitmap[], corners: readonly Corner[] | null, takenAt: Date) {
    return (await import("./read-photo.ts")).mergeFrames(frames, corners, takenAt);
  },
  async judgeLooks(before: Look, after: Look, change: Change) {
    return (await import("./read-photo.ts")).judgeLooks(before, after, change);
  },
  /** Where the photo's edges cross near a corner that was let go. @param id  The file's SHA-256. */
  async drawToEdge(file: Blob, id: string, task: EdgeTask, previewPx: number) {
    const { drawToEdge } = await import("./read-photo.ts");
    return drawToEdge(await pixelsOf(file, id, previewPx), task);
  },
};
export type Actions = typeof actions;
export interface Call {
  readonly id: number;
  readonly name: keyof Actions;
  readonly args: readonly unknown[];
}
/** What comes back for a call: first stages, at last a value or a problem. Classes do not cross; codes do. */
export type Answer =
  | { readonly id: number; readonly stage: StageName | "photo" }
  | { readonly id: number; readonly value: unknown }
  | { readonly id: number; readonly problem: Problem };
export interface Problem {
  /** `internal` where the fault is this program's. */
  readonly code: string;
  readonly message: string;
  /** `message` by name, where it has names. */
  readonly said: SaidText | null;
  /** The file's SHA-256, where only the server can open it. */
  readonly photoId: string | null;
}

self.onmessage = async ({ data: { id, name, args } }: MessageEvent<Call>) => {
  const answer = (rest: object) => self.postMessage({ id, ...rest });
  try {
    const act = actions[name] as (...args: unknown[]) => Promise<unknown>;
    answer({ value: await act(...args, (stage: string) => answer({ stage })) });
  } catch (error) {
    const { code, message, said = null } = error as { code?: string; message?: string; said?: SaidText | null };
    const photoId = error instanceof OpeningError ? error.id : null;
    const known = typeof code === "string";
    answer({ problem: { code: known ? code : "internal", message: message ?? String(error), said, photoId } });
  }
};
