import { z } from "zod";
import {
  ContentId,
  Id,
  PhotoChange,
  PhotoList,
  PhotoReceipt,
  PREVIEW_PX,
  StoredPhoto,
} from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import { sendBlob } from "../send-blob.ts";
import { askOf, PageQuery } from "../storage/pages.ts";
import type { PhotoRow } from "../storage/photos.ts";
import { fileName, receive, takeIn } from "../taking-in.ts";

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
        right: "work",
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
        right: "see",
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
        right: "see",
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
        method: "patch",
        path: "/api/photos/:id",
        right: "work",
        says: "Say which run a photo is of",
        params: PhotoAt,
        body: PhotoChange,
        answer: StoredPhoto,
      },
      async ({ caller, params, body }) => {
        const photo = await data.photos.putInto(caller, params.id, body.run);
        if (!photo) throw new RequestError("not-found", MISSING);
        return photo;
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/photos/:id/preview.jpg",
        right: "see",
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
        right: "see",
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
        right: "own",
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

const receipt = (row: PhotoRow): PhotoReceipt => ({
  id: row.sha256,
  name: row.name,
  widthPx: row.width_px,
  heightPx: row.height_px,
  takenAt: row.taken_at,
});
