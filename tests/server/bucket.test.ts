import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, beforeEach, describe, expect, it, vi } from "vitest";
import { readConfig } from "../../server/config.ts";
import { Reader } from "../../server/reader.ts";
import { sha256 } from "../../server/sha256.ts";
import { BlobBucket } from "../../server/storage/blob-bucket.ts";
import { Bucket, KEYS } from "./bucket.ts";
import { MOODY, photoNo, problemOf, type Serving, serving, until } from "./serving.ts";

const root = mkdtempSync(join(tmpdir(), "deckbands-bucket-"));
const bucket = new Bucket();
beforeAll(() => bucket.start());
beforeEach(() => {
  for (const [name, value] of Object.entries(KEYS)) vi.stubEnv(name, value);
});
afterAll(async () => {
  vi.unstubAllEnvs();
  await bucket.remove();
  rmSync(root, { recursive: true });
});

it.each(["s3://bucket", "https://storage.example", "bucket"])("%j names no bucket", (DECKBANDS_OBJECTS) => {
  expect(() => readConfig({ DECKBANDS_OBJECTS, DECKBANDS_DATA: root })).toThrow(/DECKBANDS_OBJECTS/);
});

it("a folder is wanted for what is not kept elsewhere", () => {
  const DECKBANDS_OBJECTS = "https://storage.example/photos";
  expect(() => readConfig({ DECKBANDS_OBJECTS })).toThrow(/folder for rows in DECKBANDS_DATA/);
  const DECKBANDS_DATABASE = "postgres://decks@database.example/decks";
  expect(() => readConfig({ DECKBANDS_DATABASE })).toThrow(/folder for photos in DECKBANDS_DATA/);
  expect(readConfig({ DECKBANDS_DATABASE, DECKBANDS_OBJECTS }).elsewhere).toEqual({
    database: DECKBANDS_DATABASE,
    objects: DECKBANDS_OBJECTS,
  });
});

describe("a bucket", () => {
  it("that is not there is refused at the start", async () => {
    await expect(BlobBucket.open(root, bucket.at.replace("photos", "nothing"))).rejects.toThrow(/\(404\)/);
  });

  it("lists more than one page of what it holds, and nothing else that lies there", async () => {
    const blobs = await BlobBucket.open(root, `${bucket.at}/many`);
    const kept = new Set<string>();
    for (let i = 0; i < 25; i++) kept.add(await blobs.keep(Buffer.from(`${i}`)));
    const listed: string[] = [];
    for await (const id of blobs.list(10)) listed.push(id);
    expect(listed).toHaveLength(25);
    expect(new Set(listed)).toEqual(kept);
    blobs.close();
    const beside = await BlobBucket.open(root, `${bucket.at}/other`);
    for await (const id of beside.list()) expect(id).toBe("nothing");
    beside.close();
  });
});

describe("while the object storage", () => {
  let app: Serving;
  const begin = async () => {
    bucket.mood = "well";
    const elsewhere = { database: null, objects: bucket.at };
    app = await serving({ elsewhere, reader: new Reader({ entry: MOODY }) }, mkdtempSync(join(root, "data-")));
    return async () => {
      bucket.mood = "well";
      await app.close();
    };
  };

  it("fails, photos are refused clearly; what was acknowledged is there afterwards", async () => {
    const end = await begin();
    const first = await photoNo(1);
    expect((await app.send(first)).status).toBe(201);
    bucket.mood = "failing";
    await problemOf(await app.send(await photoNo(2)), 503, "storage-away");
    await problemOf(await app.get(`/api/photos/${sha256(first)}/original`), 503, "storage-away");
    bucket.mood = "well";
    const answer = await app.get(`/api/photos/${sha256(first)}/original`);
    expect(sha256(new Uint8Array(await answer.arrayBuffer()))).toBe(sha256(first));
    await end();
  });

  it("is slow, photos take longer, and are kept", async () => {
    const end = await begin();
    bucket.mood = 300;
    expect((await app.send(await photoNo(3))).status).toBe(201);
    await end();
  });

  it("fails, readings wait, and are made when it is back", async () => {
    const end = await begin();
    const { id: photo } = (await (await app.send(await photoNo(4), { "X-File-Name": "good.jpg" })).json()) as {
      id: string;
    };
    bucket.mood = "failing";
    const { id } = (await (await app.ask("POST", "/api/readings", { photo })).json()) as { id: string };
    const job = async () => app.parts.jobs.one(app.parts.data.local, id);
    await until(async () => (await job()).problem?.code === "storage-away");
    expect(await job()).toMatchObject({ state: "waiting", tries: 0 });
    bucket.mood = "well";
    await until(async () => (await job()).state === "done");
    await end();
  });
});
