import { hostname } from "node:os";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { RowQueue } from "../../server/jobs/queue.ts";
import { JobRows } from "../../server/jobs/rows.ts";
import { openLog } from "../../server/log.ts";
import { problem } from "../../server/problems.ts";
import { Reader } from "../../server/reader.ts";
import { inMs } from "../../server/storage/naming.ts";
import { NewReading, PhotoReceipt, ReadingReceipt } from "../../vision/contract/index.ts";
import { isElsewhere } from "./keeping.ts";
import { MOODY, photoNo, type Serving, serving, until } from "./serving.ts";

const WHY = problem("engine-failed", "It stopped.");
const ID = "a".repeat(64);
let app: Serving;
let rows: JobRows;
afterEach(() => app.close());

const send = async (number: number, name: string) =>
  PhotoReceipt.parse(await (await app.send(await photoNo(number), { "X-File-Name": name })).json()).id;
const ask = async (photo: string) =>
  ReadingReceipt.parse(await (await app.ask("POST", "/api/readings", { photo })).json()).id;
const state = async (id: string) => (await app.parts.jobs.one(app.parts.data.local, id)).state;

describe("rows of jobs", () => {
  beforeEach(async () => {
    app = await serving({ readers: 0, reader: new Reader({ entry: MOODY }) }); // nothing takes them but this test
    await app.parts.jobs.stop(0);
    rows = new JobRows(app.parts.data.db, new RowQueue(openLog("silent")));
    const asked = NewReading.parse({ photo: await send(1, "a.jpg") });
    await rows.add(
      ID,
      app.parts.data.local,
      "reading",
      { asked, deckId: null, deckVersion: null, remadeFrom: null },
      0,
    );
  });
  const { db, local } = { db: () => app.parts.data.db, local: () => app.parts.data.local };
  const set = (values: object) => db().updateTable("jobs").set(values).where("id", "=", ID).execute();

  it("are taken by one worker only, and given back by it only", async () => {
    const other = new JobRows(db(), new RowQueue(openLog("silent")));
    const [mine, theirs] = await Promise.all([rows.claim(), other.claim()]);
    expect([mine, theirs].filter((job) => job !== null)).toHaveLength(1);
    const [holder, stranger] = mine ? [rows, other] : [other, rows];
    expect(await stranger.renew([ID])).toEqual([ID]); // lost to the stranger
    expect(await holder.renew([ID])).toEqual([]);
    expect(
      await db()
        .transaction()
        .execute((trx) => stranger.finish(trx, ID)),
    ).toBe(false);
    expect(
      await db()
        .transaction()
        .execute((trx) => holder.finish(trx, ID)),
    ).toBe(true);
    expect(await rows.claim()).toBeNull();
  });

  it("whose worker is gone are taken again, and it does not count as a try", async () => {
    await rows.claim();
    const here = hostname();
    // a process of this machine that is no more, and one of another machine whose lease ran out; in a shared database only
    // leases tell, since two machines may have one name
    const leases = [{ holder: "elsewhere 1 x", lease_until: inMs(-1) }];
    for (const gone of isElsewhere ? leases : [{ holder: `${here} 4194305 x` }, ...leases]) {
      await set({ state: "working", tries: 1, ...gone });
      await rows.recover(WHY);
      expect(await rows.claim()).toBeNull(); // others go first
      await set({ due_at: inMs(-1) });
      expect(await rows.claim()).toMatchObject({ id: ID, tries: 1 });
    }
    // one that may be at work still: elsewhere with its lease running, or this very worker
    await set({ holder: "elsewhere 1 x", lease_until: inMs(5000) });
    await rows.recover(WHY);
    expect(await rows.claim()).toBeNull();
  });

  it("under which the server stops again and again are given up, with the reason", async () => {
    for (let i = 0; i < 20; i++) {
      expect(await rows.claim()).not.toBeNull();
      await set({ holder: "elsewhere 1 x", lease_until: inMs(-1) });
      await rows.recover(WHY);
      await set({ due_at: inMs(-1) });
    }
    expect(await rows.claim()).toBeNull();
    const { items } = await rows.list(local(), { limit: 10, after: null }, "given-up");
    expect(items).toMatchObject([{ id: ID, problem: { code: "engine-failed", detail: "It stopped." } }]);
  });

  it("wait for their next try, those of people first", async () => {
    await rows.claim();
    await rows.fail(ID, WHY, 60_000);
    expect(await rows.claim()).toBeNull();
    await set({ due_at: inMs(-1000), priority: 10 });
    const asked = NewReading.parse({ photo: await send(2, "b.jpg") });
    const person = "b".repeat(64);
    await rows.add(person, local(), "reading", { asked, deckId: null, deckVersion: null, remadeFrom: null }, 0);
    expect([(await rows.claim())?.id, (await rows.claim())?.id]).toEqual([person, ID]);
  });

  it("whose end nobody told of, since its worker died, are heard of all the same", async () => {
    const heard = app.get(`/api/readings/${ID}/events`).then((answer) => answer.text());
    const given = { state: "given-up", problem_json: JSON.stringify(WHY), ended_at: inMs(0) };
    await new Promise((later) => setTimeout(later, 500)); // it listens
    await set(given);
    expect(await heard).toContain(WHY.detail);
  });

  it("are cancelled when the last who asked leaves", async () => {
    const asked = NewReading.parse({ photo: (await rows.find(local(), ID))!.photo });
    await rows.add(ID, local(), "reading", { asked, deckId: null, deckVersion: null, remadeFrom: null }, 0);
    expect([await rows.leave(local(), ID), await rows.leave(local(), ID), await rows.leave(local(), ID)]).toEqual([
      1,
      0,
      null,
    ]);
    expect(await rows.find(local(), ID)).toMatchObject({ state: "cancelled" });
    expect(await rows.find({ ...local(), site: "another" }, ID)).toBeNull();
  });
});

describe("the queue", () => {
  it("goes on past photos that hang, crash or abort their process", async () => {
    app = await serving({ readers: 2, reader: new Reader({ readers: 2, limitSeconds: 1, entry: MOODY }) });
    const names = ["hang.jpg", "good.jpg", "abort.jpg", "fine.jpg", "crash.jpg", "last.jpg"];
    const ids: string[] = [];
    for (const [i, name] of names.entries()) ids.push(await ask(await send(10 + i, name)));
    await until(
      async () => (await app.parts.jobs.counts()).waiting === undefined && !(await app.parts.jobs.counts()).working,
    );
    const ends = await Promise.all(ids.map(state));
    expect(ends).toEqual(["given-up", "done", "given-up", "done", "given-up", "done"]);
    const told = await app.parts.jobs.one(app.parts.data.local, ids[0]!);
    expect(told).toMatchObject({ tries: 2, problem: { code: "photo-timeout" } });
  });

  it("gives back what is under way when the server stops, and goes on with it afterwards", async () => {
    app = await serving({ reader: new Reader({ entry: MOODY }) });
    const id = await ask(await send(20, "hang.jpg"));
    await until(async () => (await state(id)) === "working");
    await app.parts.jobs.stop(0);
    expect(await app.parts.jobs.one(app.parts.data.local, id)).toMatchObject({ state: "waiting", tries: 0 });
  });

  it("keeps jobs waiting while reading is paused", async () => {
    app = await serving({ readers: 0, reader: new Reader({ entry: MOODY }) });
    const id = await ask(await send(30, "good.jpg"));
    await new Promise((later) => setTimeout(later, 1200));
    expect(await state(id)).toBe("waiting");
  });
});
