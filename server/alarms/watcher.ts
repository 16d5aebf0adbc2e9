import type { Logger } from "pino";
import type { Alarm } from "../../vision/contract/index.ts";
import { causeWords, eventTitle, movedWords } from "../../vision/telling/index.ts";
import { speechIn } from "../speech.ts";
import type { Data } from "../storage/data.ts";
import type { DeckAlarms } from "./deck-alarms.ts";
import type { Post } from "./post.ts";
import { MOST_BYTES, pushRequest, type SenderKey } from "./web-push.ts";

/** Readings of one deck that come together are looked at together, ms. */
const TOGETHER_MS = 1500;
/** An alarm of older photos is history that was sent late; hours, with room for clocks that tell the time of the place. */
const FRESH_HOURS = 36;
/** Alarms of photos so near to one that was told are the same one, told better. */
const SAME_PHOTOS = 5;
/** Waits before a push service is asked again, ms. */
const TRIES_MS = [0, 10_000, 60_000];
/** Statuses that say that a subscription is over, or is not for this server's key (RFC 8030, section 7.3; RFC 8292, section 4.2). */
const OVER = [401, 403, 404, 410];

/** A message as the service worker shows it, in the language of who subscribed. */
export interface AlarmMessage {
  readonly title: string;
  readonly body: string;
  readonly language: string;
  readonly deck: string;
}

/** Tells each new alarm once: to pages that are open, and to devices that asked for it. */
export class AlarmWatcher {
  readonly #waiting = new Map<string, NodeJS.Timeout>();
  readonly #stopping = new AbortController();
  readonly #work = new Set<Promise<void>>();

  constructor(
    private readonly data: Data,
    private readonly alarms: DeckAlarms,
    private readonly post: Post,
    private readonly key: () => Promise<SenderKey>,
    private readonly contact: string | null,
    private readonly log: Logger,
    private readonly togetherMs = TOGETHER_MS,
  ) {}

  /** A usable reading was made: look at its deck soon. */
  heard(site: string, reading: string): void {
    this.#do(async () => {
      const deck = await this.data.readings.deckOf({ site, person: "" }, reading);
      if (!deck || this.#waiting.has(deck) || this.#stopping.signal.aborted) return;
      const timer = setTimeout(() => {
        this.#waiting.delete(deck);
        this.#do(() => this.#look(site, deck));
      }, this.togetherMs);
      timer.unref();
      this.#waiting.set(deck, timer);
    });
  }

  /** Hear a site's new alarms. @returns stops listening. */
  listen(site: string, hear: (alarm: Alarm) => void): () => void {
    return this.data.wire.hear(topicOf(site), hear);
  }

  async stop(): Promise<void> {
    this.#stopping.abort();
    for (const timer of this.#waiting.values()) clearTimeout(timer);
    await Promise.all(this.#work);
  }

  #do(work: () => Promise<void>): void {
    const done = work()
      .catch((error: unknown) => this.log.error({ err: error }, "alarms cannot be looked for"))
      .finally(() => this.#work.delete(done));
    this.#work.add(done);
  }

  async #look(site: string, id: string): Promise<void> {
    const caller = { site, person: "" };
    const deck = await this.data.decks.one(caller, id);
    const found = await this.alarms.ofDeck(caller, deck);
    const oldest = Date.now() - FRESH_HOURS * 3600_000;
    const order = (await this.data.readings.stampsOf(caller, id, 200)).photos.map(([reading]) => reading);
    const told = new Set(await this.data.pushes.toldOf(id));
    for (const alarm of found) {
      const time = Date.parse(alarm.at.endsWith("Z") ? alarm.at : `${alarm.at}Z`);
      if (time < oldest) continue;
      const place = order.indexOf(alarm.reading);
      const near = order.slice(Math.max(0, place - SAME_PHOTOS), place + SAME_PHOTOS + 1);
      if (near.some((reading) => told.has(reading))) continue;
      if (!(await this.data.pushes.tell(site, id, alarm.reading))) continue;
      told.add(alarm.reading);
      this.data.wire.tell(topicOf(site), alarm);
      this.#do(() => this.#push(site, alarm));
    }
  }

  async #push(site: string, alarm: Alarm): Promise<void> {
    const subscribed = await this.data.pushes.ofSite(site);
    if (subscribed.length === 0) return;
    const key = await this.key();
    const topic = alarm.deck.replaceAll("-", "");
    await Promise.all(
      subscribed.map(async (to) => {
        const plain = new TextEncoder().encode(JSON.stringify(messageOf(alarm, to.language)));
        for (const wait of TRIES_MS) {
          if (wait > 0) await this.#pause(wait);
          if (this.#stopping.signal.aborted) return;
          const nowSeconds = Date.now() / 1000;
          const status = await this.post(pushRequest(to, plain, key, { contact: this.contact, topic, nowSeconds }));
          if (status !== null && status >= 200 && status < 300) return;
          if (status !== null && OVER.includes(status)) return this.data.pushes.end(to.id);
          if (status !== null && status < 500 && status !== 429) break;
        }
        this.log.warn({ deck: alarm.deck }, "an alarm did not reach a device");
      }),
    );
  }

  #pause(ms: number): Promise<void> {
    return new Promise((resolve) => {
      const timer = setTimeout(resolve, ms);
      timer.unref();
      this.#stopping.signal.addEventListener("abort", () => {
        clearTimeout(timer);
        resolve();
      });
    });
  }
}

const topicOf = (site: string) => `alarms ${site}`;

/** An alarm in the language of whoever is to read it; cut so that it fits one message. */
export function messageOf({ deck, deckName, since, event }: Alarm, language: string): AlarmMessage {
  const speech = speechIn(language);
  const title = `${deckName}: ${eventTitle(speech, event, since)}`;
  const body = `${movedWords(speech, event)}. ${causeWords(speech, event)}`;
  const cut = (text: string, most: number) => (text.length <= most ? text : `${text.slice(0, most - 1)}…`);
  // a letter takes up to three bytes
  return { title: cut(title, 200), body: cut(body, Math.floor(MOST_BYTES / 3) - 400), language: speech.code, deck };
}
