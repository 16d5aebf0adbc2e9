import { z } from "zod";
import { Drift, Id } from "../../vision/contract/index.ts";
import { chartsOf } from "../alarms/deck-alarms.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";

/** Photos that charts are drawn of, usually and at most. */
const USUAL_PHOTOS = 200;
const MOST_PHOTOS = 400;
const Photos = z.object({ photos: z.coerce.number().int().min(1).max(MOST_PHOTOS).default(USUAL_PHOTOS) });
/** How decks' readings move from photo to photo. */
export function driftRoutes({ data }: Parts): Endpoint[] {
  return [
    endpoint(
      {
        method: "get",
        path: "/api/decks/:id/drift",
        right: "see",
        says: "Control charts of a deck's latest photos: edges, cover, dry area, with alarms and their likely cause",
        params: z.object({ id: Id }),
        query: Photos,
        answer: Drift,
      },
      async ({ caller, params, query }) => {
        const { id } = await data.decks.one(caller, params.id);
        return chartsOf(data, caller, { deck: id }, query.photos);
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/runs/:id/drift",
        right: "see",
        says: "The same of a run's photos",
        params: z.object({ id: Id }),
        query: Photos,
        answer: Drift,
      },
      async ({ caller, params, query }) => {
        const { id } = await data.runs.one(caller, params.id);
        return chartsOf(data, caller, { run: id }, query.photos);
      },
    ),
  ];
}
