import { afterAll, beforeAll, expect, it } from "vitest";
import { Reader } from "../../server/reader.ts";
import { newId } from "../../server/storage/naming.ts";
import { writeRunSheet } from "../../vision/accounts/index.ts";
import { RunRecord, RunSplitters } from "../../vision/contract/index.ts";
import { MONEY_DECK, NO_NOISE, PLANT, photoOf, sheetOf } from "../vision/accounts/money-plant.ts";
import { keepRows } from "./kept-readings.ts";
import { MOODY, problemOf, type Serving, serving } from "./serving.ts";

let app: Serving;
let run: string;
const name = (i: number) => i.toString(16).padStart(64, "0");

beforeAll(async () => {
  app = await serving({ reader: new Reader({ entry: MOODY }) });
  ({ id: run } = await (await app.ask("POST", "/api/runs", { name: "Priced" })).json());
  const body = writeRunSheet(sheetOf(PLANT, [280, 640], NO_NOISE, []));
  const headers = { "Content-Type": "text/csv", "If-Match": '"0"' };
  expect((await fetch(`${app.at}/api/runs/${run}/sheet.csv`, { method: "PUT", body, headers })).status).toBe(200);
  const set = { control: "splitter", target: "upper", figure: { value: 280, error: null }, who: "", note: "" };
  const entry = { kind: "setting", setting: { ...set, at: "2031-05-04T08:00" } };
  expect((await app.ask("POST", `/api/runs/${run}/entries`, { entry })).status).toBe(201);
  for (let i = 0; i < 6; i++) {
    const photo = { id: name(i + 1), name: `${i}.jpg`, takenAt: `2031-05-04T09:${i}0:00`, run };
    await keepRows(app.parts, photo, { id: name(100 + i), file: MONEY_DECK, reading: photoOf(PLANT, NO_NOISE) });
  }
});
afterAll(() => app.close());

const told = async () => RunSplitters.parse(await (await app.get(`/api/runs/${run}/splitters`)).json());
const write = async (entry: object) =>
  expect((await app.ask("POST", `/api/runs/${run}/entries`, { entry })).status).toBe(201);
const price = (of: string, value: number) => write({ kind: "price", price: { of, figure: { value, error: 0 } } });

it("asks for what is wanting, and tells the best places once the metal has a price", async () => {
  expect((await told()).refusal).toBe("no-price");
  await price("metal", 20000);
  const bare = await told();
  expect(bare.refusal).toBeNull();
  expect(bare.gain!.perDay).toBeNull();
  expect(bare.cautions).toEqual(expect.arrayContaining(["no-hours", "middling-unpriced"]));
  await price("hours a day", 20);
  await price("treatment", 400);
  await price("deduction", 1);
  await price("rerun", 6);
  await price("regrind", 25);
  const full = await told();
  expect(full.splitters[0]).toMatchObject({ name: "upper", nowMm: 280, movable: true });
  expect(full.gain!.perDay!.value / full.gain!.perTonneFeed.value).toBeCloseTo(10, 1);
  expect(full.cautions).not.toContain("middling-unpriced");
  expect(full.restsOn).toMatchObject({ photos: 6, products: 3, assays: 4 });
});

it("a penalty is kept with the run, goes out and in by its sheet, and lowers what a tonne is paid with", async () => {
  const before = (await told()).denseTonne!.now;
  await write({ kind: "penalty", penalty: { assay: "Sn", of: "penalty", figure: { value: 10, error: 0 } } });
  await write({ kind: "penalty", penalty: { assay: "Sn", of: "penalty above", figure: { value: 20, error: 0 } } });
  const record = RunRecord.parse(await (await app.get(`/api/runs/${run}/record`)).json());
  expect(record.penalties).toEqual({
    Sn: { penalty: { value: 10, error: 0 }, "penalty above": { value: 20, error: 0 } },
  });
  const sheet = await app.get(`/api/runs/${run}/sheet.csv`);
  const text = await sheet.text();
  expect(text).toContain("price,,Sn,penalty,10,0,per t");
  const again = await fetch(`${app.at}/api/runs/${run}/sheet.csv`, {
    method: "PUT",
    body: text,
    headers: { "Content-Type": "text/csv", "If-Match": sheet.headers.get("ETag")! },
  });
  expect(again.status).toBe(200);
  const now = await told();
  const grade = now.launders[0]!.now.gradePercent;
  expect(before - now.denseTonne!.now).toBeCloseTo(10 * (grade - 20), 3);
});

it("refuses money that cannot be, and runs that are not there", async () => {
  const entry = (of: string, value: number) => ({
    entry: { kind: "price", price: { of, figure: { value, error: null } } },
  });
  for (const [of, value] of [
    ["payable", 101],
    ["metal", -1],
    ["hours a day", 25],
  ] as const) {
    await problemOf(await app.ask("POST", `/api/runs/${run}/entries`, entry(of, value)), 400, "body-wrong");
  }
  await problemOf(await app.get(`/api/runs/${newId()}/splitters`), 404, "not-found");
});
