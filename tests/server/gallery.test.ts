import { readdirSync, statSync } from "node:fs";
import { join } from "node:path";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { shapeOf } from "../../server/gallery-filter.ts";
import { Reader } from "../../server/reader.ts";
import * as contract from "../../vision/contract/index.ts";
import { keepReading } from "./kept-readings.ts";
import { denseBetween } from "./readings.ts";
import { MOODY, problemOf, SAMPLES, type Serving, serving } from "./serving.ts";

let app: Serving;
let id: string;
const reading = denseBetween(10, 222, 4);
const labels = new Uint8Array(915 * 455).fill(1).fill(2, 0, 915 * 111);
beforeAll(async () => {
  app = await serving({ reader: new Reader({ entry: MOODY }) });
  const classes = await sharp(labels, { raw: { width: 915, height: 455, channels: 1 } })
    .toColourspace("b-w")
    .png()
    .toBuffer();
  id = await keepReading(app.parts, 1, reading, { classes });
});
afterAll(() => app.close());

const list = async (query = "") => contract.ReferenceList.parse(await (await app.get(`/api/gallery${query}`)).json());

const choices = async () => contract.GalleryChoices.parse(await (await app.get("/api/gallery-choices")).json());

describe("the stock that comes with the program", () => {
  it("has at least 40 references of good and bad bands, in six materials and more, each with remedy's source and licence", async () => {
    const { items, all } = await list("?limit=200");
    expect(all).toBe(items.length);
    expect(items.length).toBeGreaterThanOrEqual(40);
    expect(new Set(items.map(({ material }) => material.dense)).size).toBeGreaterThanOrEqual(6);
    expect(items.filter(({ fault }) => fault === "none").length).toBeGreaterThan(5);
    expect(new Set(items.map(({ fault }) => fault)).size).toBe(contract.DECK_FAULTS.length);
    for (const { id: name, basis, licence, edges, deck } of items) {
      expect(basis.length, name).toBeGreaterThan(0);
      expect(licence, name).toBe("CC0-1.0");
      expect(
        edges.every(({ atMm }) => atMm > 0 && atMm < deck.outletMm),
        name,
      ).toBe(true);
    }
  });

  it("is small: 60 kB a photo, 2.5 MB in all; its pictures are what they say", async () => {
    const folder = join(SAMPLES, "gallery");
    const sizes = readdirSync(folder).map((name) => ({ name, bytes: statSync(join(folder, name)).size }));
    for (const { name, bytes } of sizes) if (name.endsWith(".jpg")) expect(bytes, name).toBeLessThanOrEqual(60_000);
    expect(sizes.reduce((sum, { bytes }) => sum + bytes, 0)).toBeLessThan(2_500_000);
    const [first] = (await list("?limit=1")).items;
    const photo = await app.get(first!.photoUrl);
    expect(photo.headers.get("Content-Type")).toBe("image/jpeg");
    expect((await sharp(Buffer.from(await photo.arrayBuffer())).metadata()).format).toBe("jpeg");
    const mask = await sharp(Buffer.from(await (await app.get(first!.classesUrl!)).arrayBuffer())).metadata();
    expect(mask).toMatchObject({ format: "png", isPalette: true });
  });

  it("is found by words, fault and material, in parts", async () => {
    const dry = (await list("?fault=dry")).items;
    expect(dry.length).toBeGreaterThan(3);
    expect(dry.every(({ fault }) => fault === "dry")).toBe(true);
    const garnet = (await list("?words=GARNET")).items;
    expect(garnet.length).toBeGreaterThan(0);
    // "granada" is garnet; what is written without its accents is found too
    const portuguese = (await list("?words=GRANADA&language=pt")).items;
    expect(portuguese.map(({ id: one }) => one)).toEqual(garnet.map(({ id: one }) => one));
    expect((await list("?words=granada")).items).toEqual([]);
    expect((await list("?words=divisores%20salao&language=pt")).items).toEqual([]);
    expect((await list("?words=galpao&language=pt")).items.map(({ id: one }) => one)).toContain("black-sand");
    expect((await list("?words=garnet&fault=empty&material=nothing")).items).toEqual([]);
    const { materials, decks } = await choices();
    expect(decks).toEqual([]); // none of the site's own yet
    expect(materials).toEqual([...new Set(materials)]);
    expect(materials).toEqual(expect.arrayContaining(["cassiterite", "quartz sand"]));
    for (const name of materials) {
      const { items } = await list(`?limit=200&${new URLSearchParams({ material: name })}`);
      expect(items.length, name).toBeGreaterThan(0);
      for (const { material } of items) expect(Object.values(material)).toContain(name);
    }
    const first = await list("?limit=30");
    const rest = await list(`?limit=200&cursor=${first.next}`);
    expect([...first.items, ...rest.items]).toEqual((await list("?limit=200")).items);
    await problemOf(await app.get("/api/gallery/no-such-one"), 404, "not-found");
  });
});

describe("the shape of a deck", () => {
  it("is told by its outline: right angles, a parallelogram, or neither", () => {
    const shapes: [contract.DeckShape, [number, number][]][] = [
      ["rectangle", [[0, 0], [1830, 0], [1830, 910], [0, 910]]], // biome-ignore format: one outline a line
      ["slanted", [[0, 0], [1800, 0], [2060, 920], [260, 920]]], // biome-ignore format: one outline a line
      ["slanted", [[308, 0], [2102, 0], [1794, 972], [0, 972]]], // biome-ignore format: one outline a line
      ["other", [[0, 0], [2164, 0], [2164, 918], [0, 1059]]], // biome-ignore format: one outline a line
      ["other", [[0, 0], [2440, 0], [2440, 890], [2180, 1220], [0, 1220]]], // biome-ignore format: one outline a line
    ];
    for (const [shape, outline] of shapes) expect(shapeOf(outline), JSON.stringify(outline)).toBe(shape);
  });

  it("divides the gallery without rest; each shape is there", async () => {
    const { all } = await list();
    const parts = await Promise.all(contract.DECK_SHAPES.map((shape) => list(`?limit=200&shape=${shape}`)));
    expect(parts.every(({ items }) => items.length > 2)).toBe(true);
    expect(parts.reduce((sum, part) => sum + part.all, 0)).toBe(all);
    const rhomboid = parts[1]!.items.find(({ id: name }) => name === "rhomboid-chromite-surge");
    expect(rhomboid).toBeDefined();
    await problemOf(await app.get("/api/gallery?shape=round"), 400, "body-wrong");
  });
});

describe("a site's own references", () => {
  it("come from a reading with its mark-up, are nearest to that very reading, and go again", async () => {
    const asked = {
      reading: id,
      title: "Ours on a good day",
      material: { dense: "black sand", middling: null, light: "river sand" },
      fault: "none",
      authors: "The morning shift",
      licence: "Ours alone",
    };
    const made = contract.ShownReference.parse(await (await app.ask("POST", "/api/gallery", asked)).json());
    expect(made).toMatchObject({
      edges: [
        { kind: "dense", edge: "from", atMm: 10 },
        { edge: "to", atMm: 222 },
      ],
    });
    expect((await app.get(made.classesUrl!)).status).toBe(200);
    expect((await choices()).decks).toEqual(["Deck"]);
    expect((await list("?deck=Deck&shape=rectangle")).items.map((one) => one.id)).toEqual([made.id]);
    expect((await list("?deck=Deck&material=coal")).items).toEqual([]);
    const alike = contract.Alike.parse(await (await app.ask("POST", "/api/gallery/alike", { reading })).json());
    expect(alike.items[0]).toMatchObject({ reference: { id: made.id }, distance: 0, differences: [] });
    expect(alike.items.length).toBe(3);
    const lower = denseBetween(70, 282, 4);
    const told = contract.Alike.parse(await (await app.ask("POST", "/api/gallery/alike", { reading: lower })).json());
    expect(told.items[0]!.differences).toMatchObject([
      { name: "edge", band: "dense", way: "lower", mm: 60 },
      { name: "edge", band: "dense", way: "lower", mm: 60 },
    ]);
    const dry = contract.Alike.parse(
      await (await app.ask("POST", "/api/gallery/alike", { reading, fault: "dry" })).json(),
    );
    expect(dry.items.every(({ reference }) => reference.fault === "dry")).toBe(true);
    expect((await app.ask("DELETE", `/api/gallery/${made.id}`)).status).toBe(204);
    await problemOf(await app.ask("DELETE", `/api/gallery/${made.id}`), 404, "not-found");
    await problemOf(await app.get(made.photoUrl), 404, "not-found");
  });

  it("nothing is like a photo in which nothing was read", async () => {
    const unusable = { ...reading, cover: null, grid: null, view: null, bands: [] };
    await problemOf(await app.ask("POST", "/api/gallery/alike", { reading: unusable }), 422, "not-alike");
  });
});

describe("lessons", () => {
  it("are made of references, and each try is scored against the truth", async () => {
    const [reference] = (await list("?fault=none&words=marked")).items.concat((await list("?fault=none")).items);
    const body = { name: "First bands", references: [reference!.id] };
    const lesson = contract.Lesson.parse(await (await app.ask("POST", "/api/lessons", body)).json());
    const truth = reference!.look.bands.dense!;
    const edges = [{ kind: "dense", edge: "to", atMm: truth.to * reference!.deck.outletMm + 20 }];
    const tried = await app.ask("POST", "/api/lesson-tries", {
      lesson: lesson.id,
      reference: reference!.id,
      fault: "none",
      edges,
    });
    const told = contract.LessonTry.parse(await tried.json());
    expect(told.score.faultRight).toBe(true);
    expect(told.score.medianMm).toBeCloseTo(20, 0);
    expect(contract.LessonTryList.parse(await (await app.get("/api/lesson-tries")).json()).items).toEqual([told]);
    expect(contract.LessonList.parse(await (await app.get("/api/lessons")).json()).items).toEqual([lesson]);
    await problemOf(await app.ask("POST", "/api/lessons", { ...body, references: ["none-such"] }), 404, "not-found");
    // a trainer sees how everybody did: the mean of all, and of the latest five
    const again = { lesson: lesson.id, reference: reference!.id, fault: "dry", edges: [] };
    for (let n = 0; n < 5; n++) await app.ask("POST", "/api/lesson-tries", again);
    const progress = async () =>
      contract.LessonProgress.parse(await (await app.get("/api/lesson-progress")).json()).items;
    const [own] = await progress();
    expect(own).toMatchObject({ lesson: lesson.id, lessonName: lesson.name, decks: 6, lately: 0 });
    expect(own!.score).toBeCloseTo(told.score.score / 6, 3);
    expect((await app.ask("DELETE", `/api/lessons/${lesson.id}`)).status).toBe(204);
    expect(await progress()).toMatchObject([{ lesson: lesson.id, lessonName: null, decks: 6 }]); // what people did stays
  });
});
