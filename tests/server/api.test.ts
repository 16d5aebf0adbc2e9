import { randomUUID } from "node:crypto";
import { Validator } from "@seriousme/openapi-schema-validator";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { endpointsOf } from "../../server/app.ts";
import { PROGRAM } from "../../server/made-by.ts";
import { Reader } from "../../server/reader.ts";
import { sha256 } from "../../server/sha256.ts";
import * as contract from "../../vision/contract/index.ts";
import { MOODY, photoNo, problemOf, SAMPLES, type Serving, serving, until } from "./serving.ts";

let app: Serving;
beforeAll(async () => {
  app = await serving({ reader: new Reader({ entry: MOODY }) });
});
afterAll(() => app.close());

const DECK = { schemaVersion: 1 as const, lengthMm: 1830, widthMm: 910 };
/** Left to itself, fetch asks past every cache when a condition is set (Fetch Standard, HTTP-network-or-cache fetch). */
const NOT_RELOADING = { "Cache-Control": "max-age=0" };
const json = async (answer: Promise<Response>) => (await answer).json();
const send = async (number: number, name = "a.jpg") =>
  contract.PhotoReceipt.parse(await json(app.send(await photoNo(number), { "X-File-Name": name }))).id;
const read = async (photo: string) => {
  const { id } = contract.ReadingReceipt.parse(await json(app.ask("POST", "/api/readings", { photo })));
  await (await app.get(`/api/readings/${id}/events`)).text();
  return id;
};

describe("the description of the API", () => {
  it("is valid OpenAPI 3.1 and names every address", async () => {
    const document = await json(app.get("/api/openapi.json"));
    // the published JSON Schema of OpenAPI 3.1, as a general-purpose validator carries it
    expect(await new Validator().validate(document)).toEqual({ valid: true });
    expect(document.openapi).toBe("3.1.0");
    for (const { method, path } of endpointsOf(app.parts, { page: "", samples: SAMPLES })) {
      expect(document.paths[path.replace(/:(\w+)/g, "{$1}")]?.[method], `${method} ${path}`).toBeDefined();
    }
  });

  it("would be refused with a fault in it", async () => {
    const faulty = { openapi: "3.1.0", info: {}, paths: {} };
    expect((await new Validator().validate(faulty)).valid).toBe(false);
  });
});

describe("decks", () => {
  it("keep every version; a change says from which, and a late one is refused", async () => {
    const made = await app.ask("POST", "/api/decks", { name: "North", file: DECK });
    expect(made.status).toBe(201);
    expect(made.headers.get("ETag")).toBe('"1"');
    const { id } = contract.Deck.parse(await made.json());
    expect(made.headers.get("Location")).toBe(`/api/decks/${id}`);

    const wider = { name: "North", file: { ...DECK, widthMm: 950 } };
    await problemOf(await app.ask("PUT", `/api/decks/${id}`, wider), 428, "version-missing");
    const changed = await app.ask("PUT", `/api/decks/${id}`, wider, { "If-Match": '"1"' });
    expect(contract.Deck.parse(await changed.json())).toMatchObject({ version: 2, file: { widthMm: 950 } });
    await problemOf(await app.ask("PUT", `/api/decks/${id}`, wider, { "If-Match": '"1"' }), 412, "changed");
    await problemOf(await app.ask("PUT", `/api/decks/${randomUUID()}`, wider, { "If-Match": '"1"' }), 404, "not-found");

    const { items } = contract.DeckVersionList.parse(await json(app.get(`/api/decks/${id}/versions`)));
    expect(items.map(({ version, file }) => [version, file.widthMm])).toEqual([
      [2, 950],
      [1, 910],
    ]);
    expect((await app.get(`/api/decks/${id}`, { "If-None-Match": '"2"', ...NOT_RELOADING })).status).toBe(304); // RFC 9110, section 13.1.2
  });

  it("are what a reading is of, when it is asked for with their id", async () => {
    const { id: deckId } = await json(app.ask("POST", "/api/decks", { name: "South", file: DECK }));
    const photo = await send(1);
    const both = await app.ask("POST", "/api/readings", { photo, deckId, deck: DECK });
    await problemOf(both, 400, "body-wrong");
    const { id } = await json(app.ask("POST", "/api/readings", { photo, deckId }));
    await (await app.get(`/api/readings/${id}/events`)).text();
    const { items } = contract.ReadingList.parse(await json(app.get(`/api/readings?deck=${deckId}`)));
    expect(items).toMatchObject([{ id, photo, deck: deckId, deckVersion: 1, program: PROGRAM, usable: true }]);
  });
});

describe("writes that come twice", () => {
  it("with one Idempotency-Key are done once, and answered alike", async () => {
    const key = { "Idempotency-Key": randomUUID() };
    const body = { name: "Twice", file: DECK };
    const [first, second] = [
      await app.ask("POST", "/api/decks", body, key),
      await app.ask("POST", "/api/decks", body, key),
    ];
    expect(await second.json()).toEqual(await first.json());
    expect([second.status, second.headers.get("ETag")]).toEqual([201, '"1"']);
    const { items } = contract.DeckList.parse(await json(app.get("/api/decks?limit=200")));
    expect(items.filter(({ name }) => name === "Twice")).toHaveLength(1);
    await problemOf(await app.ask("POST", "/api/decks", { ...body, name: "Other" }, key), 422, "key-used");
    await problemOf(await app.ask("POST", "/api/decks", body, { "Idempotency-Key": "short" }), 400, "body-wrong");
  });

  it("are done once even when the first answer was never kept, as after a crash", async () => {
    const key = { "Idempotency-Key": randomUUID() };
    const body = { name: "Crashed", startedAt: "2031-05-04T13:05:09.000Z" };
    const first = await json(app.ask("POST", "/api/runs", body, key));
    await app.parts.data.db.deleteFrom("answers").execute();
    expect(await json(app.ask("POST", "/api/runs", body, key))).toEqual(first);
    const { items } = contract.RunList.parse(await json(app.get("/api/runs?limit=200")));
    expect(items.filter(({ name }) => name === "Crashed")).toHaveLength(1);
  });

  it("are tried anew when they failed the first time", async () => {
    const key = { "Idempotency-Key": randomUUID() };
    const ask = () => app.ask("PATCH", `/api/runs/${randomUUID()}`, { name: "x" }, key);
    await problemOf(await ask(), 404, "not-found");
    await problemOf(await ask(), 404, "not-found"); // another run: nothing was kept of the first
  });
});

describe("runs, settings, mark-ups and hints", () => {
  it("are kept beside photos and readings, and never change them", async () => {
    const run = contract.Run.parse(
      await json(app.ask("POST", "/api/runs", { name: "Morning", material: "garnet sand" })),
    );
    const sent = await fetch(`${app.at}/api/photos?run=${run.id}`, {
      method: "POST",
      body: new Uint8Array(await photoNo(7)),
    });
    const photo = contract.PhotoReceipt.parse(await sent.json()).id;
    const settings = { settings: { washWaterLitresPerMinute: 12 } };
    await app.ask("POST", `/api/runs/${run.id}/settings`, settings);
    const { items: told } = contract.SettingsList.parse(await json(app.get(`/api/runs/${run.id}/settings`)));
    expect(told).toMatchObject([{ ...settings, person: app.parts.data.local.person }]);

    const id = await read(photo);
    const before = await json(app.get(`/api/readings/${id}`));
    const markUp = { schemaVersion: 1, edges: [{ kind: "dense", edge: "to", atMm: 222.5 }], note: "by eye" };
    expect((await app.ask("POST", `/api/readings/${id}/mark-ups`, markUp)).status).toBe(201);
    const { items } = contract.MarkUpList.parse(await json(app.get(`/api/readings/${id}/mark-ups`)));
    expect(items).toMatchObject([{ markUp: { ...markUp, taps: [] } }]);
    expect(await json(app.get(`/api/readings/${id}`))).toEqual(before);
    const none = await app.ask("POST", `/api/readings/${id}/hints-taken`, { hint: 0, taken: "as said" });
    await problemOf(none, 400, "body-wrong"); // this reading has no hints

    const ended = { endedAt: "2031-05-04T13:05:09.000Z" };
    expect(await json(app.ask("PATCH", `/api/runs/${run.id}`, ended))).toMatchObject({ ...run, ...ended });
    const list = contract.PhotoList.parse(await json(app.get(`/api/photos?run=${run.id}`)));
    expect(list.items).toMatchObject([{ id: photo, run: run.id, reading: id }]);
  });

  it("a reading that an older program made is made anew beside the old one, once", async () => {
    const photo = await send(11);
    const id = await read(photo);
    expect(await json(app.ask("POST", `/api/readings/${id}/anew`))).toEqual({ id }); // this program made it
    const { db, readings, local } = app.parts.data;
    const older = { ...(await readings.row(local, id))!, id: "e".repeat(64), program: "0.0.1 older" };
    await db.insertInto("readings").values(older).execute();
    await db.updateTable("current_readings").set({ reading_id: older.id }).where("photo", "=", photo).execute();
    await db.deleteFrom("readings").where("id", "=", id).execute();

    const asked = await json(app.ask("POST", "/api/readings/anew", {}));
    expect(asked).toEqual({ asked: [id] });
    await (await app.get(`/api/readings/${id}/events`)).text();
    const { items } = contract.ReadingList.parse(await json(app.get(`/api/readings?photo=${photo}`)));
    expect(items).toMatchObject([
      { id, remadeFrom: older.id, program: PROGRAM },
      { id: older.id, remadeFrom: null },
    ]);
    expect(await json(app.get(`/api/photos/${photo}`))).toMatchObject({ reading: id });
    expect(await json(app.ask("POST", "/api/readings/anew", {}))).toEqual({ asked: [] });
    await problemOf(await app.get(`/api/readings/${id}/moved?since=${older.id}`), 422, "not-alike"); // no deck was found
  });
});

it("a run is told on a page, which goes when one of its photos does", async () => {
  const name = "Night <script>alert(1)</script>";
  const run = contract.Run.parse(await json(app.ask("POST", "/api/runs", { name, material: "garnet sand" })));
  await app.ask("POST", `/api/runs/${run.id}/settings`, { settings: { washWaterLitresPerMinute: 12 } });
  const body = new Uint8Array(await photoNo(51));
  const headers = { "X-File-Name": "first.jpg" };
  const sent = await fetch(`${app.at}/api/photos?run=${run.id}`, { method: "POST", body, headers });
  const photo = contract.PhotoReceipt.parse(await sent.json()).id;
  await read(photo);
  const asked = await app.ask("POST", `/api/runs/${run.id}/reports`);
  const { id } = contract.ReportReceipt.parse(await asked.json());
  await until(async () => (await json(app.get(`/api/jobs/${id}`))).state === "done");
  const answer = await app.get(asked.headers.get("Location")!);
  expect(answer.headers.get("Content-Security-Policy")).toMatch(/^sandbox/);
  const page = await answer.text();
  for (const said of ["garnet sand", "Wash water: 12\u00a0L/min", "first.jpg", "lock out the drive"]) {
    expect(page).toContain(said);
  }
  expect(page).not.toContain("<script");
  expect(contract.ReportList.parse(await json(app.get(`/api/runs/${run.id}/reports`))).items).toMatchObject([{ id }]);
  await app.ask("DELETE", `/api/photos/${photo}`);
  await problemOf(await app.get(`/api/reports/${id}`), 404, "not-found");
  await problemOf(await app.ask("POST", `/api/runs/${randomUUID()}/reports`), 404, "not-found");
});

describe("lists", () => {
  it("go on with the cursor they answered: nothing twice, nothing left out", async () => {
    for (let i = 0; i < 7; i++) await app.ask("POST", "/api/decks", { name: `Listed ${i}`, file: DECK });
    const seen: string[] = [];
    let next: string | null = "";
    while (next !== null) {
      const cursor: string = next ? `&cursor=${next}` : "";
      const page = contract.DeckList.parse(await json(app.get(`/api/decks?limit=3${cursor}`)));
      expect(page.items.length).toBeLessThanOrEqual(3);
      seen.push(...page.items.map(({ id }) => id));
      next = page.next;
    }
    expect(new Set(seen).size).toBe(seen.length);
    const { items } = contract.DeckList.parse(await json(app.get("/api/decks?limit=200")));
    expect(items.map(({ id }) => id)).toEqual(seen);
  });

  it.each(["cursor=x", "cursor=WyJhIiwiYiJd", "limit=0", "limit=201", "limit=many"])("refuse ?%s", async (query) => {
    await problemOf(await app.get(`/api/decks?${query}`), 400, "body-wrong");
  });
});

describe("a photo's bytes", () => {
  it("come whole, in ranges, or not again (RFC 9110, sections 13 and 14)", async () => {
    const bytes = await photoNo(21);
    const id = await send(21, "weights%20%26%20bands.png");
    const path = `/api/photos/${id}/original`;
    const all = await app.get(path);
    expect(sha256(new Uint8Array(await all.arrayBuffer()))).toBe(id);
    expect(all.headers.get("Content-Disposition")).toMatch(/^attachment/);
    const etag = all.headers.get("ETag")!;
    expect((await app.get(path, { "If-None-Match": etag, ...NOT_RELOADING })).status).toBe(304);
    const part = await app.get(path, { Range: "bytes=2-5" });
    expect([part.status, part.headers.get("Content-Range")]).toEqual([206, `bytes 2-5/${bytes.length}`]);
    expect(new Uint8Array(await part.arrayBuffer())).toEqual(bytes.slice(2, 6));
    const last = await app.get(path, { Range: "bytes=-3" });
    expect(new Uint8Array(await last.arrayBuffer())).toEqual(bytes.slice(-3));
    const beyond = await app.get(path, { Range: `bytes=${bytes.length}-` });
    expect([beyond.status, beyond.headers.get("Content-Range")]).toEqual([416, `bytes */${bytes.length}`]);
    const stale = await app.get(path, { Range: "bytes=2-5", "If-Range": '"other"' });
    expect(stale.status).toBe(200);
  });

  it("go when the photo is deleted, with all that was read in it", async () => {
    const sent = await app.send(await photoNo(22), { "Idempotency-Key": randomUUID() });
    const { id } = contract.PhotoReceipt.parse(await sent.json());
    const reading = await read(id);
    const answers = () =>
      app.parts.data.db.selectFrom("answers").selectAll().where("body", "like", `%${id}%`).execute();
    expect(await answers()).toHaveLength(1);
    expect((await app.ask("DELETE", `/api/photos/${id}`)).status).toBe(204);
    for (const path of [`photos/${id}`, `photos/${id}/original`, `readings/${reading}`, `jobs/${reading}`]) {
      await problemOf(await app.get(`/api/${path}`), 404, "not-found");
    }
    expect(await app.parts.data.blobs.size(id)).toBeNull();
    expect(await answers()).toEqual([]);
    await problemOf(await app.ask("DELETE", `/api/photos/${id}`), 404, "not-found");
  });
});

describe("jobs", () => {
  it("given up on are listed with the reason, and can begin anew", async () => {
    const photo = await send(41, "fault.jpg");
    const id = await read(photo);
    const list = contract.JobList.parse(await json(app.get("/api/jobs?state=given-up")));
    expect(list.items).toMatchObject([{ id, photo, state: "given-up", tries: 3, problem: { code: "engine-failed" } }]);
    const again = contract.Job.parse(await json(app.ask("POST", `/api/jobs/${id}/retry`)));
    expect(again).toMatchObject({ state: expect.stringMatching(/waiting|working/), problem: null });
    await until(async () => (await json(app.get(`/api/jobs/${id}`))).state === "given-up");
    await problemOf(await app.ask("POST", `/api/jobs/${id}/cancel`), 409, "ended");
  });

  it("can be cancelled for everyone", async () => {
    const photo = await send(42, "hang.jpg");
    const { id } = await json(app.ask("POST", "/api/readings", { photo }));
    await until(async () => (await json(app.get(`/api/jobs/${id}`))).state === "working");
    expect(await json(app.ask("POST", `/api/jobs/${id}/cancel`))).toMatchObject({ state: "cancelled" });
    await problemOf(await app.ask("POST", `/api/jobs/${"0".repeat(64)}/cancel`), 404, "not-found");
  });
});

describe("who may ask, and how often", () => {
  it("answers to this computer's own names only", async () => {
    const { request } = await import("node:http");
    const status = await new Promise((resolve) => {
      request(`${app.at}/api/photos`, { headers: { Host: "elsewhere.example" } }, (res) =>
        resolve(res.statusCode),
      ).end();
    });
    expect(status).toBe(421);
  });

  it("refuses writes from other sites' pages, and bodies that a form could send", async () => {
    const body = { name: "x", file: DECK };
    const others: Record<string, string>[] = [
      { "Sec-Fetch-Site": "cross-site" },
      { "Sec-Fetch-Site": "same-site" },
      { Origin: "https://elsewhere.example" },
    ];
    for (const headers of others) {
      await problemOf(await app.ask("POST", "/api/decks", body, headers), 403, "other-site");
    }
    expect((await app.ask("POST", "/api/decks", body, { Origin: app.at })).status).toBe(201);
    const form = await fetch(`${app.at}/api/decks`, { method: "POST", body: JSON.stringify(body) }); // text/plain
    await problemOf(form, 415, "body-type");
  });

  it("slows down who asks too often", async () => {
    const strict = await serving({ limits: { reads: 3, writes: 2 }, reader: new Reader({ entry: MOODY }) });
    const statuses: number[] = [];
    for (let i = 0; i < 4; i++) statuses.push((await strict.get("/api/site")).status);
    expect(statuses).toEqual([200, 200, 200, 429]);
    const answer = await strict.get("/api/site");
    expect(answer.headers.get("Retry-After")).toMatch(/^\d+$/);
    await problemOf(answer, 429, "too-many");
    for (let i = 0; i < 2; i++) expect((await strict.ask("PATCH", "/api/site", { name: "A" })).status).toBe(200);
    await problemOf(await strict.ask("PATCH", "/api/site", { name: "A" }), 429, "too-many");
    await strict.close();
  });
});

describe("care", () => {
  it("says whether it is ready, and tells its numbers without ids", async () => {
    expect(contract.Ready.parse(await json(app.get("/readyz")))).toMatchObject({
      ready: true,
      database: true,
      disk: true,
    });
    const text = await (await app.get("/metrics")).text();
    // the text format of Prometheus, version 0.0.4
    const lines = text.split("\n");
    expect(lines).toContain("# TYPE deckbands_request_seconds histogram");
    const ranges = 'deckbands_request_seconds_count{method="GET",route="/api/photos/:id/original",status="206"} 2';
    expect(lines).toContain(ranges);
    expect(lines).toContain('deckbands_jobs{state="given-up"} 1');
    expect(text).not.toMatch(/[0-9a-f]{64}/);
  });

  it("is not ready when it is stopping", async () => {
    const one = await serving({ reader: new Reader({ entry: MOODY }) });
    const stopping = { ...one.parts, stopping: AbortSignal.abort() };
    const { handle } = endpointsOf(stopping, { page: "", samples: SAMPLES }).find(({ path }) => path === "/readyz")!;
    let status = 0;
    const res = {
      status: (said: number) => {
        status = said;
      },
    };
    expect(await handle({ res } as never)).toMatchObject({ ready: false, stopping: true });
    expect(status).toBe(503);
    await one.close();
  });
});
