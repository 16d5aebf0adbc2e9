import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Choices } from "../../server/parts.ts";
import { Reader } from "../../server/reader.ts";
import { sha256 } from "../../server/sha256.ts";
import { Health, JobList, PhotoReceipt, Reading, SampleList } from "../../vision/contract/index.ts";
import { quarters } from "./pictures.ts";
import { MOODY, problemOf, SAMPLES, serving } from "./serving.ts";

const closers: (() => Promise<unknown>)[] = [];

async function open(choices: Choices = {}) {
  const one = await serving(choices);
  closers.push(one.close);
  return {
    ...one,
    drop: (id: string) => one.ask("DELETE", `/api/readings/${id}`),
    waiting: async () => {
      const jobs = JobList.parse(await (await one.get("/api/jobs")).json()).items;
      return jobs.filter(({ state }) => state === "waiting" || state === "working").length;
    },
    read: (body: unknown, headers = {}) => one.ask("POST", "/api/readings", body, headers),
  };
}
type App = Awaited<ReturnType<typeof open>>;
let app: App;
let moody: App;
const plain = (bytes: Buffer) => new Uint8Array(bytes);

beforeAll(async () => {
  app = await open();
  moody = await open({ reader: new Reader({ limitSeconds: 1, entry: MOODY }) });
});
afterAll(async () => {
  for (const close of closers) await close();
});

async function events(from: App, id: string) {
  const answer = await from.get(`/api/readings/${id}/events`);
  expect(answer.headers.get("Content-Type")).toMatch(/^text\/event-stream/);
  const text = await answer.text(); // ends by itself after the last event
  return [...text.matchAll(/^event: (\w+)\ndata: (.*)$/gm)].map(([, event, data]) => ({
    event,
    data: JSON.parse(data ?? ""),
  }));
}

describe("a sample photo, from the list to the reading", () => {
  it("is listed, sent, read and drawn", async () => {
    const { samples } = SampleList.parse(await (await app.get("/api/samples")).json());
    const sample = samples.find(({ corners }) => corners !== null);
    if (!sample) throw new Error("no sample photo with corners");
    const bytes = new Uint8Array(await (await app.get(sample.photoUrl)).arrayBuffer());

    const sent = await app.send(bytes, { "X-File-Name": encodeURIComponent("../deck №1.jpg") });
    expect(sent.status).toBe(201);
    const receipt = PhotoReceipt.parse(await sent.json());
    const { width, height } = await sharp(bytes).metadata();
    expect(receipt).toMatchObject({ id: sha256(bytes), name: "deck №1.jpg", widthPx: width, heightPx: height });

    const preview = await app.get(`/api/photos/${receipt.id}/preview.jpg`);
    expect(preview.headers.get("Content-Type")).toBe("image/jpeg");
    const size = await sharp(await preview.arrayBuffer()).metadata();
    expect(Math.max(size.width, size.height)).toBeLessThanOrEqual(2000);

    const body = { photo: receipt.id, corners: sample.corners, deck: sample.deck ?? undefined };
    const asked = await app.read(body);
    expect(asked.status).toBe(202);
    const { id } = (await asked.json()) as { id: string };
    const told = await events(app, id);
    expect(told.at(-1)).toEqual({ event: "done", data: { id, usable: true } });
    expect((await events(app, id)).map(({ event }) => event)).toEqual(["done"]);

    const reading = Reading.parse(await (await app.get(`/api/readings/${id}`)).json());
    expect(reading).toMatchObject({ photo: { name: "deck №1.jpg", sha256: receipt.id }, quality: { usable: true } });
    const classes = await sharp(await (await app.get(`/api/readings/${id}/classes.png`)).arrayBuffer()).metadata();
    expect(classes).toMatchObject({ width: reading.grid?.columns, height: reading.grid?.rows, format: "png" });
    expect((await app.get(`/api/readings/${id}/confidence.png`)).status).toBe(200);
    const [english, portuguese] = await Promise.all(
      ["", "?language=pt"].map(async (query) => {
        const picture = await app.get(`/api/readings/${id}/overlay.jpg${query}`);
        expect(picture.headers.get("Content-Type")).toBe("image/jpeg");
        const { width, height } = await sharp(await picture.clone().arrayBuffer()).metadata();
        expect([width, height]).toEqual([size.width, size.height]);
        return sharp(await picture.arrayBuffer())
          .raw()
          .toBuffer();
      }),
    );
    // the same bands with other words on them
    const changed = english!.filter((value, i) => Math.abs(value - portuguese![i]!) > 60).length / english!.length;
    expect(changed).toBeGreaterThan(0.002);
    expect(changed).toBeLessThan(0.08);
    const wrong = await app.get(`/api/readings/${id}/overlay.jpg?language=tlh`);
    await problemOf(wrong, 400, "body-wrong");
    expect(await (await app.read(body)).json()).toEqual({ id }); // asked again: not read again
  });
});

describe("photos that cannot be read", () => {
  it.each([
    ["nothing", 400, "photo-empty", ""],
    ["a text", 415, "photo-not-an-image", "hello, this is no photo"],
    ["a drawing", 415, "photo-format", "<svg/>"],
  ])("%s: %i %s", async (_what, status, code, body) => {
    await problemOf(await app.send(body), status, code);
  });

  it("a photo cut short, one too small, one over 60 MB", async () => {
    const jpeg = plain(await quarters().jpeg().toBuffer());
    await problemOf(await app.send(jpeg.slice(0, jpeg.length >> 1)), 422, "photo-broken");
    const small = plain(await quarters().resize(200, 165).jpeg().toBuffer());
    await problemOf(await app.send(small), 422, "photo-too-small");
    await problemOf(await app.send(new Uint8Array(60e6 + 1)), 413, "photo-too-large");
  });
});

describe("requests that are wrong", () => {
  it("names the fields at fault", async () => {
    const told = await problemOf(
      await app.read({ photo: "x", deck: { schemaVersion: 1, lengthMm: 1 } }),
      400,
      "body-wrong",
    );
    expect(told.fields?.map(({ field }) => field)).toEqual(["photo", "deck.lengthMm", "deck.widthMm"]);
    await problemOf(
      await fetch(`${app.at}/api/readings`, {
        method: "POST",
        body: "{",
        headers: { "Content-Type": "application/json" },
      }),
      400,
      "body-not-json",
    );
    await problemOf(await app.read({ photo: "0".repeat(64) }), 404, "not-found");
  });

  it.each([
    "/api/readings/abc",
    `/api/readings/${"0".repeat(64)}`,
    `/api/readings/${"0".repeat(64)}/events`,
    `/api/readings/${"0".repeat(64)}/overlay.jpg`,
    `/api/readings/${"g".repeat(64)}`,
    `/api/photos/${"0".repeat(64)}/preview.jpg`,
    "/api/photos/..%2f..%2fpackage.json/preview.jpg",
    "/samples/..%2fpackage.json",
    "/samples/README.md",
    "/nothing",
    "/%00",
  ])("%s: not found", async (path) => {
    await problemOf(await app.get(path), 404, "not-found");
  });

  it("answers its own page only", async () => {
    await problemOf(await app.read({}, { "Sec-Fetch-Site": "cross-site" }), 403, "other-site");
  });
});

describe("a reader that fails", () => {
  const send = async (name: string) => {
    const sent = await moody.send(name, { "X-File-Name": name });
    return PhotoReceipt.parse(await sent.json()).id;
  };

  it.each([
    ["hang.jpg", 504, "photo-timeout"],
    ["crash.jpg", 500, "engine-failed"],
  ])("%s: told as an event and to whoever asks later, %i %s", async (name, status, code) => {
    const { id } = (await (await moody.read({ photo: await send(name) })).json()) as { id: string };
    expect((await moody.get(`/api/readings/${id}`)).status).toBe(202);
    expect((await events(moody, id)).at(-1)).toMatchObject({ event: "problem", data: { status, code } });
    await problemOf(await moody.get(`/api/readings/${id}`), status, code);
  });
});

describe("a reading that nobody waits for any more", () => {
  it("is dropped when the last who asked leaves, so that the next photo's turn comes", async () => {
    const slow = await open({ reader: new Reader({ entry: MOODY }) });
    const send = async (name: string) =>
      PhotoReceipt.parse(await (await slow.send(name, { "X-File-Name": name })).json()).id;
    const [hang, good] = [await send("hang.jpg"), await send("good.jpg")];
    const ask = async (photo: string) => ((await (await slow.read({ photo })).json()) as { id: string }).id;
    const id = await ask(hang);
    expect(await ask(hang)).toBe(id); // a second page asks for the same
    const next = await ask(good);
    expect(await slow.waiting()).toBe(2);

    expect((await slow.drop(id)).status).toBe(204);
    expect((await slow.get(`/api/readings/${id}`)).status).toBe(202); // the other page still waits
    const told = events(slow, id);
    expect((await slow.drop(id)).status).toBe(204);
    expect((await told).at(-1)).toMatchObject({ event: "problem", data: { code: "stopped", status: 410 } });
    expect((await events(slow, next)).at(-1)?.event).toBe("done");
    expect(await slow.waiting()).toBe(0);

    await problemOf(await slow.get(`/api/readings/${id}`), 404, "not-found"); // no trace of it is left
    await problemOf(await slow.drop(id), 404, "not-found");
    await problemOf(await slow.drop(next), 404, "not-found"); // a finished reading is kept
    await problemOf(await slow.drop("x"), 404, "not-found");
    expect(await ask(hang)).toBe(id); // and it can be asked for again
    expect((await slow.drop(id)).status).toBe(204);
  });
});

it("is healthy, sends headers that keep other scripts out, and has no inline script allowed", async () => {
  const answer = await app.get("/healthz");
  expect(Health.parse(await answer.json())).toMatchObject({ ok: true });
  expect(answer.headers.get("Content-Security-Policy")).toMatch(/default-src 'self'/);
  expect(answer.headers.get("Content-Security-Policy")).not.toMatch(/unsafe-inline|'unsafe-eval'/);
  expect(answer.headers.get("X-Content-Type-Options")).toBe("nosniff");
  expect(answer.headers.has("X-Powered-By")).toBe(false);
});

it("has a title for every sample photo", () => {
  const photos = readdirSync(SAMPLES).filter((file) => file.endsWith(".jpg"));
  for (const photo of photos) {
    const about = JSON.parse(readFileSync(join(SAMPLES, photo.replace(/\.jpg$/, ".about.json")), "utf8"));
    expect(about.title, photo).toMatch(/\w/);
  }
});
