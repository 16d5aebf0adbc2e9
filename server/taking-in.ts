import { rm } from "node:fs/promises";
import { basename } from "node:path";
import type { Request } from "express";
import { PREVIEW_PX } from "../vision/contract/index.ts";
import type { Parts } from "./parts.ts";
import { RequestError } from "./problems.ts";
import type { Caller } from "./storage/caller.ts";
import { type Incoming, TooLarge } from "./storage/incoming.ts";
import type { PhotoRow } from "./storage/photos.ts";

/** Largest photo file, bytes. A reading process refuses the same, in words; here it is refused before it is taken in whole. */
export const MOST_BYTES = 60e6;
/** Room that must be left on the disk after a photo, bytes: the database and its log must still be written. */
const RESERVE_BYTES = 32e6;

/** The bytes of a request, on the disk. @throws {RequestError} `photo-too-large`, `photo-packed`, `disk-full`. */
export async function receive({ data }: Parts, req: Request): Promise<Incoming> {
  const length = Number(req.get("Content-Length") ?? 0);
  if (length > MOST_BYTES) throw tooLarge();
  if ((req.get("Content-Encoding") ?? "identity") !== "identity") {
    throw new RequestError("photo-packed", "Send the photo as it is, without Content-Encoding.");
  }
  await needRoom({ data }, length);
  try {
    return await data.blobs.receive(req.iterator({ destroyOnReturn: false }), MOST_BYTES); // so that it can be answered
  } catch (error) {
    throw error instanceof TooLarge ? tooLarge() : error;
  }
}

/** @throws {RequestError} `disk-full` where so many bytes would leave too little room. */
export async function needRoom({ data }: Pick<Parts, "data">, bytes: number): Promise<void> {
  if ((await data.blobs.free()) >= bytes + RESERVE_BYTES) return;
  throw new RequestError(
    "disk-full",
    "The server's disk is full: the photo was not kept. Free some room, then send it again.",
  );
}

const tooLarge = () =>
  new RequestError("photo-too-large", `The photo file is larger than ${MOST_BYTES / 1e6} MB. Send a smaller one.`);

/** Look at what came in and keep it, if it is a photo; else throw it away. @throws {ReaderError} why it is none. */
export async function takeIn(
  { data, reader, metrics }: Parts,
  caller: Caller,
  incoming: Incoming,
  { name, run }: { name: string; run: string | null },
): Promise<PhotoRow> {
  try {
    const received = await reader.receive(incoming.path, PREVIEW_PX);
    const row = await data.photos.add(caller, incoming, { name, run, received });
    metrics.photos.inc();
    return row;
  } finally {
    await rm(incoming.path, { force: true });
  }
}

/** The photo's own name (URI-encoded), for people to know it by; never used as a path. */
export function fileName(said = ""): string {
  let name = said;
  try {
    name = decodeURIComponent(name);
  } catch {
    // a stray per cent sign: take the name as it came
  }
  const plain = basename(name.replaceAll("\\", "/"))
    .replace(/\p{Cc}/gu, "")
    .trim()
    .slice(0, 200);
  return plain || "photo";
}
