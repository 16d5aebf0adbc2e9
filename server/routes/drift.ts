import { z } from "zod";
import { type Drift, driftOf } from "../../vision/accounts/index.ts";
import { AlarmList, DeckDrift, Id } from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import type { Caller } from "../storage/caller.ts";
import type { DeckReading } from "../storage/readings.ts";

/** Photos that charts are drawn of, usually and at most. */
const USUAL_PHOTOS = 200;
const MOST_PHOTOS = 400;
/** Decks whose alarms are told together, and photos since an alarm after which it is old. */
const MOST_DECKS = 20;
const NEW_PHOTOS = 20;

/** How decks' readings move from photo to photo. */
export function driftRoutes({ data }: Parts): Endpoint[] {
  const look = async (caller: Caller, deck: string, photos: number): Promise<Seen> => {
    const readings = await data.readings.ofDeck(caller, deck, photos);
    const changes = readings.length > 0 ? await data.runLogs.changesOfDeck(caller, deck) : [];
    return { readings, drift: driftOf(readings, changes) };
  };
  return [
    endpoint(
      {
        method: "get",
        path: "/api/decks/:id/drift",
        right: "see",
        says: "Control charts of a deck's latest photos: edges, cover, dry area, with alarms and their likely cause",
        params: z.object({ id: Id }),
        query: z.object({ photos: z.coerce.number().int().min(1).max(MOST_PHOTOS).default(USUAL_PHOTOS) }),
        answer: DeckDrift,
      },
      async ({ caller, params, query }) => {
        const { id } = await data.decks.one(caller, params.id);
        const { readings, drift } = await look(caller, id, query.photos);
        const photos = readings.map(({ id: reading, photo, at, run }) => ({ reading, photo, at, run }));
        return { deck: id, photos, ...drift };
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
          const { readings, drift } = await look(caller, deck, USUAL_PHOTOS);
          for (const event of drift.events) {
            const { id: reading, photo, at } = readings[event.at]!;
            if (readings.length - event.at <= NEW_PHOTOS) items.push({ deck, deckName, reading, photo, at, event });
          }
        }
        return { items: items.toSorted((a, b) => (a.at > b.at ? -1 : 1)) };
      },
    ),
  ];
}

interface Seen {
  readonly readings: readonly DeckReading[];
  readonly drift: Drift;
}
