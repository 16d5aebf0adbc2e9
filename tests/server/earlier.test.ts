import { afterAll, beforeAll, expect, it } from "vitest";
import { Reader } from "../../server/reader.ts";
import { type EarlierLook, MOST_EARLIER, PhotoReceipt, Reading, ReadingReceipt } from "../../vision/contract/index.ts";
import { MOODY, photoNo, type Serving, serving } from "./serving.ts";

/** Earlier looks stand in what a reading is asked with, so in its name: the same question has the same answer at any time. */

let app: Serving;
beforeAll(async () => {
  app = await serving({ reader: new Reader({ entry: MOODY }) });
});
afterAll(() => app.close());

const DECK = { schemaVersion: 1 as const, lengthMm: 1830, widthMm: 910 };
const look = (wash: number): EarlierLook => ({
  reading: { bands: [], splitters: [{ name: "upper", atMm: 240, suggestedMm: 250, errorMm: 9 }], advice: [] },
  settings: { washWaterLitresPerMinute: wash },
});

it("names a reading by its earlier looks too, and gives the same one again for the same", async () => {
  const sent = await app.send(await photoNo(71), { "X-File-Name": "a.jpg" });
  const photo = PhotoReceipt.parse(await sent.json()).id;
  const ask = async (earlier?: EarlierLook[]) => {
    const answer = await app.ask("POST", "/api/readings", { photo, deck: DECK, ...(earlier && { earlier }) });
    const { id } = ReadingReceipt.parse(await answer.json());
    await (await app.get(`/api/readings/${id}/events`)).text();
    return id;
  };
  const ids = [await ask(), await ask([look(14)]), await ask([look(14), look(16)])];
  expect(new Set(ids).size).toBe(3);
  expect(await ask([look(14)])).toBe(ids[1]);
  Reading.parse(await (await app.get(`/api/readings/${ids[1]}`)).json());
});

it("refuses more looks than advice leans on, and looks that are none", async () => {
  const photo = "a".repeat(64);
  const many = Array.from({ length: MOST_EARLIER + 1 }, (_, i) => look(10 + i));
  expect((await app.ask("POST", "/api/readings", { photo, deck: DECK, earlier: many })).status).toBe(400);
  expect((await app.ask("POST", "/api/readings", { photo, deck: DECK, earlier: [{}] })).status).toBe(400);
});
