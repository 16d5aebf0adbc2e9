import { z } from "zod";
import {
  ContentId,
  HintTaken,
  HintTakenList,
  MarkUp,
  MarkUpList,
  NewHintTaken,
  NewMarkUp,
} from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { askOf, PageQuery } from "../storage/pages.ts";

const At = z.object({ id: ContentId });

/** What people say of readings. */
export function saidRoutes({ data }: Parts): Endpoint[] {
  return [
    endpoint(
      {
        method: "post",
        path: "/api/readings/:id/mark-ups",
        right: "review",
        says: "Lay a correction over a reading",
        params: At,
        body: NewMarkUp,
        answer: MarkUp,
        status: 201,
      },
      ({ caller, params, body, newId }) => data.said.markUp(caller, params.id, body, newId()),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/readings/:id/mark-ups",
        right: "see",
        says: "What people corrected in a reading, the latest first",
        params: At,
        query: PageQuery,
        answer: MarkUpList,
      },
      ({ caller, params, query }) => data.said.markUps(caller, params.id, askOf(query)),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/readings/:id/hints-taken",
        right: "work",
        says: "Say whether one of a reading's hints was followed",
        params: At,
        body: NewHintTaken,
        answer: HintTaken,
        status: 201,
      },
      ({ caller, params, body, newId }) => data.said.takeHint(caller, params.id, body, newId()),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/readings/:id/hints-taken",
        right: "see",
        says: "Which of a reading's hints were followed, the latest first",
        params: At,
        query: PageQuery,
        answer: HintTakenList,
      },
      ({ caller, params, query }) => data.said.hintsTaken(caller, params.id, askOf(query)),
    ),
  ];
}
