import * as z from "zod";
import {
  type NewReadingInput,
  PhotoReceipt,
  Problem,
  Reading,
  ReadingReceipt,
  type Sample,
  SampleList,
  StageEvent,
} from "../vision/contract/index.ts";
import { problemTitle } from "./words.ts";

/** Calls to the server, each answer checked with the contract. Addresses are relative to the page. */

// the schemas are run as they are: building functions from text is forbidden by the page's security policy
z.config({ jitless: true });

/** Something went wrong, in words for the person: what, and what to do. */
export class ApiProblem extends Error {
  readonly title: string;
  readonly detail: string;
  readonly code: string;
  constructor({ title, detail, code }: { title: string; detail: string; code: string }) {
    super(`${title} ${detail}`);
    this.title = title;
    this.detail = detail;
    this.code = code;
  }
}
const NO_ANSWER = {
  title: "The server does not answer.",
  detail:
    "Check that this phone is on the network and the program is running, then try again. Your photo and corners are kept.",
  code: "no-answer",
};
const STRANGE_ANSWER = {
  title: "The server gave an answer this page does not know.",
  detail: "Load the page again. If it stays, the page and the server are of different versions.",
  code: "strange-answer",
};

export async function sendPhoto(photo: Blob, name: string, signal: AbortSignal): Promise<PhotoReceipt> {
  const headers = { "content-type": photo.type || "application/octet-stream", "x-file-name": encodeURIComponent(name) };
  return ask(PhotoReceipt, "api/photos", { method: "POST", body: photo, headers, signal });
}

/** Ask for a reading and follow it to its end; `onStage` hears each stage. When `signal` aborts, the server is told. */
export async function readPhoto(
  request: NewReadingInput,
  onStage: (stage: StageEvent["stage"]) => void,
  signal: AbortSignal,
): Promise<{ id: string; reading: Reading }> {
  const headers = { "content-type": "application/json" };
  const { id } = await ask(ReadingReceipt, "api/readings", {
    method: "POST",
    body: JSON.stringify(request),
    headers, // not stopped midway: only with the id can the server be told to drop the work
  });
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
  const response = await reach(url, { signal });
  if (!response.ok) throw problemFrom(await response.json().catch(() => null));
  return response.blob();
}

export const previewUrl = (photoId: string) => `api/photos/${photoId}/preview.jpg`;
export const readingUrl = (id: string, file: "" | "/overlay.jpg" | "/classes.png" = "") => `api/readings/${id}${file}`;

async function ask<T>(schema: z.ZodType<T>, url: string, init: RequestInit): Promise<T> {
  const response = await reach(url, init);
  const body: unknown = await response.json().catch(() => null);
  init.signal?.throwIfAborted();
  if (!response.ok) throw problemFrom(body);
  const checked = schema.safeParse(body);
  if (!checked.success) throw new ApiProblem(STRANGE_ANSWER);
  return checked.data;
}

async function reach(url: string, init: RequestInit): Promise<Response> {
  try {
    return await fetch(url, init);
  } catch (error) {
    if (init.signal?.aborted) throw error;
    throw new ApiProblem(NO_ANSWER);
  }
}

/** RFC 9457 body → words. Field messages are added, since only they say which entry to correct. */
function problemFrom(body: unknown): ApiProblem {
  const problem = Problem.safeParse(body);
  if (!problem.success) return new ApiProblem(STRANGE_ANSWER);
  const fields = (problem.data.fields ?? []).map((f) => `${f.field}: ${f.say}.`);
  // the answer's own title is the name of an HTTP status, which tells a worker nothing
  const { code, detail } = problem.data;
  return new ApiProblem({ code, title: problemTitle(code), detail: [detail, ...fields].join(" ") });
}

function parseJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
