import { execFileSync } from "node:child_process";
import { closeSync, mkdtempSync, openSync, rmSync, writeSync } from "node:fs";
import { readdir } from "node:fs/promises";
import { connect } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, it } from "vitest";
import { endpointsOf } from "../../server/app.ts";
import { sha256 } from "../../server/sha256.ts";
import { check } from "../../server/storage/database.ts";
import { isElsewhere } from "./keeping.ts";
import { oddPhoto, oddRequest, randomFrom, seedPhotos } from "./malformed.ts";
import { photoNo, problemOf, SAMPLES, type Serving, serving } from "./serving.ts";

let app: Serving;
beforeAll(async () => {
  app = await serving({ limits: { reads: 1e6, writes: 1e6 } });
});
afterAll(() => app.close());

it("150 requests as nobody should send them: no 500, and the server goes on", async () => {
  const random = randomFrom(6);
  const endpoints = endpointsOf(app.parts, { page: "", samples: SAMPLES });
  const statuses = new Map<number, number>();
  for (let i = 0; i < 150; i++) {
    const { method, path, headers, body } = oddRequest(random, endpoints);
    const answer = await fetch(app.at + path, { method, headers, body });
    if (answer.headers.get("Content-Type")?.startsWith("text/event-stream"))
      await answer.body?.cancel(); // it never ends
    else await answer.arrayBuffer();
    expect(answer.status, `${method} ${path} ${body?.slice(0, 200)}`).not.toBe(500);
    statuses.set(answer.status, (statuses.get(answer.status) ?? 0) + 1);
  }
  expect([...statuses.keys()].filter((status) => status >= 400).length).toBeGreaterThan(3); // they were wrong in many ways
  await check(app.parts.data.db);
  expect((await app.get("/readyz")).status).toBe(200);
});

it("60 broken photos: each refused or kept whole, no 500, and a good one is taken afterwards", async () => {
  const random = randomFrom(7);
  const seeds = await seedPhotos();
  for (let i = 0; i < 60; i++) {
    const bytes = oddPhoto(random, seeds);
    const answer = await app.send(bytes);
    expect([201, 400, 413, 415, 422], `photo ${i}`).toContain(answer.status);
    const told = (await answer.json()) as { id?: string };
    if (answer.status === 201) expect(told.id).toBe(sha256(bytes));
  }
  expect((await app.send(await photoNo(1))).status).toBe(201);
});

it("what is no HTTP, breaks off or never ends leaves nothing behind", async () => {
  const { hostname, port } = new URL(app.at);
  const say = (text: string) =>
    new Promise<string>((resolve) => {
      let heard = "";
      const line = connect(Number(port), hostname, () => line.end(text));
      line.on("data", (part) => {
        heard += part;
      });
      line.on("close", () => resolve(heard));
      line.on("error", () => resolve(heard));
    });
  expect(await say("\x16\x03\x01\x02\x00 no http\r\n\r\n")).toMatch(/^HTTP\/1\.1 400/);
  await say(`POST /api/photos HTTP/1.1\r\nHost: ${hostname}\r\nContent-Length: 1000\r\n\r\nhalf a photo`);
  await expect.poll(() => readdir(join(app.folder, "incoming"))).toEqual([]);
  expect((await app.get("/healthz")).status).toBe(200);
});

it("a full disk: refused in words, nothing half kept, and it goes on when there is room again", async (context) => {
  if (isElsewhere) return context.skip("what fills is elsewhere");
  const small = mkdtempSync(join(tmpdir(), "deckbands-full-"));
  try {
    execFileSync("mount", ["-t", "tmpfs", "-o", "size=48m", "tmpfs", small], { stdio: "ignore" });
  } catch {
    rmSync(small, { recursive: true });
    return context.skip("only root on Linux can make a small disk");
  }
  const tight = await serving({}, join(small, "data"));
  try {
    const first = await photoNo(1);
    expect((await tight.send(first)).status).toBe(201);
    fill(join(small, "ballast"), 20e6);
    const told = await problemOf(await tight.send(await photoNo(2)), 507, "disk-full"); // while there is room for its rows
    expect(told.detail).toMatch(/disk is full/);

    fill(join(small, "rest"), 48e6); // now not a byte is left
    const { blobs, db } = tight.parts.data;
    await expect(blobs.keep(new Uint8Array(1e6))).rejects.toMatchObject({ code: "ENOSPC" });
    const deck = { name: "No room", file: { schemaVersion: 1, lengthMm: 1830, widthMm: 910 } };
    const answers = await Promise.all(Array.from({ length: 60 }, () => tight.ask("POST", "/api/decks", deck)));
    expect(answers.map(({ status }) => status)).toContain(507);
    expect(answers.filter(({ status }) => status !== 507 && status !== 201)).toEqual([]);
    expect(await readdir(join(small, "data", "incoming"))).toEqual([]);

    for (const name of ["ballast", "rest"]) rmSync(join(small, name));
    expect((await tight.send(await photoNo(2))).status).toBe(201);
    await check(db);
    const kept = answers.filter(({ status }) => status === 201).length;
    expect(await db.selectFrom("decks").select("id").execute()).toHaveLength(kept);
    expect(sha256((await blobs.read(sha256(first)))!)).toBe(sha256(first));
  } finally {
    await tight.close().catch(() => {}); // it cannot remove the folder that is mounted
    execFileSync("umount", ["-l", small]);
    rmSync(small, { recursive: true });
  }
});

/** Write until so many bytes are there, or no more fit. */
function fill(path: string, bytes: number): void {
  const file = openSync(path, "w");
  try {
    for (let at = 0; at < bytes; at += 4096) writeSync(file, new Uint8Array(4096));
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "ENOSPC") throw error;
  } finally {
    closeSync(file);
  }
}
