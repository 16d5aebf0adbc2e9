import { z } from "zod";
import { changesOf, type NotedChange } from "../../vision/accounts/index.ts";
import { AlarmList, Drift, Id } from "../../vision/contract/index.ts";
import { driftOver } from "../drift.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import type { Caller } from "../storage/caller.ts";

/** Photos that charts are drawn of, usually and at most. */
const USUAL_PHOTOS = 200;
const MOST_PHOTOS = 400;
/** Runs of a deck that are looked through for what was changed. */
const MOST_RUNS = 20;
const Photos = z.object({ photos: z.coerce.number().int().min(1).max(MOST_PHOTOS).default(USUAL_PHOTOS) });
/** Decks whose alarms are told together, and photos since an alarm after which it is old. */
const MOST_DECKS = 10;
const NEW_PHOTOS = 20;
/** Photos that alarms of all decks are sought in: fewer, since there are many decks. */
const ALARM_PHOTOS = 100;

/** How decks' readings move from photo to photo. */
export function driftRoutes({ data }: Parts): Endpoint[] {
  const told = async (caller: Caller, of: { deck: string } | { run: string }, photos: number): Promise<Drift> => {
    const readings = await data.readings.inTime(caller, of, photos);
    if (readings.length === 0) return driftOver([], []);
    const runs = "run" in of ? [{ id: of.run }] : await data.runs.ofDeck(caller, of.deck, MOST_RUNS);
    const changes: NotedChange[] = [];
    for (const { id } of runs) changes.push(...changesOf((await data.runLogs.record(caller, id)).record));
    changes.sort((a, b) => (a.at < b.at ? -1 : 1));
    return driftOver(readings, changes);
  };
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
        return told(caller, { deck: id }, query.photos);
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
        return told(caller, { run: id }, query.photos);
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/alarms",
        right: "see",
        says: "What moved lately on the site's decks, the latest first",
        answer: AlarmList,
      },
      async ({ caller }) => {
        const { items: decks } = await data.decks.list(caller, { limit: MOST_DECKS, after: null });
        const items: z.infer<typeof AlarmList>["items"] = [];
        for (const { id: deck, name: deckName } of decks) {
          const { photos, events } = await told(caller, { deck }, ALARM_PHOTOS);
          for (const event of events) {
            const { reading, photo, at } = photos[event.at]!;
            if (photos.length - event.at <= NEW_PHOTOS) items.push({ deck, deckName, reading, photo, at, event });
          }
        }
        return { items: items.toSorted((a, b) => (a.at > b.at ? -1 : 1)) };
      },
    ),
  ];
}
