import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { readConfig } from "../../server/config.ts";
import { Bucket, KEYS } from "./bucket.ts";
import { inquest, phone, tinyPhoto, Victim } from "./killing.ts";
import { Cluster, postgresPrograms } from "./postgres.ts";
import { until } from "./serving.ts";

const root = mkdtempSync(join(tmpdir(), "deckbands-many-"));
afterAll(() => rmSync(root, { recursive: true, force: true }));

it.each(["web", "worker"])("a process that is only %s needs a database that others reach", (DECKBANDS_ROLE) => {
  expect(() => readConfig({ DECKBANDS_ROLE, DECKBANDS_DATA: root })).toThrow(/DECKBANDS_DATABASE/);
});

const bin = postgresPrograms();
describe.skipIf(!bin)("two web and two worker processes on one database and one bucket", () => {
  it("killed one by one while photos come in: none lost, each with one reading, told to whoever asks any of them", async () => {
    const [cluster, bucket] = [new Cluster(bin!), new Bucket()];
    await Promise.all([cluster.start(), bucket.start()]);
    const elsewhere = { database: await cluster.make("decks"), objects: bucket.at };
    const environment = { ...KEYS, DECKBANDS_DATABASE: elsewhere.database, DECKBANDS_OBJECTS: elsewhere.objects };
    const roles = ["web", "web", "worker", "worker"];
    const all = roles.map((role, i) => {
      const own = { ...environment, DECKBANDS_ROLE: role, DECKBANDS_READERS: "1" };
      return new Victim(mkdtempSync(join(root, `${role}-${i}-`)), own);
    });
    await Promise.all(all.map((process) => process.start()));
    try {
      const acknowledged = new Map<string, Uint8Array>();
      async function* photos(first: number) {
        for (let i = first; i < first + 2; i++) yield tinyPhoto(i);
      }
      const phones = Promise.all([0, 1].map((n) => phone(() => all[n]!.at, photos(1000 * (n + 1)), acknowledged)));
      for (const victim of [2, 0]) {
        await new Promise((later) => setTimeout(later, 300 + Math.random() * 500));
        await all[victim]!.kill();
        await all[victim]!.start();
      }
      await phones;
      expect(acknowledged.size).toBe(4);
      const jobs = async () => {
        const { items } = (await (await fetch(`${all[0]!.at}/api/jobs?limit=200`)).json()) as {
          items: { id: string; state: string }[];
        };
        return items;
      };
      const last = (await jobs()).find(({ state }) => state !== "done") ?? (await jobs())[0]!;
      const heard = await (await fetch(`${all[1]!.at}/api/readings/${last.id}/events`)).text();
      expect(heard).toContain("event: done"); // a worker made it, and this web process told
      await until(async () => (await jobs()).every(({ state }) => state === "done"), 60);
      expect((await fetch(`${all[2]!.at}/healthz`)).status).toBe(200);
      expect((await fetch(`${all[2]!.at}/api/photos`)).status).toBe(404); // it answers nobody but for its health
      expect(await Promise.all(all.map((process) => process.stop()))).toEqual([0, 0, 0, 0]);
      Object.assign(globalThis.process.env, KEYS);
      expect(await inquest(root, acknowledged, elsewhere)).toEqual({ lost: 0, unread: 0 });
    } finally {
      for (const process of all) await process.kill().catch(() => {}); // gone already when all went well
      await Promise.all([cluster.remove(), bucket.remove()]);
    }
  }, 240_000);
});
