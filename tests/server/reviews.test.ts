import { afterAll, beforeAll, expect, it } from "vitest";
import { Reader } from "../../server/reader.ts";
import { reviewQueue } from "../../server/review-queue.ts";
import type { Waiting } from "../../server/storage/reviews.ts";
import * as contract from "../../vision/contract/index.ts";
import { keepReading } from "./kept-readings.ts";
import { denseBetween } from "./readings.ts";
import { MOODY, problemOf, type Serving, serving } from "./serving.ts";

let app: Serving;
const ids: string[] = [];
const sure = denseBetween(10, 222, 4);
const doubtful = { ...sure, bands: sure.bands.map((band) => ({ ...band, confidence: 0.2 })) };
beforeAll(async () => {
  app = await serving({ reader: new Reader({ entry: MOODY }) });
  for (const [n, reading] of [sure, doubtful, sure].entries()) ids.push(await keepReading(app.parts, n + 1, reading));
});
afterAll(() => app.close());

const queue = async (more = "") => contract.ReviewQueue.parse(await (await app.get(`/api/review-queue${more}`)).json());
const ask = (n: number, body: object) => app.ask("POST", `/api/readings/${ids[n]}/asks`, body);
const answer = (n: number, body: object, headers = {}) =>
  app.ask("POST", `/api/readings/${ids[n]}/answers`, body, headers);

it("what was asked comes before what is only unsure, and each says why", async () => {
  expect((await ask(2, { why: "didNotHelp", note: "The band went on drifting." })).status).toBe(201);
  const { items } = await queue();
  expect(items.map(({ reading }) => reading)).toEqual([ids[2], ids[1], ids[0]]);
  expect(items[0]!.reasons[0]).toMatchObject({ kind: "didNotHelp" });
  expect(items[0]!.asks).toMatchObject([{ note: "The band went on drifting." }]);
  expect(items[1]!.reasons[0]).toMatchObject({ kind: "unsureBands", value: 0.2 });
  expect(
    items.every(({ reasons, weight }) => Math.abs(reasons.reduce((s, r) => s + r.weight, 0) - weight) < 1e-3),
  ).toBe(true);
});

it("comes in parts", async () => {
  const first = await queue("?limit=1");
  const second = await queue(`?limit=2&cursor=${first.next}`);
  expect([...first.items, ...second.items]).toEqual((await queue()).items);
  expect(second.next).toBeNull();
  await problemOf(await app.get("/api/review-queue?cursor=%00"), 400, "body-wrong");
});

it("two reviewers who answer at once both are heard, and the reading leaves the queue until it is asked about again", async () => {
  const change = {
    control: "washWater",
    target: null,
    direction: "raise",
    amount: { value: 2, unit: "L/min" },
    toMm: null,
  };
  const answers = await Promise.all([
    answer(2, { verdict: "confirmed", hint: 0, phrases: ["smallSteps"] }),
    answer(2, { verdict: "changed", hint: 0, change, note: "The film looks thin." }),
  ]);
  expect(answers.map(({ status }) => status)).toEqual([201, 201]);
  const { items } = contract.ReviewAnswerList.parse(await (await app.get(`/api/readings/${ids[2]}/answers`)).json());
  expect(items.map(({ verdict }) => verdict).sort()).toEqual(["changed", "confirmed"]);
  expect(items[0]).toMatchObject({ personName: "Owner", said: sure.advice[0] });
  expect((await queue()).items.map(({ reading }) => reading)).toEqual([ids[1], ids[0]]);
  await ask(2, { why: "notSure" });
  expect((await queue()).items[0]).toMatchObject({ reading: ids[2], answers: 2, asks: [{ why: "notSure" }] });
});

it("an answer sent twice is one answer", async () => {
  const key = { "Idempotency-Key": "answer-number-one" };
  const both = [await answer(0, { verdict: "refused" }, key), await answer(0, { verdict: "refused" }, key)];
  const [first, second] = await Promise.all(both.map((one) => one.json()));
  expect(second).toEqual(first);
});

it("refuses answers that say nothing sensible", async () => {
  await problemOf(await answer(1, { verdict: "changed" }), 400, "body-wrong");
  await problemOf(await answer(1, { verdict: "confirmed", hint: 7 }), 400, "body-wrong");
  await problemOf(await answer(1, { verdict: "confirmed", phrases: ["anything"] }), 400, "body-wrong");
  await problemOf(await ask(1, { why: "bored" }), 400, "body-wrong");
});

it("a band that jumps, dense in a wrong launder and a hint that was not done weigh by how much", () => {
  const one = (id: string, madeAt: string, reading: contract.Reading, taken: string[] = []): Waiting => {
    return { id, photo: id, name: id, madeAt, deck: "d", reading, asks: [], answers: 0, taken };
  };
  const quiet = (to: number) => ({ ...denseBetween(10, to, 4), quality: { usable: true, issues: [] } });
  const launders = [
    { name: "A", product: "dense" as const, fromMm: 0, toMm: 240, carried: { dense: 0.6, middling: 0, light: 0 } },
    { name: "B", product: "light" as const, fromMm: 240, toMm: 900, carried: { dense: 0.4, middling: 1, light: 1 } },
  ];
  const found = reviewQueue([
    one("d", "4", { ...quiet(340), launders }),
    one("c", "3", quiet(340), ["not"]),
    one("b", "2", quiet(340)),
    one("a", "1", quiet(222)),
  ]);
  expect(found.map(({ reading, reasons }) => [reading, reasons.map(({ kind }) => kind)])).toEqual([
    ["d", ["denseLost"]],
    ["c", ["hintNotDone"]],
    ["b", ["suddenMove"]],
  ]);
  expect(found[0]!.reasons[0]!.value).toBeCloseTo(0.4, 4);
  expect(found[2]!.reasons[0]!.value).toBeCloseTo(118, 4);
});
