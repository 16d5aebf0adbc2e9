import { changesOf, type NotedChange } from "../../vision/accounts/index.ts";
import type { Alarm, Drift } from "../../vision/contract/index.ts";
import { driftOver } from "../drift.ts";
import { sha256 } from "../sha256.ts";
import type { Caller } from "../storage/caller.ts";
import type { Data } from "../storage/data.ts";

/** Photos that alarms are sought in: fewer than charts are drawn of, since there are many decks. */
const ALARM_PHOTOS = 100;
/** Photos since an alarm after which it is old. */
const NEW_PHOTOS = 20;
/** Runs of a deck that are looked through for what was changed. */
const MOST_RUNS = 20;
/** Decks whose alarms are told together, and of which they are remembered. */
const MOST_DECKS = 10;
const MOST_REMEMBERED = 500;

type Site = Pick<Caller, "site">;

/** What moved lately on decks: worked out anew only when a photo, a reading or something written down is new. */
export class DeckAlarms {
  readonly #data: Data;
  readonly #known = new Map<string, { readonly stamp: string; readonly alarms: readonly Alarm[] }>();

  constructor(data: Data) {
    this.#data = data;
  }

  /** Of the site's decks, the latest first. */
  async ofSite(caller: Caller): Promise<Alarm[]> {
    const { items: decks } = await this.#data.decks.list(caller, { limit: MOST_DECKS, after: null });
    const all: Alarm[] = [];
    for (const deck of decks) all.push(...(await this.ofDeck(caller, deck)));
    return all.toSorted((a, b) => (a.at > b.at ? -1 : 1));
  }

  /** Of one deck, in order of time. */
  async ofDeck({ site }: Site, deck: { readonly id: string; readonly name: string }): Promise<readonly Alarm[]> {
    const caller = { site, person: "" };
    const stamp = sha256(
      JSON.stringify([deck.name, await this.#data.readings.stampsOf(caller, deck.id, ALARM_PHOTOS)]),
    );
    const known = this.#known.get(deck.id);
    if (known?.stamp === stamp) return known.alarms;
    const { photos, events } = await chartsOf(this.#data, caller, { deck: deck.id }, ALARM_PHOTOS);
    const alarms = events
      .filter((event) => photos.length - event.at <= NEW_PHOTOS)
      .map((event): Alarm => {
        const { reading, photo, at } = photos[event.at]!;
        const since = photos[event.since]!.at;
        return { deck: deck.id, deckName: deck.name, reading, photo, at, since, event };
      });
    this.#known.delete(deck.id);
    this.#known.set(deck.id, { stamp, alarms });
    for (const old of this.#known.keys()) {
      if (this.#known.size <= MOST_REMEMBERED) break;
      this.#known.delete(old);
    }
    return alarms;
  }
}

/** Charts of a deck's, or a run's, latest photos, with what was written down as changed. */
export async function chartsOf(
  data: Data,
  caller: Caller,
  of: { readonly deck: string } | { readonly run: string },
  photos: number,
): Promise<Drift> {
  const readings = await data.readings.inTime(caller, of, photos);
  if (readings.length === 0) return driftOver([], []);
  const runs = "run" in of ? [{ id: of.run }] : await data.runs.ofDeck(caller, of.deck, MOST_RUNS);
  const changes: NotedChange[] = [];
  for (const { id } of runs) changes.push(...changesOf((await data.runLogs.record(caller, id)).record));
  changes.sort((a, b) => (a.at < b.at ? -1 : 1));
  return driftOver(readings, changes);
}
