import { createReadStream } from "node:fs";
import { open, rm } from "node:fs/promises";
import type { IncomingMessage } from "node:http";
import { join } from "node:path";
import { FileStore } from "@tus/file-store";
import { Server } from "@tus/server";
import type { Express } from "express";
import type { Parts } from "../parts.ts";
import { mayDo } from "../people/rights.ts";
import { NOT_ALLOWED, STRANGER } from "../people/who.ts";
import { RequestError, toProblem } from "../problems.ts";
import { sha256Of } from "../sha256.ts";
import type { Caller } from "../storage/caller.ts";
import { fileName, MOST_BYTES, needRoom, takeIn } from "../taking-in.ts";

/** How long an upload may lie unfinished, ms. */
const KEPT_MS = 24 * 60 * 60 * 1000;
const PATH = "/api/uploads";
const UPLOAD_ID = /^[0-9a-f]{32}$/;

/** What the library keeps beside an upload; our own words beside the client's. */
type Metadata = Record<string, string | null>;

/**
 * Photos sent in parts, so that a broken line costs only its last part: the tus protocol, version 1.0.0, with creation,
 * termination and expiration. Metadata `filename` names the photo. The answer to the last part has the header
 * `Photo-Location`, and the photo is kept as if it had been sent to /api/photos.
 *
 * @returns throws away what lies unfinished for too long.
 */
export function answerUploads(app: Express, parts: Parts): () => Promise<unknown> {
  const directory = join(parts.data.folder, "uploads");
  const datastore = new FileStore({ directory, expirationPeriodInMilliseconds: KEPT_MS });
  const callers = new WeakMap<IncomingMessage, Caller>();
  const callerOf = (req: { runtime?: { node?: { req: unknown } } }): Caller => {
    const caller = callers.get(req.runtime?.node?.req as IncomingMessage);
    if (!caller) throw STRANGER();
    return caller;
  };

  const server = new Server({
    path: PATH,
    datastore,
    maxSize: MOST_BYTES,
    relativeLocation: true,
    allowedOrigins: () => false,
    onUploadCreate: async (req, upload) => {
      await needRoom(parts, upload.size ?? MOST_BYTES);
      const metadata: Metadata = { ...upload.metadata, site: callerOf(req).site };
      return { metadata };
    },
    onUploadFinish: async (req, upload) => {
      const path = join(directory, upload.id);
      try {
        const file = await open(path, "r");
        await file.sync().finally(() => file.close());
        const incoming = { path, sha256: await sha256Of(createReadStream(path)), bytes: upload.offset };
        const name = fileName(upload.metadata?.filename ?? undefined);
        const row = await takeIn(parts, callerOf(req), incoming, { name, run: null });
        return { headers: { "Photo-Location": `/api/photos/${row.sha256}` } };
      } finally {
        await rm(path, { force: true });
        await rm(`${path}.json`, { force: true });
      }
    },
    onResponseError: (_req, error) => {
      if ("status_code" in error) return undefined; // the protocol's own words
      const told = toProblem(error);
      if (told.status === 500) parts.log.error({ err: error }, "an upload failed");
      return { status_code: told.status, body: JSON.stringify(told) };
    },
  });

  app.all([PATH, `${PATH}/:id`], async (req, res) => {
    const caller = await parts.who(req);
    if (!caller) throw STRANGER();
    if (!mayDo(caller.role, "work")) throw NOT_ALLOWED();
    const { id } = req.params;
    if (req.method === "GET") throw new RequestError("not-found", "An upload is not to be looked at; its photo is.");
    if (typeof id === "string" && !(await isMine(datastore, id, caller))) {
      throw new RequestError("not-found", "There is no such upload here. Begin it anew.");
    }
    callers.set(req, caller);
    await server.handle(req, res);
  });
  return () => server.cleanUpExpiredUploads();
}

async function isMine(datastore: FileStore, id: string, { site }: Caller): Promise<boolean> {
  if (!UPLOAD_ID.test(id)) return false;
  const upload = await datastore.getUpload(id).catch(() => null);
  return upload?.metadata?.site === site;
}
