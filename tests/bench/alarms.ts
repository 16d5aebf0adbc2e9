/** How long the list of alarms takes: ten decks of a hundred photos each, asked again and again, and after a new photo. */
import { Reader } from "../../server/reader.ts";
import { randomFrom } from "../../vision/scene/random.ts";
import { keepRows } from "../server/kept-readings.ts";
import { MOODY, serving } from "../server/serving.ts";
import { quietDeck, readingOf } from "../vision/accounts/deck-readings.ts";
import { gaussFrom } from "../vision/accounts/gauss.ts";

const [DECKS, PHOTOS, TIMES] = [10, 100, 7];
const app = await serving({ reader: new Reader({ entry: MOODY }) });
const name = (n: number) => n.toString(16).padStart(64, "0");
const at = (i: number) => new Date(Date.UTC(2031, 4, 4, 6, 10 * i)).toISOString().slice(0, 19);
async function keep(deck: string, d: number, i: number, quiet: ReturnType<typeof quietDeck>) {
  const n = 1000 * d + i;
  const photo = { id: name(n + 1), name: `${n}.jpg`, takenAt: at(i) };
  await keepRows(app.parts, photo, {
    id: name(1e6 + n),
    deck,
    reading: readingOf(quiet(i, (k) => (k >= 90 ? 70 : 0))),
  });
}
const file = { schemaVersion: 1 as const, lengthMm: 1830, widthMm: 910 };
const quiet = quietDeck(gaussFrom(randomFrom(3)));
const decks: string[] = [];
for (let d = 0; d < DECKS; d++) {
  const made = await (await app.ask("POST", "/api/decks", { name: `Deck ${d}`, file })).json();
  decks.push(made.id);
  for (let i = 0; i < PHOTOS; i++) await keep(made.id, d, i, quiet);
}
async function asked(): Promise<number> {
  const begun = performance.now();
  const { items } = await (await app.get("/api/alarms")).json();
  if (items.length < DECKS) throw new Error(`${items.length} alarms`);
  return performance.now() - begun;
}
const median = (all: readonly number[]) => all.toSorted((a, b) => a - b)[Math.floor(all.length / 2)]!;
const first = await asked();
const again: number[] = [];
for (let k = 0; k < TIMES; k++) again.push(await asked());
const after: number[] = [];
for (let k = 0; k < TIMES; k++) {
  await keep(decks[k % DECKS]!, k % DECKS, PHOTOS + k, quiet);
  after.push(await asked());
}
console.log(
  `${DECKS} decks of ${PHOTOS} photos: first ${first.toFixed(0)} ms, again ${median(again).toFixed(1)} ms, after a new photo ${median(after).toFixed(0)} ms`,
);
await app.close();
