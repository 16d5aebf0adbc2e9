import sharp from "sharp";
import { z } from "zod";
import {
  ContentId,
  NewReviewAnswer,
  NewReviewAsk,
  ReviewAnswer,
  ReviewAnswerList,
  ReviewAsk,
  ReviewAskList,
  ReviewQueue,
} from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import { reviewQueue } from "../review-queue.ts";
import { askOf, PageQuery } from "../storage/pages.ts";
import { partOf } from "../storage/part-of-list.ts";

/** Longest side of a case's first picture, pixels: it opens on a poor line. */
const SMALL_PX = 1000;

const At = z.object({ id: ContentId });

/** Readings that need eyes, what is asked of people far away, and what they answer. */
export function reviewRoutes({ data, deckAlarms }: Parts): Endpoint[] {
  return [
    endpoint(
      {
        method: "get",
        path: "/api/review-queue",
        right: "review",
        says: "Readings that need eyes, the one that needs them most first, each with its reasons",
        query: PageQuery,
        answer: ReviewQueue,
      },
      async ({ caller, query }) =>
        partOf(
          reviewQueue(await data.reviews.waiting(caller), await deckAlarms.ofSite(caller)),
          query,
          ({ reading }) => reading,
        ),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/readings/:id/small.jpg",
        right: "see",
        says: "A usable reading drawn on its photo, small: at most 1000 pixels, about 100 kB",
        params: At,
        answerType: "image/jpeg",
      },
      async ({ caller, params, res }) => {
        const blob = await data.readings.picture(caller, params.id, "overlay");
        const bytes = blob && (await data.blobs.read(blob));
        if (!bytes)
          throw new RequestError("not-found", "There is no such picture: the reading is unusable or not made yet.");
        const small = await sharp(bytes)
          .resize(SMALL_PX, SMALL_PX, { fit: "inside", withoutEnlargement: true })
          .jpeg({ quality: 60, mozjpeg: true })
          .toBuffer();
        res.set("Cache-Control", "private, max-age=31536000, immutable").type("image/jpeg").send(small);
      },
    ),
    endpoint(
      {
        method: "post",
        path: "/api/readings/:id/asks",
        right: "work",
        says: "Ask for a reading to be looked at",
        params: At,
        body: NewReviewAsk,
        answer: ReviewAsk,
        status: 201,
      },
      ({ caller, params, body, newId }) => data.reviews.ask(caller, params.id, body, newId()),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/readings/:id/asks",
        right: "see",
        says: "What was asked about a reading, the latest first",
        params: At,
        query: PageQuery,
        answer: ReviewAskList,
      },
      ({ caller, params, query }) => data.reviews.asks(caller, params.id, askOf(query)),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/readings/:id/answers",
        right: "review",
        says: "Answer a reading: its hint confirmed, changed or refused; earlier answers stay",
        params: At,
        body: NewReviewAnswer,
        answer: ReviewAnswer,
        status: 201,
      },
      ({ caller, params, body, newId }) => data.reviews.answer(caller, params.id, body, newId()),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/readings/:id/answers",
        right: "see",
        says: "What people answered to a reading, the latest first",
        params: At,
        query: PageQuery,
        answer: ReviewAnswerList,
      },
      ({ caller, params, query }) => data.reviews.answers(caller, params.id, askOf(query)),
    ),
  ];
}
