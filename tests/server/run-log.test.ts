import { randomUUID } from "node:crypto";
import { readFileSync } from "node:fs";
import { strToU8, zipSync } from "fflate";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { Reader } from "../../server/reader.ts";
import { readRows, WORKBOOK_TYPE, writeRows } from "../../server/workbook.ts";
import * as contract from "../../vision/contract/index.ts";
import { inEnglish } from "../english.ts";
import { MOODY, problemOf, type Serving, serving } from "./serving.ts";

/** 80 MB packed into 80 kB: made before there are connections, which packing would keep waiting until they are closed. */
const BOMB = zipSync({ "xl/workbook.xml": new Uint8Array(80e6) });

let app: Serving;
beforeAll(async () => {
  app = await serving({ reader: new Reader({ entry: MOODY }) });
});
afterAll(() => app.close());

const DEMO = readFileSync(new URL("../../sample-images/runs/river-tin.run.csv", import.meta.url), "utf8");
const json = async (answer: Promise<Response>) => (await answer).json();
const newRun = async (name = "Morning") =>
  contract.Run.parse(await json(app.ask("POST", "/api/runs", { name, material: "river sand" }))).id;
const put = (path: string, body: string | Uint8Array, version: number | null, type = "text/csv") =>
  fetch(app.at + path, {
    method: "PUT",
    body: typeof body === "string" ? body : new Uint8Array(body),
    headers: { "Content-Type": type, ...(version !== null && { "If-Match": `"${version}"` }) },
  });
const record = async (id: string) => contract.RunRecord.parse(await json(app.get(`/api/runs/${id}/record`)));
const write = (id: string, entry: unknown, replaces: string | null = null, headers = {}) =>
  app.ask("POST", `/api/runs/${id}/entries`, { entry, replaces }, headers);
const cut = (sample: string, figures: Record<string, number>) => ({
  kind: "sample",
  sample: {
    kind: "cut",
    stream: "light",
    sample,
    sizeMm: null,
    figures: Object.fromEntries(Object.entries(figures).map(([name, value]) => [name, { value, error: null }])),
    at: "2031-05-04T08:45",
    who: "Jo",
    note: "",
  },
});
const note = (text: string) => ({ kind: "note", note: { text, at: null, who: "Ama" } });

describe("what is written down of a run", () => {
  it("is kept entry by entry, with who and when; a correction leaves the first word in the list", async () => {
    const id = await newRun();
    const setting = {
      kind: "setting",
      setting: {
        control: "wash water",
        target: "",
        figure: { value: 14, error: 0.4 },
        at: "2031-05-04T08:10",
        who: "Ama",
        note: "",
      },
    };
    const first = await write(id, setting);
    expect(first.status).toBe(201);
    const kept = contract.RunLogEntry.parse(await first.json());
    const better = { ...setting, setting: { ...setting.setting, figure: { value: 15, error: 0.4 } } };
    const second = contract.RunLogEntry.parse(await json(write(id, better, kept.id)));
    expect((await record(id)).settings.map(({ figure }) => figure.value)).toEqual([15]);
    const { items } = contract.RunLog.parse(await json(app.get(`/api/runs/${id}/entries`)));
    expect(items.find((one) => one.id === kept.id)).toMatchObject({
      replacedBy: second.id,
      person: app.parts.data.local.person,
    });
    expect(items).toHaveLength(2);
    // somebody else who saw the first word only
    await problemOf(await write(id, better, kept.id), 412, "changed");
    expect((await write(id, null, second.id)).status).toBe(201);
    expect((await record(id)).settings).toEqual([]);
  });

  it("two people at once lose nothing: two cuts of one name are two cuts", async () => {
    const id = await newRun();
    const answers = await Promise.all([
      write(id, cut("1", { wet: 20.5, time: 60 })),
      write(id, cut("1", { wet: 21.5, time: 61 })),
      ...Array.from({ length: 20 }, (_, i) => write(id, note(`seen ${i}`))),
    ]);
    expect(answers.map(({ status }) => status)).toEqual(Array(22).fill(201));
    const { samples, notes } = await record(id);
    expect(samples.map(({ sample }) => sample).toSorted()).toEqual(["1", "2"]);
    expect(samples.map(({ figures }) => figures.wet!.value).toSorted()).toEqual([20.5, 21.5]);
    expect(notes).toHaveLength(20);
  });

  it("a cut is weighed wet now and dry tomorrow", async () => {
    const id = await newRun();
    await write(id, cut("1", { wet: 20.5, time: 60 }));
    await write(id, cut("1", { dry: 1.6 }));
    const { samples } = await record(id);
    expect(samples).toHaveLength(1);
    expect(Object.keys(samples[0]!.figures).toSorted()).toEqual(["dry", "time", "wet"]);
  });

  it("sent twice with one Idempotency-Key it is written once, also when the first answer was never kept", async () => {
    const id = await newRun();
    const key = { "Idempotency-Key": randomUUID() };
    const first = await json(write(id, note("once"), null, key));
    expect(await json(write(id, note("once"), null, key))).toEqual(first);
    await app.parts.data.db.deleteFrom("answers").execute();
    expect(await json(write(id, note("once"), null, key))).toEqual(first);
    expect((await record(id)).notes).toHaveLength(1);
  });

  it("goes on in pages", async () => {
    const id = await newRun();
    for (let i = 0; i < 5; i++) await write(id, note(`note ${i}`));
    const first = contract.RunLog.parse(await json(app.get(`/api/runs/${id}/entries?limit=3`)));
    const rest = contract.RunLog.parse(await json(app.get(`/api/runs/${id}/entries?limit=3&cursor=${first.next}`)));
    expect(new Set([...first.items, ...rest.items].map((one) => one.id)).size).toBe(5);
    expect(rest.next).toBeNull();
  });

  it.each([
    [{ ...cut("1", { weight: 3 }) }, /"weight" is no item of a cut/],
    [cut("1", { wet: -1 }), /below 0/],
    [cut("1", { moisture: 101 }), /above 100 %/],
    [cut("1", {}), /at least one figure/],
    [{ kind: "sample", sample: { ...cut("", { wet: 1 }).sample, kind: "count" } }, /no kind of grain/],
    [{ kind: "sample", sample: { ...cut("", { free: 1 }).sample, kind: "fraction", sizeMm: null } }, /two openings/],
    [
      {
        kind: "change",
        change: {
          control: "feed solids",
          target: "",
          figure: { value: 120, error: null },
          at: null,
          who: "",
          note: "",
        },
      },
      /above 100 %/,
    ],
    [null, /must hold an entry/],
    [{ kind: "gossip", gossip: "x" }, /entry/],
  ])("refuses %j", async (entry, why) => {
    const id = await newRun();
    const told = await problemOf(await write(id, entry), 400, "body-wrong");
    expect(told.detail).toMatch(why);
    expect((await record(id)).samples).toEqual([]);
  });

  it("a fraction is written down once, since its openings are its name", async () => {
    const id = await newRun();
    const fraction = (more: object) => ({
      kind: "sample",
      sample: { ...cut("0.1-0.25", { mass: 0.4 }).sample, kind: "fraction", sizeMm: [0.1, 0.25], ...more },
    });
    expect((await write(id, fraction({}))).status).toBe(201);
    await problemOf(await write(id, fraction({})), 409, "taken");
    expect((await write(id, fraction({ figures: { Sn: { value: 2, error: null } } }))).status).toBe(201);
  });
});

describe("a run as a sheet", () => {
  it("CSV in, CSV out, and in again: nothing changes", async () => {
    const id = await newRun();
    const taken = await put(`/api/runs/${id}/sheet.csv`, DEMO, 0);
    expect(contract.SheetTaken.parse(await taken.json())).toMatchObject({ streams: 5 });
    const before = await record(id);
    expect(before).toMatchObject({
      name: "River tin on the demo deck",
      metal: "Sn",
      hours: { value: 3.5, error: 0.02 },
    });
    const out = await app.get(`/api/runs/${id}/sheet.csv`);
    expect(out.headers.get("Content-Type")).toBe("text/csv; charset=utf-8");
    const version = Number(out.headers.get("ETag")!.replaceAll('"', ""));
    const again = await put(`/api/runs/${id}/sheet.csv`, await out.text(), version);
    expect((await again.json()).version).toBe(version); // not one entry more
    expect(await record(id)).toEqual(before);
  });

  it("XLSX out and in again: nothing changes, and no text becomes a formula", async () => {
    const id = await newRun();
    await put(`/api/runs/${id}/sheet.csv`, DEMO, 0);
    await write(id, note("=1+1"));
    const before = await record(id);
    const out = await app.get(`/api/runs/${id}/sheet.xlsx`);
    const version = Number(out.headers.get("ETag")!.replaceAll('"', ""));
    const bytes = new Uint8Array(await out.arrayBuffer());
    const rows = await readRows(bytes, "run");
    expect(rows[0]!.cells.join()).toBe(DEMO.split("\n").find((line) => !line.startsWith("#"))); // the heading, in its order
    expect(rows.at(-1)!.cells).toContain("=1+1");
    const again = await put(`/api/runs/${id}/sheet.xlsx`, bytes, version, WORKBOOK_TYPE);
    expect(again.status).toBe(200);
    expect((await again.json()).version).toBe(version);
    expect(await record(id)).toEqual(before);
  });

  it("changed by hand: what is gone is withdrawn, what is new is added, the rest stays as it was written", async () => {
    const id = await newRun();
    await put(`/api/runs/${id}/sheet.csv`, DEMO, 0);
    const { items } = contract.RunLog.parse(await json(app.get(`/api/runs/${id}/entries?limit=200`)));
    const changed = `${DEMO.replace("mass,middling,,dry,87,", "mass,middling,,dry,54.2,")}note,,,,weighed again,,,,Ama,\n`;
    const answer = await put(`/api/runs/${id}/sheet.csv`, changed, items.length);
    expect((await answer.json()).version).toBe(items.length + 3); // one out, one in, one note
    const now = await record(id);
    const middling = now.samples.find(({ kind, stream }) => kind === "mass" && stream === "middling")!;
    expect(middling.figures.dry!.value).toBe(54.2);
    expect(now.notes.map(({ text }) => text)).toContain("weighed again");
  });

  it("is refused when something was written down meanwhile, and when it names no version", async () => {
    const id = await newRun();
    await write(id, note("meanwhile"));
    await problemOf(await put(`/api/runs/${id}/sheet.csv`, DEMO, 0), 412, "changed");
    await problemOf(await put(`/api/runs/${id}/sheet.csv`, DEMO, null), 428, "version-missing");
    await problemOf(await put(`/api/runs/${randomUUID()}/sheet.csv`, DEMO, 0), 404, "not-found");
    expect((await record(id)).samples).toEqual([]);
  });

  it("wrong rows are told line by line, and nothing is kept of the others", async () => {
    const id = await newRun();
    const sheet = [
      "kind,stream,sample,item,value,error,unit",
      "mass,dense,,dry,12,,kg",
      "mass,light,,dry,12,,litres",
      "assay,light,,Sn,120,,%",
      "cut,light,1,weight,3,,kg",
    ].join("\n");
    const told = await problemOf(await put(`/api/runs/${id}/sheet.csv`, sheet, 0), 422, "sheet-wrong");
    expect(told.fields!.map(({ field }) => field)).toEqual(["line 3", "line 4", "line 5"]);
    expect(told.fields![0]!.say).toMatch(/"litres" is no unit of dry\. Choose from kg/);
    // the same by name, for a page in another language
    expect(told.said!.map(({ key }) => key)).toEqual(
      expect.arrayContaining(["said.sheet.nothingKept", "said.sheet.line", "said.sheet.wrongUnit"]),
    );
    const rows = sheet.split("\n").map((line) => line.split(","));
    const bytes = await writeRows("run", rows[0]!, [[""], ...rows.slice(1)]);
    const inBook = await problemOf(
      await put(`/api/runs/${id}/sheet.xlsx`, bytes, 0, WORKBOOK_TYPE),
      422,
      "sheet-wrong",
    );
    expect(inBook.fields!.map(({ field }) => field)).toEqual(["line 4", "line 5", "line 6"]); // an empty row above
    expect((await record(id)).samples).toEqual([]);
  });

  it("numbers with decimal commas, and letters of older spreadsheet programs", async () => {
    const id = await newRun();
    const text = "kind;stream;sample;item;value;error;unit;who\nmass;dense;;dry;12,5;;kg;Jos\xe9\n";
    await put(
      `/api/runs/${id}/sheet.csv`,
      Uint8Array.from(text, (c) => c.charCodeAt(0)),
      0,
    );
    expect((await record(id)).samples[0]).toMatchObject({ who: "José", figures: { dry: { value: 12.5 } } });
  });

  it("refuses what is no workbook, what unpacks to more than any, and files that are too large", async () => {
    const id = await newRun();
    const send = (bytes: Uint8Array) => put(`/api/runs/${id}/sheet.xlsx`, bytes, 0, WORKBOOK_TYPE);
    await problemOf(await send(strToU8("kind,item,value")), 422, "workbook-broken");
    await problemOf(await send(zipSync({ "a.txt": strToU8("no workbook") })), 422, "workbook-broken");
    expect(BOMB.length).toBeLessThan(200_000);
    await problemOf(await send(BOMB), 422, "workbook-broken");
    await problemOf(await send(new Uint8Array(8e6 + 1)), 413, "body-too-large");
  });

  it("a part that says it unpacks to little cannot take more room than that", async () => {
    const id = await newRun();
    const bomb = Uint8Array.from(BOMB);
    const said = new DataView(bomb.buffer, bomb.byteOffset);
    for (let i = 0; i + 4 < bomb.length; i++) {
      // the sizes in the local and the central header (APPNOTE.TXT of the ZIP format, sections 4.3.7 and 4.3.12)
      if (said.getUint32(i, true) === 0x04034b50) said.setUint32(i + 22, 1000, true);
      if (said.getUint32(i, true) === 0x02014b50) said.setUint32(i + 24, 1000, true);
    }
    const before = process.memoryUsage().arrayBuffers;
    await problemOf(await put(`/api/runs/${id}/sheet.xlsx`, bomb, 0, WORKBOOK_TYPE), 422, "workbook-broken");
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(40e6);
  });
});

describe("what a stored run adds up to", () => {
  it("is what the command says of the same sheet: verdict, figures with errors, middling, water, hand checks", async () => {
    const id = await newRun();
    await put(`/api/runs/${id}/sheet.csv`, DEMO, 0);
    const told = contract.RunBalance.parse(await json(app.get(`/api/runs/${id}/balance`)));
    expect(told.fits).toBe(false);
    expect(inEnglish(told.verdict).join(" ")).toContain(
      "The middling mass does not fit; weigh it again. It was given as 87.00 ± 0.50 kg",
    );
    expect(told.lines.find(({ stream, item }) => stream === "middling" && item === "dry mass")).toMatchObject({
      given: 87,
      givenError: 0.5,
      misfit: true,
    });
    const dense = told.products.find(({ stream }) => stream === "dense")!.metals.find(({ metal }) => metal === "Sn")!;
    expect(dense.recovery!.value).toBeGreaterThan(0.65);
    expect(dense.recovery!.error).toBeGreaterThan(0);
    const { share, ratio } = told.products.find(({ stream }) => stream === "dense")!;
    expect(ratio!.value).toBeCloseTo(1 / share!.value, 6);
    expect(ratio!.error! / ratio!.value).toBeCloseTo(share!.error! / share!.value, 6);
    expect(told.middling).toMatchObject({ choice: "rerun", stream: "middling" });
    expect(told.checks.map(({ what }) => what)).toContain("pan");
    const csv = await (await app.get(`/api/runs/${id}/balance.csv`)).text();
    expect(csv.split("\n")[0]).toBe("stream,item,unit,given,given error,balanced,balanced error,errors off,misfit");
    expect(csv).toMatch(/^middling,dry mass,kg,87,0\.5,.*,yes$/m);
    expect(csv).toMatch(/^dense,ratio of concentration,kg\/kg,,,\d+\.\d+,\d+\.\d+,,no$/m);
    // an answer that a phone kept from a server that told no ratio
    const older = { ...told, products: told.products.map(({ ratio: _, ...product }) => product) };
    expect(contract.RunBalance.parse(older).products.map(({ ratio }) => ratio)).toEqual(told.products.map(() => null));
  });

  it("says in words what is wanting", async () => {
    const id = await newRun();
    const told = await problemOf(await app.get(`/api/runs/${id}/balance`), 422, "not-enough");
    expect(told.detail).toMatch(/assay|weigh|measure|add/i);
  });
});
