import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { Reader } from "../../server/reader.ts";
import { newId } from "../../server/storage/naming.ts";
import * as contract from "../../vision/contract/index.ts";
import { randomFrom } from "../../vision/scene/random.ts";
import { inEnglish } from "../english.ts";
import { quietDeck, readingOf } from "../vision/accounts/deck-readings.ts";
import { gaussFrom } from "../vision/accounts/gauss.ts";
import { keepRows } from "./kept-readings.ts";
import { MOODY, problemOf, type Serving, serving } from "./serving.ts";

let app: Serving;
let deck: string;
let run: string;
const DECK = { schemaVersion: 1 as const, lengthMm: 1830, widthMm: 910 };
const at = (i: number) => new Date(Date.UTC(2031, 4, 4, 6, 10 * i)).toISOString().slice(0, 19);
const name = (i: number) => i.toString(16).padStart(64, "0");

beforeAll(async () => {
  app = await serving({ reader: new Reader({ entry: MOODY }) });
  deck = (await (await app.ask("POST", "/api/decks", { name: "North", file: DECK })).json()).id;
  run = (
    await (await app.ask("POST", "/api/runs", { name: "Morning", deck, startedAt: "2031-05-04T06:00:00.000Z" })).json()
  ).id;
  await keepReadings(80, (i) => (i >= 65 ? 60 : 0));
});
afterAll(() => app.close());

async function keepReadings(count: number, off: (i: number) => number): Promise<void> {
  const quiet = quietDeck(gaussFrom(randomFrom(33)));
  for (let i = 0; i < count; i++) {
    const photo = { id: name(i + 1), name: `${i}.jpg`, takenAt: at(i), run };
    await keepRows(app.parts, photo, { id: name(1000 + i), deck, reading: readingOf(quiet(i, off)) });
  }
}

const drift = async (query = "") =>
  contract.Drift.parse(await (await app.get(`/api/decks/${deck}/drift${query}`)).json());

describe("a deck's photos on charts", () => {
  it("in the order in which they were taken; the step is told with what was changed then, as soon as it is written down", async () => {
    const seen = await drift();
    expect(seen.photos.map((photo) => photo.at)).toEqual(Array.from({ length: 80 }, (_, i) => at(i)));
    expect(seen.photosBetweenFalseAlarms).toBe(500);
    const [event] = seen.events.filter(({ moved }) => moved.some(({ quantity }) => quantity === "dense to"));
    expect(event).toMatchObject({ kind: "step", cause: { kind: "common practice" } });
    const change = {
      control: "wash water",
      target: "",
      figure: { value: 18, error: null },
      at: at(64).slice(0, 16),
      who: "Ama",
      note: "too much sand in the light",
    };
    expect((await app.ask("POST", `/api/runs/${run}/entries`, { entry: { kind: "change", change } })).status).toBe(201);
    const again = await drift();
    expect(inEnglish(again.events.map(({ cause }) => cause.told)).join(" ")).toContain(
      `Wash water was changed by Ama at ${at(64).slice(0, 16).replace("T", " ")}. Noted: too much sand in the light.`,
    );
  });

  it("of the latest photos only, where so asked", async () => {
    const { photos, charts } = await drift("?photos=10");
    expect(photos.map((photo) => photo.at)).toEqual(Array.from({ length: 10 }, (_, i) => at(70 + i)));
    expect(charts).toEqual([]);
    await problemOf(await app.get(`/api/decks/${deck}/drift?photos=0`), 400, "body-wrong");
    await problemOf(await app.get(`/api/decks/${newId()}/drift`), 404, "not-found");
  });

  it("of a run alone; a photo put into another run, or into none, is no more of it", async () => {
    const runs = async (id: string) =>
      contract.Drift.parse(await (await app.get(`/api/runs/${id}/drift`)).json()).photos.length;
    expect(await runs(run)).toBe(80);
    const { id: other } = await (await app.ask("POST", "/api/runs", { name: "Evening" })).json();
    const put = (to: string | null) => app.ask("PATCH", `/api/photos/${name(1)}`, { run: to });
    expect(contract.StoredPhoto.parse(await (await put(other)).json()).run).toBe(other);
    expect([await runs(run), await runs(other)]).toEqual([79, 1]);
    await problemOf(await put(newId()), 404, "not-found");
    await problemOf(await app.ask("PATCH", `/api/photos/${name(999)}`, { run }), 404, "not-found");
    expect((await put(run)).status).toBe(200);
    expect(await runs(run)).toBe(80);
  });

  it("alarms of all decks come together, the latest first, and old ones are left out", async () => {
    const { items } = contract.AlarmList.parse(await (await app.get("/api/alarms")).json());
    expect(items[0]).toMatchObject({ deck, deckName: "North" });
    expect(items.some(({ event }) => event.kind === "step")).toBe(true);
    for (const { at: when } of items) expect(when >= at(60)).toBe(true);
  });

  it("takes no longer than a person waits: 200 photos within 2 s", async () => {
    const begun = performance.now();
    await drift();
    expect(performance.now() - begun).toBeLessThan(2000);
  });
});

describe("what a photo lets expect", () => {
  it("says what is wanting where no run has photos and assays yet", async () => {
    const told = contract.Expected.parse(await (await app.get(`/api/readings/${name(1005)}/expected`)).json());
    expect(told).toMatchObject({ reading: name(1005), launders: [] }); // these readings have no launders
    await problemOf(await app.get(`/api/readings/${name(9)}/expected`), 404, "not-found");
    const { id } = await (await app.ask("POST", "/api/runs", { name: "Elsewhere" })).json();
    await app.ask("PATCH", `/api/photos/${name(6)}`, { run: null });
    await problemOf(await app.get(`/api/readings/${name(1005)}/expected`), 422, "not-enough");
    await app.ask("PATCH", `/api/photos/${name(6)}`, { run: id });
    expect((await app.get(`/api/readings/${name(1005)}/expected`)).status).toBe(200);
  });
});
