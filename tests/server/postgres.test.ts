import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { sql } from "kysely";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { Answers } from "../../server/answers.ts";
import { readConfig } from "../../server/config.ts";
import { openData } from "../../server/storage/data.ts";
import { openDatabase } from "../../server/storage/database.ts";
import { DatabaseLock } from "../../server/storage/database-lock.ts";
import { Cluster, command, postgresPrograms } from "./postgres.ts";
import { photoNo, problemOf, serving, until } from "./serving.ts";

const root = mkdtempSync(join(tmpdir(), "deckbands-postgres-"));
const fresh = () => mkdtempSync(join(root, "data-"));
afterAll(() => rmSync(root, { recursive: true }));

it.each([
  ["mysql://host/decks", /DECKBANDS_DATABASE/],
  ["decks", /DECKBANDS_DATABASE/],
])("%j is no database", (DECKBANDS_DATABASE, why) => {
  expect(() => readConfig({ DECKBANDS_DATABASE, DECKBANDS_DATA: root })).toThrow(why);
});

const bin = postgresPrograms();
describe.skipIf(!bin)("on PostgreSQL", () => {
  let cluster: Cluster;
  let database: string;
  beforeAll(async () => {
    cluster = new Cluster(bin!);
    await cluster.start();
    database = await cluster.make("decks");
  });
  afterAll(() => cluster.remove());

  it("several servers that start at once find one shape, and one first site", async () => {
    const all = await Promise.all([1, 2, 3, 4].map(() => openData(fresh(), { database, objects: null })));
    expect(new Set(all.map(({ local }) => local.site)).size).toBe(1);
    const secrets = await Promise.all(all.map((data, i) => data.secrets.get("secret", () => `of server ${i}`)));
    expect(new Set(secrets).size).toBe(1);
    for (const data of all) await data.close();
  });

  it("says so when a newer program wrote it, when it sorts otherwise, or does not answer", async () => {
    const newer = await cluster.make("newer", "decks");
    await command(newer, "insert into kysely_migration (name, timestamp) values ('9999-later', '2030')");
    await expect(openDatabase("", newer)).rejects.toThrow(/written by a newer deckbands/);
    await command(cluster.at("postgres"), "create database latin template template0 encoding 'LATIN1'");
    await expect(openDatabase("", cluster.at("latin"))).rejects.toThrow(/createdb --template template0 --locale C/);
    await expect(openDatabase("", cluster.at("none"))).rejects.toThrow(/DECKBANDS_DATABASE cannot be used/);
  });

  it("whole numbers are numbers, and rows that point to nothing are refused", async () => {
    const db = await openDatabase("", database);
    const { rows } = await sql<{ n: unknown }>`select 9007199254740991::bigint as n`.execute(db);
    expect(rows[0]?.n).toBe(Number.MAX_SAFE_INTEGER);
    const row = { site_id: "gone", person_id: "gone", role: "owner" as const };
    await expect(db.insertInto("members").values(row).execute()).rejects.toMatchObject({ code: "23503" }); // foreign_key_violation
    await db.destroy();
  });

  it("a write that two processes are asked for with one Idempotency-Key is done by one of them, and told by both", async () => {
    const both = await Promise.all([1, 2].map(() => openData(fresh(), { database, objects: null })));
    const [a, b] = both.map((data) => new Answers(data)) as [Answers, Answers];
    let done = 0;
    let finish = () => {};
    const finished = new Promise<void>((resolve) => {
      finish = resolve;
    });
    const once = (answers: Answers) =>
      answers.once(both[0]!.local, "key of one write", "PUT /it", async () => {
        done++;
        await finished;
        return { status: 201, headers: {}, body: "{}" };
      });
    const first = once(a);
    await until(async () => done === 1, 10);
    await expect(once(b)).rejects.toMatchObject({ code: "in-progress" });
    finish();
    expect(await first).toEqual(await once(b));
    expect(done).toBe(1);
    for (const data of both) await data.close();
  });

  describe("the lock between processes", () => {
    const here = () => new DatabaseLock(database);

    it("is shared by those who add, and held by one who removes, whichever process they are in", async () => {
      const [a, b] = [here(), here()];
      const told: string[] = [];
      const [first, second] = [await a.share(), await a.share()];
      const removed = b.take().then(async (release) => {
        told.push("removed");
        await release();
      });
      await new Promise((later) => setTimeout(later, 700));
      const third = a.share().then(async (release) => {
        told.push("added"); // it came after whoever removes, and must not overtake for ever
        await release();
      });
      await new Promise((later) => setTimeout(later, 50));
      expect(told).toEqual([]);
      await first();
      await second();
      await Promise.all([removed, third]);
      expect(told).toEqual(["removed", "added"]);
      await a.close();
      await b.close();
    });

    it("tells whoever held it when it was lost meanwhile", async () => {
      const lock = here();
      const release = await lock.share();
      await command(
        database,
        "select pg_terminate_backend(pid, 10000) from pg_stat_activity where application_name = 'deckbands lock'",
      );
      await expect(release()).rejects.toThrow();
      await (await lock.share())(); // on a new connection
      await lock.close();
    });
  });

  it("stopped and started: refuses clearly, keeps what it acknowledged, and goes on", async () => {
    const app = await serving({ readers: 0, elsewhere: { database, objects: null } }, fresh());
    expect((await app.send(await photoNo(1))).status).toBe(201);
    await cluster.stop("SIGQUIT");
    const refused = await problemOf(await app.send(await photoNo(2)), 503, "storage-away");
    expect(refused.detail).toContain("send this again");
    expect((await app.get("/readyz")).status).toBe(503);
    await cluster.start();
    await until(async () => (await app.send(await photoNo(2))).status === 201);
    const { items } = (await (await app.get("/api/photos")).json()) as { items: unknown[] };
    expect(items).toHaveLength(2);
    await app.close();
  });
});
