import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, it } from "vitest";
import { inquest, phone, tinyPhoto, Victim } from "./killing.ts";
import { until } from "./serving.ts";

it("killed with -9 five times while photos come in and are read: none lost, each with one reading", async () => {
  const folder = mkdtempSync(join(tmpdir(), "deckbands-crash-"));
  const victim = new Victim(folder, { DECKBANDS_READERS: "1" });
  await victim.start();
  try {
    const acknowledged = new Map<string, Uint8Array>();
    let killing = true;
    async function* photos(first: number) {
      for (let i = first; killing && i < first + 4; i++) yield tinyPhoto(i);
    }
    const phones = Promise.all([1000, 2000, 3000].map((first) => phone(() => victim.at, photos(first), acknowledged)));
    for (let kills = 0; kills < 5; kills++) {
      await new Promise((later) => setTimeout(later, 100 + Math.random() * 800));
      await victim.kill();
      await victim.start();
    }
    killing = false;
    await phones;
    expect(acknowledged.size).toBeGreaterThan(2);
    await until(async () => {
      const { items } = (await (await fetch(`${victim.at}/api/jobs?limit=200`)).json()) as {
        items: { state: string }[];
      };
      return items.every(({ state }) => state === "done");
    }, 50);
    expect(await victim.stop()).toBe(0); // asked, it stops in peace
    expect(await inquest(folder, acknowledged)).toEqual({ lost: 0, unread: 0 });
  } finally {
    await victim.kill().catch(() => {}); // it is gone already when all went well
    rmSync(folder, { recursive: true, force: true });
  }
}, 120_000);
