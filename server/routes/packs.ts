import type { Response } from "express";
import { z } from "zod";
import { Id, PackKey, PackLook, PackTaken } from "../../vision/contract/index.ts";
import { receiveWhole } from "../body.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import { fits, GalleryFilter } from "../gallery-filter.ts";
import { makePack, type Packed } from "../packs/make.ts";
import { MOST_PACK_BYTES } from "../packs/pack-zip.ts";
import { lookAtPack, takePack } from "../packs/take.ts";
import type { Parts } from "../parts.ts";
import type { Caller } from "../storage/caller.ts";
import type { Stock } from "../storage/gallery.ts";

const ZIP = "application/zip";

/** Gallery and lessons as one signed file, out and in. */
export function packRoutes({ data }: Parts, stock: Stock): Endpoint[] {
  const shelf = async (caller: Caller) => (await data.gallery.shelf(caller, await stock.references())).references;
  const send = async (res: Response, caller: Caller, packed: Packed) => {
    const bytes = await makePack(data, caller, stock, packed);
    res.set("Content-Disposition", 'attachment; filename="deckbands.pack.zip"').type(ZIP).send(Buffer.from(bytes));
  };
  return [
    endpoint(
      {
        method: "get",
        path: "/api/packs/gallery.zip",
        right: "teach",
        says: "References of the gallery as one signed file: all, or those with these words, this fault or this material",
        query: GalleryFilter,
        answerType: ZIP,
      },
      async ({ caller, query, res }) => {
        const references = (await shelf(caller)).filter((reference) => fits(reference, query));
        await send(res, caller, { name: "Gallery", references, lessons: [] });
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/lessons/:id/pack.zip",
        right: "teach",
        says: "A lesson with its references as one signed file",
        params: z.object({ id: Id }),
        answerType: ZIP,
      },
      async ({ caller, params, res }) => {
        const lesson = await data.lessons.one(caller, params.id);
        const references = (await shelf(caller)).filter(({ id }) => lesson.references.includes(id));
        await send(res, caller, { name: lesson.name, references, lessons: [lesson] });
      },
    ),
    endpoint(
      {
        method: "post",
        path: "/api/packs/look",
        right: "teach",
        says: "Check a pack and say what it holds and who signed it; nothing is kept",
        bodyType: ZIP,
        answer: PackLook,
      },
      async ({ caller, req }) => lookAtPack(data, caller, await receiveWhole(req, MOST_PACK_BYTES)),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/packs",
        right: "teach",
        says: "Take a pack in, all of it or nothing; `key` is whose signature is accepted, as the look at it told",
        query: z.object({ key: PackKey }),
        bodyType: ZIP,
        answer: PackTaken,
        status: 201,
      },
      async ({ caller, query, req }) =>
        takePack(data, caller, await stock.references(), await receiveWhole(req, MOST_PACK_BYTES), query.key),
    ),
  ];
}
