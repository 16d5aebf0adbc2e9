import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it, vi } from "vitest";
import { knownScene, referenceOf } from "../../server/made-deck.ts";
import { readAnyMarkedPng } from "../../server/marked-png.ts";
import { Reader } from "../../server/reader.ts";
import { sweep } from "../../server/storage/sweep.ts";
import { Lesson, LessonTry, ReferenceList, ShownReference } from "../../vision/contract/index.ts";
import { mainEdges, makeScene } from "../../vision/index.ts";
import { MOODY, problemOf, type Serving, serving } from "./serving.ts";

/** Decks that a trainer has made: by the real scene maker in a process of the server's own, kept with their truth. */

vi.setConfig({ testTimeout: 60_000, hookTimeout: 60_000 });

/** Seed 8,000,003 has a material without a name: the next one with names is 8,000,004. */
const SEED = 8_000_003;
const FOUND = 8_000_004;
let app: Serving;
beforeAll(async () => {
  app = await serving();
});
afterAll(() => app.close());

const make = (body: unknown, headers = {}) => app.ask("POST", "/api/gallery/made", body, headers);
const made = async (answer: Response) => {
  expect(answer.status).toBe(201);
  return ShownReference.parse(await answer.json());
};
const bytesAt = async (path: string) => Buffer.from(await (await app.get(path)).arrayBuffer());

describe("a made deck", () => {
  it("is the first from its seed on that can be taught from, with its truth, its fault's source, licence and seed; the same again", async () => {
    const deck = await made(await make({ seed: SEED }));
    expect(deck).toMatchObject({
      id: `scene-${FOUND}`,
      seed: FOUND,
      title: "Native gold over grey gangue",
      fault: "starved",
      running: true,
      licence: "CC0-1.0",
      authors: "The deckbands project",
    });
    expect(deck.basis.length).toBeGreaterThan(0);
    const photo = await bytesAt(deck.photoUrl);
    const { format, width, height } = await sharp(photo).metadata();
    expect({ format, long: Math.max(width, height) <= 760, light: photo.length <= 40_000 }).toEqual({
      format: "jpeg",
      long: true,
      light: true,
    });
    // the mask tells what the outlet's edges tell: some dense, and edges within the outlet
    const classes = await bytesAt(deck.classesUrl!);
    const { labels } = readAnyMarkedPng(classes, 1_000_000);
    const share = labels.filter((label) => label === 2).length / labels.filter((label) => label > 0).length;
    expect(share).toBeCloseTo(deck.look.cover.dense, 1);
    expect(deck.edges.length).toBeGreaterThan(0);
    for (const { atMm } of deck.edges) expect(atMm > 0 && atMm < deck.deck.outletMm).toBe(true);

    // kept: no clean-up takes its pictures away
    await sweep(app.parts.data, new AbortController().signal);
    expect((await bytesAt(deck.photoUrl)).equals(photo)).toBe(true);
    // the same seed finds the one that is here; taken away and made anew, it is the same to the byte
    expect(await made(await make({ seed: FOUND }))).toEqual(deck);
    const { items } = ReferenceList.parse(
      await (await app.get("/api/gallery?words=native%20gold&fault=starved")).json(),
    );
    expect(items.filter(({ id }) => id === deck.id)).toEqual([deck]);
    expect((await app.ask("DELETE", `/api/gallery/${deck.id}`)).status).toBe(204);
    await problemOf(await app.get(deck.photoUrl), 404, "not-found");
    expect(await made(await make({ seed: FOUND }))).toEqual(deck);
    expect((await bytesAt(deck.photoUrl)).equals(photo)).toBe(true);
    expect((await bytesAt(deck.classesUrl!)).equals(classes)).toBe(true);
  });

  it("makes a lesson like any other reference; who marks its true edges and fault has all points", async () => {
    const deck = await made(await make({ seed: FOUND }));
    const body = { name: "Made for today", note: "", references: [deck.id] };
    const lesson = Lesson.parse(await (await app.ask("POST", "/api/lessons", body)).json());
    const asked = { lesson: lesson.id, reference: deck.id, fault: deck.fault, edges: mainEdges(deck) };
    const { score } = LessonTry.parse(await (await app.ask("POST", "/api/lesson-tries", asked)).json());
    expect(score.faultRight).toBe(true);
    expect(score.edges.length).toBeGreaterThan(0);
    for (const { offMm, points } of score.edges) expect({ offMm, points }).toEqual({ offMm: 0, points: 1 });
    const wrong = { ...asked, fault: "overloaded", edges: [] };
    const other = LessonTry.parse(await (await app.ask("POST", "/api/lesson-tries", wrong)).json());
    expect(other.score.faultRight).toBe(false);
    for (const { points } of other.score.edges) expect(points).toBe(0);
  });

  it("of no seed is another one each time, and one alone for one Idempotency-Key", async () => {
    const key = { "Idempotency-Key": "made-once-only" };
    const first = await made(await make({}, key));
    expect(await made(await make({}, key))).toEqual(first);
    expect((await made(await make({}))).seed).not.toBe(first.seed);
  });

  it("is made as the stock's decks were: the same truth and the same picture of a seed that is there", async () => {
    const seed = 7_000_015;
    const { reference, photo, classes } = await referenceOf(knownScene(seed, makeScene(seed)));
    const stock = ShownReference.parse(await (await app.get(`/api/gallery/scene-${seed}`)).json());
    expect(stock).toMatchObject(reference);
    expect((await bytesAt(stock.photoUrl)).equals(photo)).toBe(true);
    expect((await bytesAt(stock.classesUrl!)).equals(classes)).toBe(true);
  });

  it("that the stock has already is that one", async () => {
    const deck = await made(await make({ seed: 7_000_015 }));
    expect(deck.photoUrl).toBe("/api/gallery/scene-7000015/photo.jpg");
    await problemOf(await app.ask("DELETE", `/api/gallery/${deck.id}`), 404, "not-found");
  });
});

describe("where none is made", () => {
  let other: Serving;
  beforeAll(async () => {
    other = await serving({ reader: new Reader({ entry: MOODY }) });
  });
  afterAll(() => other.close());
  const ask = (body: unknown) => other.ask("POST", "/api/gallery/made", body);

  it("a process that can make none: the server says so and goes on", async () => {
    await problemOf(await ask({ seed: 1 }), 503, "busy");
    expect(ReferenceList.parse(await (await other.get("/api/gallery?limit=1")).json()).all).toBeGreaterThan(40);
  });

  it("what is no seed is refused, and who asks more than ten times a minute", async () => {
    for (const seed of [-1, 0.5, 2 ** 32, "7"]) await problemOf(await ask({ seed }), 400, "body-wrong");
    const answers = await Promise.all(Array.from({ length: 8 }, () => ask({ seed: "no" })));
    expect(answers.filter(({ status }) => status === 429).length).toBe(3); // 1 + 4 + 8 asked, 10 answered
    await problemOf(await ask({}), 429, "too-many");
  });
});
