/**
 * How often charts of a deck alarm for nothing, and how soon they see a change: `npm run bench:drift`. Invented photos: the
 * edges and covers of `vision/accounts/deck-readings.ts`, normal, nine charts together. Also with photos that know of each other and with
 * heavier tails, which the charts do not assume.
 */
import { driftOf } from "../../vision/accounts/deck-drift.ts";
import { randomFrom } from "../../vision/scene/random.ts";
import { quietDeck, readingOf } from "../vision/accounts/deck-readings.ts";
import { gaussFrom } from "../vision/accounts/gauss.ts";

const DECKS = 60;
const PHOTOS = 500;
/** A change begins after so many quiet photos, and is looked for in so many. */
const [BEFORE, AFTER] = [50, 70];
/** sd of an edge of `quietDeck`, mm. */
const SD = 8;

type Noise = (seed: number) => () => number;
const normal: Noise = (seed) => gaussFrom(randomFrom(seed));
/** Related from photo to photo; a photo takes six numbers in turn. */
const knowing =
  (related: number): Noise =>
  (seed) => {
    const gauss = normal(seed);
    const last: number[] = [];
    let i = 0;
    return () => {
      const at = i++ % 6;
      last[at] = (last[at] ?? 0) * related + gauss() * Math.sqrt(1 - related ** 2);
      return last[at]!;
    };
  };
/** Student's t with 5 degrees of freedom, scaled to sd 1. */
const heavy: Noise = (seed) => {
  const gauss = normal(seed);
  return () => {
    const squares = [1, 2, 3, 4, 5].reduce((sum) => sum + gauss() ** 2, 0);
    return (gauss() / Math.sqrt(squares / 5)) * Math.sqrt(3 / 5);
  };
};

function eventsOf(noise: Noise, seed: number, count: number, off?: (photo: number) => number) {
  const quiet = quietDeck(noise(seed));
  const photos = Array.from({ length: count }, (_, i) => ({
    at: String(i).padStart(4, "0"),
    reading: readingOf(quiet(i, off)),
    measuredBy: "1",
  }));
  return driftOf(photos).events;
}

const say = (line: string) => process.stdout.write(`${line}\n`);
say("false events in 500 photos, nine charts together: of 500 in a row, and of 100 in a row");
for (const [name, noise] of [
  ["normal, independent", normal],
  ["correlation 1/3 from photo to photo", knowing(1 / 3)],
  ["correlation 2/3 from photo to photo", knowing(2 / 3)],
  ["heavy tails (t, 5 degrees)", heavy],
] as const) {
  const told = [PHOTOS, 100].map((photos) => {
    const counts = Array.from({ length: DECKS }, (_, i) => (eventsOf(noise, 100 + i, photos).length * 500) / photos);
    const mean = counts.reduce((a, b) => a + b, 0) / DECKS;
    const error = Math.sqrt(counts.reduce((a, b) => a + (b - mean) ** 2, 0) / (DECKS - 1) / DECKS);
    return `${mean.toFixed(2)} ± ${error.toFixed(2)}`;
  });
  say(`  ${name}: ${told.join(", ")} (${DECKS} decks)`);
}

say(`photos until an event, after ${BEFORE} quiet ones: half, nine of ten; called rightly, wrongly, unsure`);
for (const [name, right, off] of [
  ["step of 1 sd", "step", () => SD],
  ["step of 2 sd", "step", () => 2 * SD],
  ["step of 3 sd", "step", () => 3 * SD],
  ["drift of 0.1 sd a photo", "drift", (n) => 0.1 * SD * n],
  ["drift of 0.3 sd a photo", "drift", (n) => 0.3 * SD * n],
  ["surge of 4 sd over 4 photos", "surge", (n) => (n <= 4 ? 4 * SD : 0)],
] as [string, string, (n: number) => number][]) {
  const firsts = Array.from({ length: 100 }, (_, i) => {
    const events = eventsOf(normal, 1000 + i, BEFORE + AFTER, (photo) =>
      photo >= BEFORE ? off(photo - BEFORE + 1) : 0,
    );
    return events.find(({ at }) => at >= BEFORE);
  });
  const delays = firsts
    .map((event) => (event ? event.at - BEFORE + 1 : Number.POSITIVE_INFINITY))
    .toSorted((a, b) => a - b);
  const called = (kind: string | null) => firsts.filter((event) => event?.kind === kind).length;
  const wrong = ["step", "drift", "surge"]
    .filter((kind) => kind !== right)
    .reduce((sum, kind) => sum + called(kind), 0);
  say(`  ${name}: ${delays[49]}, ${delays[89]}; ${called(right)} %, ${wrong} %, ${called(null)} %`);
}
