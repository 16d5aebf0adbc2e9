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
import { reviewQueue } from "../review-queue.ts";
import { askOf, PageQuery } from "../storage/pages.ts";
import { partOf } from "../storage/part-of-list.ts";

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
