import type { Response } from "express";
import sharp from "sharp";
import { z } from "zod";
import {
  Comparison,
  ContentId,
  Id,
  NewReading,
  Reading,
  ReadingList,
  ReadingReceipt,
} from "../../vision/contract/index.ts";
import { edgeMoves } from "../commands/compare.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { JobEvent } from "../jobs/jobs.ts";
import type { Parts } from "../parts.ts";
import { readingPicture } from "../pictures.ts";
import { RequestError, toProblem } from "../problems.ts";
import { sendBlob } from "../send-blob.ts";
import { cachingIn, noPicture, sendPicture } from "../send-picture.ts";
import { LanguageQuery, speechIn } from "../speech.ts";
import { askOf, PageQuery } from "../storage/pages.ts";

/** Between two signs of life on a quiet event stream, so that proxies keep it open, and between two looks for what was missed. */
const HEARTBEAT_MS = 5000;
/** Most readings made anew by one request. */
const MOST_ANEW = 1000;

/** Longest side of a small picture, pixels: it opens on a poor line. */
const SMALL_PX = 1000;

const At = z.object({ id: ContentId });

/** Readings of photos that were sent before. */
export function readingRoutes({ data, jobs }: Parts): Endpoint[] {
  const making = [
    endpoint(
      {
        method: "post",
        path: "/api/readings",
        right: "work",
        says: "Ask for a photo to be read; asked twice, it is read once",
        body: NewReading,
        answer: ReadingReceipt,
        status: 202,
      },
      async ({ caller, body, res }) => {
        const id = await jobs.ask(caller, body);
        res.location(`/api/readings/${id}`);
        return { id };
      },
    ),
    endpoint(
      {
        method: "post",
        path: "/api/readings/anew",
        right: "review",
        says: "Have readings that an older program made be made anew; the old ones stay",
        body: z.strictObject({ most: z.number().int().min(1).max(MOST_ANEW).default(100) }),
        answer: z.strictObject({ asked: z.array(ContentId) }),
        status: 202,
      },
      async ({ caller, body }) => {
        const asked: string[] = [];
        for (const id of await data.readings.outdated(caller, body.most)) asked.push(await jobs.remake(caller, id));
        return { asked };
      },
    ),
    endpoint(
      {
        method: "post",
        path: "/api/readings/:id/anew",
        right: "review",
        says: "Have one reading made anew by this program; answers the new one's id, or its own where nothing would change",
        params: At,
        answer: ReadingReceipt,
        status: 202,
      },
      async ({ caller, params }) => ({ id: await jobs.remake(caller, params.id) }),
    ),
    endpoint(
      {
        method: "delete",
        path: "/api/readings/:id",
        right: "work",
        says: "Wait for this reading no more; when nobody does, the work is dropped. A finished reading stays",
        params: At,
        status: 204,
      },
      async ({ caller, params }) => {
        if (!(await jobs.leave(caller, params.id)))
          throw new RequestError("not-found", "No such reading is under way.");
      },
    ),
  ];

  const telling = [
    endpoint(
      {
        method: "get",
        path: "/api/readings",
        right: "see",
        says: "Readings, the newest first: all, or those of a deck, a run or a photo",
        query: PageQuery.extend({ deck: Id.optional(), run: Id.optional(), photo: ContentId.optional() }),
        answer: ReadingList,
      },
      ({ caller, query }) => data.readings.list(caller, askOf(query), query),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/readings/:id",
        right: "see",
        says: "A reading; 202 with its id while it is under way; the problem when it was given up",
        params: At,
        answer: z.union([Reading, ReadingReceipt]),
      },
      async ({ caller, params, res }) => {
        const latest = await jobs.latest(caller, params.id); // asked before the store: a job ends only when its reading is kept
        if (!latest) return data.readings.one(caller, params.id);
        if (latest.event === "problem") throw new RequestError(latest.data.code, latest.data.detail);
        res.status(202);
        return { id: params.id };
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/readings/:id/asked",
        right: "see",
        says: "What a reading was asked with: corners, deck, spots, settings, material, aim",
        params: At,
        answer: NewReading,
      },
      async ({ caller, params }) => (await data.readings.asked(caller, params.id)).asked,
    ),
    endpoint(
      {
        method: "get",
        path: "/api/readings/:id/events",
        right: "see",
        says: "What becomes of a reading: events `stage`, then `done` or `problem`",
        params: At,
        answerType: "text/event-stream",
      },
      async ({ caller, params: { id }, res }) => {
        await follow(
          res,
          (hear) => jobs.listen(id, hear),
          async () =>
            (await jobs.latest(caller, id)) ?? {
              event: "done",
              data: { id, usable: (await data.readings.one(caller, id)).quality.usable },
            },
        );
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/readings/:id/moved",
        right: "see",
        says: "How far the edges of the bands moved since another reading of the same deck, mm along the outlet",
        params: At,
        query: z.object({ since: ContentId }),
        answer: Comparison,
      },
      async ({ caller, params, query }) => {
        const [before, after] = [
          await data.readings.one(caller, query.since),
          await data.readings.one(caller, params.id),
        ];
        const same = before.grid?.columns === after.grid?.columns && before.grid?.rows === after.grid?.rows;
        if (!before.grid || !same || before.scale !== after.scale) {
          throw new RequestError(
            "not-alike",
            "These are not two usable readings of one deck: nothing can be compared.",
          );
        }
        return { before: query.since, after: params.id, edges: edgeMoves(before, after) };
      },
    ),
    ...(["classes", "confidence"] as const).map((picture) =>
      endpoint(
        {
          method: "get",
          right: "see",
          path: `/api/readings/:id/${picture}.png`,
          says: `The ${picture} picture of a usable reading`,
          params: At,
          answerType: "image/png",
        },
        async ({ caller, params, req, res }) => {
          const blob = await data.readings.picture(caller, params.id, picture);
          if (!blob || !(await sendBlob(req, res, data.blobs, blob, "image/png"))) throw noPicture();
        },
      ),
    ),
    endpoint(
      {
        method: "get",
        right: "see",
        path: "/api/readings/:id/overlay.jpg",
        says: "A usable reading drawn on its photo, in English unless another language is named",
        params: At,
        query: LanguageQuery,
        answerType: "image/jpeg",
      },
      ({ caller, params, query, req, res }) => sendPicture(req, res, data, caller, params.id, query.language ?? "en"),
    ),
    endpoint(
      {
        method: "get",
        right: "see",
        path: "/api/readings/:id/small.jpg",
        says: "The same, small: at most 1000 pixels, about 100 kB",
        params: At,
        query: LanguageQuery,
        answerType: "image/jpeg",
      },
      async ({ caller, params, query: { language = "en" }, res }) => {
        const bytes = await readingPicture(data, caller, params.id, speechIn(language));
        if (!bytes) throw noPicture();
        const small = await sharp(bytes)
          .resize(SMALL_PX, SMALL_PX, { fit: "inside", withoutEnlargement: true })
          .jpeg({ quality: 60, mozjpeg: true })
          .toBuffer();
        res.set("Cache-Control", cachingIn(language)).type("image/jpeg").send(small);
      },
    ),
  ];

  return [...making, ...telling];
}

/** Send events until the last one: what is so now, then what comes. */
async function follow(
  res: Response,
  listen: (hear: (event: JobEvent) => void) => () => void,
  latest: () => Promise<JobEvent>,
): Promise<void> {
  const early: JobEvent[] = [];
  let hear = (event: JobEvent) => void early.push(event);
  const stop = listen((event) => hear(event)); // before looking, so that nothing falls between
  let alive: NodeJS.Timeout | undefined;
  const end = () => {
    clearInterval(alive);
    stop();
  };
  try {
    early.unshift(await latest());
  } catch (error) {
    end();
    throw error;
  }
  res.set({ "Content-Type": "text/event-stream", "X-Accel-Buffering": "no" });
  res.flushHeaders();
  res.on("close", end);
  hear = ({ event, data }) => {
    if (res.writableEnded) return;
    res.write(`event: ${event}\ndata: ${JSON.stringify(data)}\n\n`);
    if (event === "stage") return;
    end();
    res.end();
  };
  for (const event of early) hear(event);
  if (res.writableEnded) return;
  alive = setInterval(() => {
    res.write(": still here\n\n");
    // whoever made it may have been cut off, or have died, before it told
    latest().then(
      (now) => now.event !== "stage" && hear(now),
      // it was cancelled; what else fails is tried again
      (error) => error instanceof RequestError && hear({ event: "problem", data: toProblem(error) }),
    );
  }, HEARTBEAT_MS);
}
