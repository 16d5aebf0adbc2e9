import { rm } from "node:fs/promises";
import { basename } from "node:path";
import type { Request } from "express";
import { z } from "zod";
import { ContentId, Id, PhotoList, PhotoReceipt, PREVIEW_PX, StoredPhoto } from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import { sendBlob } from "../send-blob.ts";
import { type Incoming, TooLarge } from "../storage/blobs.ts";
import type { Caller } from "../storage/caller.ts";
import { askOf, PageQuery } from "../storage/pages.ts";
import type { PhotoRow } from "../storage/photos.ts";

/** Largest photo file, bytes. A reading process refuses the same, in words; here it is refused before it is taken in whole. */
export const MOST_BYTES = 60e6;
/** Room that must be left on the disk after a photo, bytes: the database and its log must still be written. */
const RESERVE_BYTES = 32e6;

const PhotoAt = z.object({ id: ContentId });
const MISSING = "This photo is no longer kept here. Send it again.";

/** Photos people send to be read. */
export function photoRoutes(parts: Parts): Endpoint[] {
  const { data, jobs } = parts;
  return [
    endpoint(
      {
        method: "post",
        path: "/api/photos",
        says: "Send a photo: its bytes, with its name in X-File-Name (URI-encoded)",
        query: z.object({ run: Id.optional() }),
        bodyType: "application/octet-stream",
        answer: PhotoReceipt,
        status: 201,
      },
      async ({ caller, req, res, query }) => {
        const incoming = await receive(parts, req);
        const row = await takeIn(parts, caller, incoming, {
          name: fileName(req.get("X-File-Name")),
          run: query.run ?? null,
        });
        res.location(`/api/photos/${row.sha256}`);
        return receipt(row);
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/photos",
        says: "Photos, those sent last first",
        query: PageQuery.extend({ run: Id.optional() }),
        answer: PhotoList,
      },
      ({ caller, query }) => data.photos.list(caller, askOf(query), query.run ?? null),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/photos/:id",
        says: "What is known of a photo",
        params: PhotoAt,
        answer: StoredPhoto,
      },
      async ({ caller, params }) => {
        const photo = await data.photos.one(caller, params.id);
        if (!photo) throw new RequestError("not-found", MISSING);
        return photo;
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/photos/:id/preview.jpg",
        says: `The photo upright, at most ${PREVIEW_PX} pixels on its longer side`,
        params: PhotoAt,
        answerType: "image/jpeg",
      },
      async ({ caller, params, req, res }) => {
        const row = await data.photos.find(caller, params.id);
        if (!row || !(await sendBlob(req, res, data.blobs, row.preview_sha256, "image/jpeg"))) {
          throw new RequestError("not-found", MISSING);
        }
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/photos/:id/original",
        says: "The photo's bytes as they were sent",
        params: PhotoAt,
        answerType: "application/octet-stream",
      },
      async ({ caller, params, req, res }) => {
        const row = await data.photos.find(caller, params.id);
        if (!row) throw new RequestError("not-found", MISSING);
        res.attachment(row.name); // a file to keep: a browser never opens a stranger's bytes as a page of ours
        if (!(await sendBlob(req, res, data.blobs, row.sha256, `image/${row.format}`))) {
          throw new RequestError("not-found", MISSING);
        }
      },
    ),
    endpoint(
      {
        method: "delete",
        path: "/api/photos/:id",
        says: "Delete a photo with all that was read in it",
        params: PhotoAt,
        status: 204,
      },
      async ({ caller, params }) => {
        await jobs.forget(caller, params.id);
        if (!(await data.photos.remove(caller, params.id))) throw new RequestError("not-found", MISSING);
      },
    ),
  ];
}

/** The bytes of a request, on the disk. @throws {RequestError} `photo-too-large`, `photo-packed`, `disk-full`. */
async function receive({ data }: Parts, req: Request): Promise<Incoming> {
  const length = Number(req.get("Content-Length") ?? 0);
  if (length > MOST_BYTES) throw tooLarge();
  if ((req.get("Content-Encoding") ?? "identity") !== "identity") {
    throw new RequestError("photo-packed", "Send the photo as it is, without Content-Encoding.");
  }
  if ((await data.blobs.free()) < length + RESERVE_BYTES) {
    throw new RequestError(
      "disk-full",
      "The server's disk is full: the photo was not kept. Free some room, then send it again.",
    );
  }
  try {
    return await data.blobs.receive(req.iterator({ destroyOnReturn: false }), MOST_BYTES); // so that it can be answered
  } catch (error) {
    throw error instanceof TooLarge ? tooLarge() : error;
  }
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

export const receipt = (row: PhotoRow): PhotoReceipt => ({
  id: row.sha256,
  name: row.name,
  widthPx: row.width_px,
  heightPx: row.height_px,
  takenAt: row.taken_at,
});
