import * as z from "zod";
import {
  type NewReadingInput,
  type PhotoReceipt,
  Problem,
  Reading,
  ReadingReceipt,
  type Sample,
  SampleList,
  StageEvent,
  StoredPhoto,
} from "../vision/contract/index.ts";
import { Trouble, troubleOf } from "./trouble.ts";
import { currentLanguage } from "./words.ts";

/** Calls to the server, each answer checked with the contract. Addresses are relative to the page. */

// the schemas are run as they are: building functions from text is forbidden by the page's security policy
z.config({ jitless: true });

/** Bytes sent at a time. */
const PART_BYTES = 1 << 20;

/** A photo to be sent, and where an upload of it was begun before. */
export interface Parcel {
  readonly id: string;
  readonly name: string;
  readonly file: Blob;
  readonly upload: string | null;
}
/** What is told while a photo is sent: where the upload goes on should it break off, and how far it is, 0 to 1. */
export interface Told {
  readonly begun?: (upload: string) => void;
  readonly share?: (share: number) => void;
}

/** Send a photo in parts, so that a broken line costs only the last one; one that the server has is not sent. */
export async function sendPhoto(parcel: Parcel, told: Told = {}, signal?: AbortSignal): Promise<PhotoReceipt> {
  return (await photoThere(parcel.id, signal)) ?? upload(parcel, told, signal);
}

/** What the server knows of a photo; null where it has none of that name. */
export async function photoThere(id: string, signal?: AbortSignal): Promise<PhotoReceipt | null> {
  try {
    const { name, widthPx, heightPx, takenAt } = await ask(StoredPhoto, `api/photos/${id}`, { signal });
    return { id, name, widthPx, heightPx, takenAt };
  } catch (error) {
    if (error instanceof Trouble && error.code === "not-found") return null;
    throw error;
  }
}

async function upload({ id, name, file, upload }: Parcel, told: Told, signal?: AbortSignal): Promise<PhotoReceipt> {
  const { DetailedError, Upload } = await import("tus-js-client");
  signal?.throwIfAborted();
  await new Promise<void>((resolve, reject) => {
    const parts = new Upload(file, {
      endpoint: new URL("api/uploads", document.baseURI).href,
      uploadUrl: upload,
      metadata: { filename: encodeURIComponent(name) },
      chunkSize: PART_BYTES,
      retryDelays: null,
      storeFingerprintForResuming: false,
      onUploadUrlAvailable: () => parts.url && told.begun?.(parts.url),
      onProgress: (sent, total) => told.share?.(total ? sent / total : 0),
      onSuccess: () => resolve(),
      onError: (error) => {
        const answer = error instanceof DetailedError ? error.originalResponse : null;
        reject(answer ? problemFrom(parseJson(answer.getBody())) : troubleOf("no-answer"));
      },
    });
    signal?.addEventListener("abort", () => {
      void parts.abort();
      reject(signal.reason);
    });
    parts.start();
  });
  const receipt = await photoThere(id, signal);
  if (!receipt) throw troubleOf("strange-answer"); // what arrived is another file than the one here
  return receipt;
}

/** Ask the server to make and keep a reading, without waiting for it. @param key  Asked twice with one key, it is asked once. */
export async function askForReading(request: NewReadingInput, key: string, signal?: AbortSignal): Promise<string> {
  const headers = { "content-type": "application/json", "idempotency-key": key };
  const init = { method: "POST", body: JSON.stringify(request), headers, signal };
  return (await ask(ReadingReceipt, "api/readings", init)).id;
}

/** Ask for a reading and follow it to its end; `onStage` hears each stage. When `signal` aborts, the server is told. */
export async function readPhoto(
  request: NewReadingInput,
  onStage: (stage: StageEvent["stage"]) => void,
  signal: AbortSignal,
): Promise<{ id: string; reading: Reading }> {
  const headers = { "content-type": "application/json" };
  // not stopped midway: only with the id can the server be told to drop the work
  const init = { method: "POST", body: JSON.stringify(request), headers };
  const { id } = await ask(ReadingReceipt, "api/readings", init);
  try {
    signal.throwIfAborted();
    await followStages(id, onStage, signal);
    return { id, reading: await collect(id, signal) };
  } catch (error) {
    // goes out even when the page is being closed; if it fails, the server reads one photo in vain
    if (signal.aborted) void fetch(`api/readings/${id}`, { method: "DELETE", keepalive: true }).catch(() => {});
    throw error;
  }
}

/** Resolves when the work is over or the line of events breaks; rejects with the problem or when stopped. */
function followStages(id: string, onStage: (stage: StageEvent["stage"]) => void, signal: AbortSignal): Promise<void> {
  return new Promise((resolve, reject) => {
    const events = new EventSource(`api/readings/${id}/events`);
    const finish = (end: () => void) => {
      events.close();
      signal.removeEventListener("abort", stop);
      end();
    };
    const stop = () => finish(() => reject(signal.reason));
    signal.addEventListener("abort", stop);
    if (signal.aborted) stop();
    events.addEventListener("stage", ({ data }) => {
      const event = StageEvent.safeParse(parseJson(data));
      if (event.success) onStage(event.data.stage);
    });
    events.addEventListener("done", () => finish(resolve));
    events.addEventListener("problem", ({ data }) => finish(() => reject(problemFrom(parseJson(data)))));
    events.addEventListener("error", () => finish(resolve));
  });
}

/** The finished reading; asks again while it is under way. */
async function collect(id: string, signal: AbortSignal): Promise<Reading> {
  for (;;) {
    const answer = await ask(z.union([Reading, ReadingReceipt]), `api/readings/${id}`, { signal });
    if ("schemaVersion" in answer) return answer;
    await new Promise((resolve) => setTimeout(resolve, 1500));
  }
}

export async function listSamples(): Promise<Sample[]> {
  return (await ask(SampleList, "api/samples", {})).samples;
}

/** The bytes of a sample photo. */
export async function fetchSample(url: string, signal: AbortSignal): Promise<Blob> {
  return askFile(url, { signal });
}

/** A reading on the server; null while it is under way. */
export async function readingThere(id: string, signal?: AbortSignal): Promise<Reading | null> {
  const told = await ask(z.union([Reading, ReadingReceipt]), readingUrl(id), { signal });
  return "quality" in told ? told : null;
}

/** The class of each cell as the server drew it: PNG. */
export async function classesOf(url: string, signal: AbortSignal): Promise<Uint8Array<ArrayBuffer>> {
  return new Uint8Array(await (await askFile(url, { signal })).arrayBuffer());
}

export const previewUrl = (photoId: string) => `api/photos/${photoId}/preview.jpg`;
export const readingUrl = (id: string, file: "" | "/classes.png" = "") => `api/readings/${id}${file}`;
/** The server's drawing on the photo, in the language spoken; the small one opens on a poor line. */
export const pictureUrl = (id: string, size: "overlay" | "small") =>
  `api/readings/${id}/${size}.jpg?language=${currentLanguage()}`;

/** A file that the server has or makes. @throws {Trouble} */
export async function askFile(url: string, init: RequestInit): Promise<Blob> {
  const response = await reach(url, init);
  if (!response.ok) throw problemFrom(await response.json().catch(() => null));
  return response.blob();
}

/** What is known as this version: the answer's ETag, to name it in If-Match. */
export async function askTag(url: string): Promise<string> {
  const response = await reach(url, {});
  if (!response.ok) throw problemFrom(await response.json().catch(() => null));
  return response.headers.get("etag") ?? "";
}

/** One call, its answer checked with `schema`. @throws {Trouble} */
export async function ask<T>(
  schema: z.ZodType<T>,
  url: string,
  init: { signal?: AbortSignal | undefined } & Omit<RequestInit, "signal">,
): Promise<T> {
  const response = await reach(url, init);
  const body: unknown = await response.json().catch(() => null);
  init.signal?.throwIfAborted();
  if (!response.ok) throw problemFrom(body);
  const checked = schema.safeParse(body);
  if (!checked.success) throw troubleOf("strange-answer");
  return checked.data;
}

async function reach(url: string, init: RequestInit): Promise<Response> {
  try {
    return await fetch(url, init);
  } catch (error) {
    if (init.signal?.aborted) throw error;
    throw troubleOf("no-answer");
  }
}

/** RFC 9457 body → words. Field messages are added, since only they say which entry to correct. */
function problemFrom(body: unknown): Trouble {
  const problem = Problem.safeParse(body);
  if (!problem.success) return troubleOf("strange-answer");
  const fields = (problem.data.fields ?? []).map((f) => `${f.field}: ${f.say}.`);
  // the answer's own title is the name of an HTTP status, which tells a worker nothing
  const { code, detail, said } = problem.data;
  return troubleOf(code, [detail, ...fields].join(" "), undefined, said);
}

function parseJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
