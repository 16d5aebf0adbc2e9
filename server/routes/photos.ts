import { basename } from "node:path";
import express, { type Request, Router } from "express";
import { type PhotoReceipt, PREVIEW_PX } from "../../vision/contract/index.ts";
import { idIn, RequestError } from "../problems.ts";
import { MOST_WAITING, type Reader } from "../reader.ts";
import { sha256 } from "../sha256.ts";
import type { Store } from "../store.ts";

/** Largest photo file, bytes. The reader refuses the same, in words; here it is refused before it is taken in whole. */
const MOST_BYTES = 60e6;

/** Photos people send to be read. */
export function photoRoutes(store: Store, reader: Reader): Router {
  const routes = Router();

  routes.post("/", express.raw({ type: () => true, limit: MOST_BYTES, inflate: false }), async (req, res) => {
    const bytes = Buffer.isBuffer(req.body) ? req.body : Buffer.alloc(0);
    if (reader.waiting >= MOST_WAITING) {
      throw new RequestError("busy", "Too many photos wait to be read. Try again in a minute.");
    }
    const id = sha256(bytes);
    const name = fileName(req);
    const kept = await store.photo(id);
    const receipt: PhotoReceipt =
      kept?.receipt.name === name
        ? kept.receipt
        : await store.addPhoto(id, name, bytes, await reader.receive(bytes, PREVIEW_PX));
    res.status(201).location(`/api/photos/${id}`).json(receipt);
  });

  routes.get("/:id/preview.jpg", async (req, res) => {
    const jpeg = await store.preview(idIn(req));
    if (!jpeg) throw new RequestError("not-found", "This photo is no longer kept here. Send it again.");
    res.type("image/jpeg").set("Cache-Control", "private, max-age=31536000, immutable").send(jpeg);
  });

  return routes;
}

/** The photo's own name from X-File-Name (URI-encoded), for people to know it by; never used as a path. */
function fileName(req: Request): string {
  let name = req.get("X-File-Name") ?? "";
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
