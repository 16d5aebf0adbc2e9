import { z } from "zod";
import { Agreement, CocoFile, ContentId, Id, MarkUp } from "../../vision/contract/index.ts";
import { classOverlap, edgeAgreement, fromCoco } from "../../vision/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import { cocoOfMarkUp } from "../mark-up-coco.ts";
import { markedPng } from "../marked-png.ts";
import { edgesOfMarkUp, edgesOfReading, marksOfMarkUp, marksOfReading } from "../marks.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import { sendBlob } from "../send-blob.ts";

const At = z.object({ id: Id });

/** What people marked in readings, as pictures and in open formats, and how far it agrees. */
export function markUpRoutes({ data }: Parts): Endpoint[] {
  return [
    endpoint(
      {
        method: "get",
        path: "/api/mark-ups/:id",
        right: "see",
        says: "A mark-up: what a person laid over a reading, who and when",
        params: At,
        answer: MarkUp,
      },
      async ({ caller, params }) => {
        const { blob: _, ...markUp } = await data.said.oneMarkUp(caller, params.id);
        return markUp;
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/mark-ups/:id/classes.png",
        right: "see",
        says: "What a mark-up says that each cell shows: PNG with a palette, one cell a pixel, class numbers 0 to 5",
        params: At,
        answerType: "image/png",
      },
      async ({ caller, params, req, res }) => {
        const { blob } = await data.said.oneMarkUp(caller, params.id);
        if (!blob || !(await sendBlob(req, res, data.blobs, blob, "image/png"))) throw NO_AREAS();
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/mark-ups/:id/coco.json",
        right: "see",
        says: "A mark-up's areas in the COCO format, run lengths by class",
        params: At,
        answer: CocoFile,
      },
      async ({ caller, params }) => {
        const coco = await cocoOfMarkUp(data, caller, await data.said.oneMarkUp(caller, params.id));
        if (!coco) throw NO_AREAS();
        return coco;
      },
    ),
    endpoint(
      {
        method: "post",
        path: "/api/readings/:id/mark-ups/coco",
        right: "review",
        says: "Lay areas from a COCO file over a reading: its first image must be the deck laid flat, one cell a pixel",
        params: z.object({ id: ContentId }),
        body: CocoFile,
        answer: MarkUp,
        status: 201,
      },
      async ({ caller, params, body, newId }) => {
        const { grid } = await data.readings.one(caller, params.id);
        const { width, height } = body.images[0]!;
        if (grid && (width !== grid.columns || height !== grid.rows)) {
          throw new RequestError(
            "marks-file",
            `The image must be ${grid.columns} × ${grid.rows} pixels, one deck cell each; this is ${width} × ${height}.`,
          );
        }
        const marked = fromCoco(body, grid?.mmPerCell ?? 1);
        const classesPng = Buffer.from(markedPng(marked)).toString("base64");
        const markUp = { schemaVersion: 1 as const, taps: [], edges: [], patches: [], note: null, classesPng };
        return data.said.markUp(caller, params.id, markUp, newId());
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/mark-ups/:id/agreement",
        right: "see",
        says: "How far a mark-up agrees with its reading, or with another mark-up of the same reading: IoU by class, edges in mm",
        params: At,
        query: z.object({ with: z.union([z.literal("reading"), Id]).default("reading") }),
        answer: Agreement,
      },
      async ({ caller, params, query }) => {
        const mine = await data.said.oneMarkUp(caller, params.id);
        const other = query.with === "reading" ? null : await data.said.oneMarkUp(caller, query.with);
        if (other && other.reading !== mine.reading)
          throw new RequestError("not-alike", "These are mark-ups of two readings. Choose two of one reading.");
        const [from, to] = await Promise.all([
          other ? marksOfMarkUp(data, caller, other) : marksOfReading(data, caller, mine.reading),
          marksOfMarkUp(data, caller, mine),
        ]);
        return {
          markUp: mine.id,
          with: query.with,
          overlap: from && to && classOverlap(from, to),
          edges: edgeAgreement(
            other ? await edgesOfMarkUp(data, caller, other) : await edgesOfReading(data, caller, mine.reading),
            await edgesOfMarkUp(data, caller, mine),
          ),
        };
      },
    ),
  ];
}

const NO_AREAS = () =>
  new RequestError("not-found", "This mark-up does not say what the cells show: it has edges or spots alone.");
