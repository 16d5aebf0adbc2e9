import { createHash } from "node:crypto";
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { sql } from "kysely";
import { afterAll, describe, expect, it } from "vitest";
import type { Blobs } from "../../server/storage/blobs.ts";
import type { Caller } from "../../server/storage/caller.ts";
import type { Data } from "../../server/storage/data.ts";
import { check, openDatabase } from "../../server/storage/database.ts";
import { Gate } from "../../server/storage/gate.ts";
import { TooLarge } from "../../server/storage/incoming.ts";
import { newId, now } from "../../server/storage/naming.ts";
import { DATABASE_FILE } from "../../server/storage/sqlite.ts";
import { sweep } from "../../server/storage/sweep.ts";
import { NewReading } from "../../vision/contract/index.ts";
import { isElsewhere, openBlobs, openKept } from "./keeping.ts";
import { denseBetween } from "./readings.ts";

const root = mkdtempSync(join(tmpdir(), "deckbands-storage-"));
const fresh = () => mkdtempSync(join(root, "data-"));
afterAll(() => rmSync(root, { recursive: true }));

const bytes = (text: string) => new TextEncoder().encode(text);
async function* parts(...texts: string[]) {
  for (const text of texts) yield bytes(text);
}

describe.skipIf(isElsewhere)("the database file", () => {
  it("comes to its newest shape once, holds foreign keys, and is whole", async () => {
    const folder = fresh();
    const db = await openDatabase(folder);
    await check(db);
    const run = {
      id: newId(),
      site_id: newId(),
      deck_id: null,
      name: "x",
      material: null,
      started_at: now(),
      ended_at: null,
      log: 0,
    };
    await expect(db.insertInto("runs").values(run).execute()).rejects.toThrow(/FOREIGN KEY/);
    const { rows } = await sql<{ synchronous: number }>`pragma synchronous`.execute(db);
    expect(rows[0]?.synchronous).toBe(2); // FULL: https://www.sqlite.org/pragma.html#pragma_synchronous
    await db.destroy();
    await (await openDatabase(folder)).destroy();
  });

  it("says so when a newer program wrote it", async () => {
    const folder = fresh();
    const db = await openDatabase(folder);
    await sql`insert into kysely_migration (name, timestamp) values ('9999-later', ${now()})`.execute(db);
    await db.destroy();
    await expect(openDatabase(folder)).rejects.toThrow(/written by a newer deckbands/);
  });

  it("says so when rows point to nothing", async () => {
    const db = await openDatabase(fresh());
    await sql`pragma foreign_keys = off`.execute(db);
    const row = { site_id: "gone", person_id: "gone", role: "owner" as const };
    await db.insertInto("members").values(row).execute();
    await expect(check(db)).rejects.toThrow(/a row of members belongs to nothing/);
    await db.destroy();
  });
});

describe("blobs", () => {
  it("are named by their SHA-256, kept once, and read in ranges", async () => {
    const folder = fresh();
    const blobs = await openBlobs(folder);
    const incoming = await blobs.receive(parts("a", "bc"), 3);
    // FIPS 180-2, appendix B.1: the digest of "abc"
    expect(incoming.sha256).toBe("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    await blobs.adopt(incoming);
    expect(await blobs.keep(bytes("abc"))).toBe(incoming.sha256);
    expect(await blobs.read(incoming.sha256)).toEqual(Buffer.from("abc"));
    expect(await blobs.stream(incoming.sha256, 1, 1).toArray()).toEqual([Buffer.from("b")]);
    expect(readdirSync(join(folder, "incoming"))).toEqual([]);
    await blobs.remove(incoming.sha256);
    expect(await blobs.size(incoming.sha256)).toBeNull();
  });

  it("leave nothing behind of what is too large or breaks off", async () => {
    const folder = fresh();
    const blobs = await openBlobs(folder);
    await expect(blobs.receive(parts("ab", "cd"), 3)).rejects.toThrow(TooLarge);
    const broken = (async function* () {
      yield bytes("a");
      throw new Error("line cut");
    })();
    await expect(blobs.receive(broken, 3)).rejects.toThrow("line cut");
    expect(readdirSync(join(folder, "incoming"))).toEqual([]);
  });

  it.each(["../../etc/passwd", "", "a".repeat(63), `${"A".repeat(64)}`])("have no name like %j", async (name) => {
    const blobs = await openBlobs(fresh());
    await expect(blobs.read(name)).rejects.toThrow(TypeError);
  });
});

it("the gate lets many add, and who removes be alone", async () => {
  const gate = new Gate();
  const told: string[] = [];
  const work = (name: string) => async () => {
    told.push(`${name} in`);
    await new Promise((later) => setTimeout(later, 5));
    told.push(`${name} out`);
  };
  await Promise.all([
    gate.whileAdding(work("a")),
    gate.whileAdding(work("b")),
    gate.whileRemoving(work("r")),
    gate.whileAdding(work("c")),
    gate.whileRemoving(work("s")),
  ]);
  expect(told.slice(0, 4)).toEqual(["a in", "b in", "a out", "b out"]);
  for (const alone of ["r", "s"]) expect(told.indexOf(`${alone} out`)).toBe(told.indexOf(`${alone} in`) + 1);
  expect(told).toHaveLength(10);
});

describe("photos and readings of two sites", () => {
  const received = { format: "jpeg", widthPx: 400, heightPx: 330, takenAt: null };

  async function send(data: Data, caller: Caller, text: string) {
    const incoming = await data.blobs.receive(parts(text), 1000);
    return data.photos.add(caller, incoming, {
      name: text,
      run: null,
      received: { ...received, jpeg: bytes("preview") },
    });
  }
  async function another(data: Data): Promise<Caller> {
    const site = newId();
    await data.db.insertInto("sites").values({ id: site, name: "Another", made_at: now() }).execute();
    return { site, person: data.local.person };
  }
  async function read(data: Data, { site }: Caller, photo: string, id: string, fromMm: number) {
    const origin = { id, asked: NewReading.parse({ photo }), deckId: null, deckVersion: null, remadeFrom: null };
    const pictures = { overlay: bytes(`overlay ${id}`), classes: bytes("classes"), confidence: bytes("confidence") };
    const outcome = { reading: denseBetween(fromMm, 240, 3), pictures, problem: null };
    return data.readings.add(site, origin, outcome, async () => true);
  }
  const names = async (blobs: Blobs) => {
    const all: string[] = [];
    for await (const id of blobs.list()) all.push(id);
    return all.sort();
  };
  const digest = (text: string) => createHash("sha256").update(text).digest("hex");

  it("are kept apart, share bytes, and go for good when the last of them is deleted", async () => {
    const data = await openKept(fresh());
    const other = await another(data);
    const [photo] = [await send(data, data.local, "one"), await send(data, other, "one")];
    expect(await read(data, data.local, photo.sha256, "a".repeat(64), 100)).toBe(true);
    expect(await read(data, other, photo.sha256, "b".repeat(64), 100)).toBe(true);
    expect(await names(data.blobs)).toEqual(
      [...["one", "preview", "classes", "confidence"], `overlay ${"a".repeat(64)}`, `overlay ${"b".repeat(64)}`]
        .map(digest)
        .sort(),
    );
    expect(await data.readings.reading(other, "a".repeat(64))).toBeNull(); // another site's
    expect(await data.readings.picture(other, "a".repeat(64), "overlay")).toBeNull();

    expect(await data.photos.remove(data.local, photo.sha256)).toBe(true);
    expect(await data.photos.remove(data.local, photo.sha256)).toBe(false);
    expect(await data.readings.reading(data.local, "a".repeat(64))).toBeNull();
    expect((await data.photos.one(other, photo.sha256))?.reading).toBe("b".repeat(64));
    expect(await names(data.blobs)).not.toContain(digest(`overlay ${"a".repeat(64)}`));
    expect(await names(data.blobs)).toContain(digest("one"));

    await data.photos.remove(other, photo.sha256);
    expect(await names(data.blobs)).toEqual([]);
    await data.close();
  });

  it("keep every reading as it was made; one of them is current", async () => {
    const data = await openKept(fresh());
    const { sha256 } = await send(data, data.local, "one");
    await read(data, data.local, sha256, "a".repeat(64), 100);
    await read(data, data.local, sha256, "b".repeat(64), 120);
    await read(data, data.local, sha256, "a".repeat(64), 999); // made again: not written over
    expect((await data.readings.reading(data.local, "a".repeat(64)))?.bands[0]?.outlet[0]?.fromMm).toBe(100);
    const current = await data.db.selectFrom("current_readings").selectAll().execute();
    expect(current).toEqual([{ site_id: data.local.site, photo: sha256, reading_id: "a".repeat(64) }]);
    const { items } = await data.readings.list(data.local, { limit: 10, after: null }, { photo: sha256 });
    expect(items).toHaveLength(2);
    await data.close();
  });

  it("write nothing at all when a part of it fails", async () => {
    const data = await openKept(fresh());
    const { sha256 } = await send(data, data.local, "one");
    const origin = {
      id: "a".repeat(64),
      asked: NewReading.parse({ photo: sha256 }),
      deckId: null,
      deckVersion: null,
      remadeFrom: null,
    };
    const outcome = { reading: denseBetween(1, 2, 3), pictures: null, problem: null };
    expect(await data.readings.add(data.local.site, origin, outcome, async () => false)).toBe(false);
    expect(await data.readings.has(data.local, origin.id)).toBe(false);
    const incoming = await data.blobs.receive(parts("two"), 1000);
    const withJpeg = { ...received, jpeg: bytes("preview") };
    const sent = data.photos.add(data.local, incoming, { name: "two", run: newId(), received: withJpeg });
    await expect(sent).rejects.toThrow(/no such run/);
    expect(await data.photos.find(data.local, incoming.sha256)).toBeNull();
    await data.close();
  });

  it.skipIf(isElsewhere)("leave no trace in the files when they are deleted", async () => {
    const folder = fresh();
    const data = await openKept(folder);
    const { sha256 } = await send(data, data.local, "a name found nowhere else");
    await read(data, data.local, sha256, "a".repeat(64), 100);
    const all = () =>
      Buffer.concat(
        readdirSync(folder, { recursive: true, encoding: "utf8" })
          .filter((name) => statSync(join(folder, name)).isFile())
          .map((name) => readFileSync(join(folder, name))),
      );
    expect(all().includes("a name found nowhere else")).toBe(true);
    expect(all().includes(sha256)).toBe(true);
    await data.photos.remove(data.local, sha256);
    expect(all().includes("a name found nowhere else")).toBe(false);
    expect(all().includes(sha256)).toBe(false);
    await data.close();
  });

  it("bytes that no row names are swept away, once they are old enough to belong to none", async () => {
    const data = await openKept(fresh());
    const { sha256 } = await send(data, data.local, "one");
    await data.blobs.keep(bytes("left by a server that was killed"));
    const never = new AbortController().signal;
    expect(await sweep(data, never)).toBe(0);
    expect(await sweep(data, never, Date.now() + 11 * 60_000)).toBe(1);
    expect(await names(data.blobs)).toEqual(["one", "preview"].map(digest).sort());
    expect(await data.blobs.size(sha256)).toBe(3);
    await data.close();
  });

  it("are found again under the same owner when the folder is opened again", async () => {
    const folder = fresh();
    const data = await openKept(folder);
    const { sha256 } = await send(data, data.local, "one");
    await data.close();
    const again = await openKept(folder);
    expect(again.local).toEqual(data.local);
    expect(await again.photos.find(again.local, sha256)).toMatchObject({ name: "one" });
    expect(readdirSync(folder).includes(DATABASE_FILE)).toBe(!isElsewhere);
    await again.close();
  });
});
