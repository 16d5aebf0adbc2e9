/** A long history, wherever rows are kept: many readings of many decks, and pages of them, the first ones and those far back. */
import { sha256 } from "../../server/sha256.ts";
import type { Data } from "../../server/storage/data.ts";
import { newId } from "../../server/storage/naming.ts";
import { randomFrom } from "../server/malformed.ts";
import { denseBetween } from "../server/readings.ts";

export const DECKS = 1000;
/** When the first of them was made, ms, and from one to the next. */
const [FIRST, APART] = [1.9e12, 1000];

/** Rows as so many readings make them. @returns the decks' ids. */
export async function fillHistory(data: Data, count: number): Promise<string[]> {
  const { site } = data.local;
  const reading = JSON.stringify({ ...denseBetween(100, 200, 3), advice: [] });
  const file = { schemaVersion: 1 as const, lengthMm: 1830, widthMm: 910 } as never;
  const ids: string[] = [];
  for (let i = 0; i < DECKS; i++) ids.push((await data.decks.add(data.local, { name: `Deck ${i}`, file }, newId())).id);
  const photo = (n: number) => n.toString(16).padStart(64, "0");
  for (let first = 0; first < count; first += 10_000) {
    await data.db.transaction().execute(async (trx) => {
      const numbers = Array.from({ length: Math.min(10_000, count - first) }, (_, i) => first + i);
      for (let at = 0; at < numbers.length; at += 500) {
        const some = numbers.slice(at, at + 500);
        const times = { sent_at: new Date(0).toISOString(), taken_at: null, run_id: null };
        const about = { name: "a.jpg", format: "jpeg", bytes: 1, width_px: 400, height_px: 330, ...times };
        await trx
          .insertInto("photos")
          .values(some.map((n) => ({ site_id: site, sha256: photo(n), preview_sha256: photo(n), ...about })))
          .execute();
        const none = {
          run_id: null,
          remade_from: null,
          overlay_sha256: null,
          classes_sha256: null,
          confidence_sha256: null,
        };
        const made = (n: number) => new Date(FIRST + n * APART).toISOString();
        await trx
          .insertInto("readings")
          .values(
            some.map((n) => ({
              ...{
                id: sha256(`reading ${n}`),
                site_id: site,
                photo: photo(n),
                deck_id: ids[n % DECKS]!,
                deck_version: 1,
              },
              ...{ program: "0.1.0", usable: 1, made_at: made(n), asked_json: "{}", reading_json: reading, ...none },
            })),
          )
          .execute();
      }
    });
  }
  return ids;
}

/** Ask for pages of 50 of the history. @returns how long each took, ms. */
export async function askHistory(at: string, decks: readonly string[], count: number): Promise<number[]> {
  const random = randomFrom(1);
  const times: number[] = [];
  const page = async (query: string) => {
    const began = performance.now();
    const answer = await fetch(`${at}/api/readings?limit=50${query}`);
    const { items, next } = (await answer.json()) as { items: { deck: string }[]; next: string | null };
    times.push(performance.now() - began);
    if (answer.status !== 200 || items.length === 0) throw new Error("a page is empty");
    return next;
  };
  const far = () =>
    Buffer.from(JSON.stringify([new Date(FIRST + random() * count * APART).toISOString(), "f".repeat(64)])).toString(
      "base64url",
    );
  for (let i = 0; i < 500; i++) {
    const deck = `&deck=${decks[Math.floor(random() * DECKS)]}`;
    const next = await page(deck);
    if (next) await page(`${deck}&cursor=${next}`);
    await page(`&cursor=${far()}`); // of all decks, far back
  }
  return times;
}
