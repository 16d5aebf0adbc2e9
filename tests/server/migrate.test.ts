import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it, vi } from "vitest";
import { migrate } from "../../server/commands/migrate.ts";
import { Reader } from "../../server/reader.ts";
import { openData } from "../../server/storage/data.ts";
import { newId, now } from "../../server/storage/naming.ts";
import { Bucket, KEYS } from "./bucket.ts";
import { Cluster, command, postgresPrograms } from "./postgres.ts";
import { MOODY, photoNo, serving, until } from "./serving.ts";

const root = mkdtempSync(join(tmpdir(), "deckbands-migrate-"));
const folder = join(root, "here");
const bin = postgresPrograms();

describe.skipIf(!bin)("a data folder is moved to PostgreSQL and a bucket", () => {
  let [cluster, bucket]: [Cluster, Bucket] = [undefined as never, new Bucket()];
  const told: string[] = [];
  const move = async (database: string) => {
    vi.stubEnv("DECKBANDS_DATA", folder);
    vi.stubEnv("DECKBANDS_DATABASE", database);
    vi.stubEnv("DECKBANDS_OBJECTS", bucket.at);
    return migrate();
  };
  let waiting = "";

  beforeAll(async () => {
    cluster = new Cluster(bin!);
    await Promise.all([cluster.start(), bucket.start()]);
    for (const [name, value] of Object.entries(KEYS)) vi.stubEnv(name, value);
    vi.spyOn(process.stdout, "write").mockImplementation((text) => told.push(String(text)) > 0);
    const app = await serving({ readers: 0, reader: new Reader({ entry: MOODY }) }, folder);
    const { data } = app.parts;
    for (let i = 0; i < 3; i++) await app.send(await photoNo(i), { "X-File-Name": encodeURIComponent(`${i} “ä”.png`) });
    const { items } = await data.photos.list(data.local, { limit: 9, after: null }, null);
    const asked = await app.ask("POST", "/api/readings", { photo: items[0]!.id });
    waiting = ((await asked.json()) as { id: string }).id;
    const run = ((await (await app.ask("POST", "/api/runs", { name: "Morning" })).json()) as { id: string }).id;
    const entry = { run_id: run, site_id: data.local.site, person_id: data.local.person, at: now() };
    const [first, second] = [newId(), newId()];
    await data.db
      .insertInto("run_entries")
      .values({ ...entry, id: first, number: 1, entry_json: "{}", replaces: null })
      .execute();
    await data.db
      .insertInto("run_entries")
      .values({ ...entry, id: second, number: 2, entry_json: null, replaces: first })
      .execute();
    await app.parts.auth.addPerson({ name: "Ann", email: "ann@decks.example", phrase: "four words and more" });
    await data.secrets.get("secret", () => "signs cookies");
    await app.parts.close();
  });
  afterAll(async () => {
    vi.restoreAllMocks();
    vi.unstubAllEnvs();
    await Promise.all([cluster.remove(), bucket.remove()]);
    rmSync(root, { recursive: true, force: true });
  });

  it("also when it is stopped on the way and begun again: every row and byte is there, and goes on from there", async () => {
    const database = await cluster.make("decks");
    bucket.mood = "failing";
    await expect(move(database)).rejects.toThrow(/cannot be used/);
    bucket.mood = "well";
    const halfway = setTimeout(() => {
      bucket.mood = "failing"; // some is there by then, or nothing, or all
    }, 150);
    await move(database).catch(() => {});
    clearTimeout(halfway);
    bucket.mood = "well";
    expect(await move(database)).toBe(0);
    expect(told.at(-1)).toMatch(/Moved and compared \d+ rows of 3\d tables and 4 photos and pictures/);

    const [from, to] = [await openData(folder), await openData(join(root, "there"), { database, objects: bucket.at })];
    expect(to.local).toEqual(from.local);
    const all = { limit: 100, after: null };
    const photos = await from.photos.list(from.local, all, null);
    expect(photos.items).toHaveLength(3);
    expect(await to.photos.list(to.local, all, null)).toEqual(photos);
    for (const { id } of photos.items) expect(await to.blobs.read(id)).toEqual(await from.blobs.read(id));
    expect(await to.secrets.get("secret", () => "another")).toBe(await from.secrets.get("secret", () => "another"));
    await from.close();
    await to.close();

    const app = await serving(
      { elsewhere: { database, objects: bucket.at }, reader: new Reader({ entry: MOODY }) },
      join(root, "goes on"),
    );
    expect(await app.parts.auth.logIn("ann@decks.example", "four words and more")).not.toBeNull();
    const ended = await until(async () => {
      const { state } = await app.parts.jobs.one(app.parts.data.local, waiting);
      return state === "done" || state === "given-up" ? state : null;
    }, 60);
    expect(ended).toBe("done");
    await app.close();
    await expect(move(database)).rejects.toThrow(/has 1 rows there, and 0 here/); // it has gone on meanwhile
  });

  it("a row or an object that was changed on the way is found", async () => {
    const database = await cluster.make("changed");
    await move(database);
    await command(database, "update photos set name = 'another' where name like '1 %'");
    await expect(move(database)).rejects.toThrow(/A row of photos is not there as it was/);
  });

  it("not to where somebody else is", async () => {
    const database = await cluster.make("used");
    await (await openData(join(root, "other"), { database, objects: null })).close();
    await expect(move(database)).rejects.toThrow(/is used already: it has the site "My site"/);
  });

  it("nor while it is written to", async () => {
    const data = await openData(folder);
    await data.db.transaction().execute(async (trx) => {
      await trx.updateTable("sites").set({ name: "Busy" }).execute();
      await expect(move(await cluster.make("late"))).rejects.toThrow(/being written to/);
    });
    await data.close();
  }, 30_000);
});
