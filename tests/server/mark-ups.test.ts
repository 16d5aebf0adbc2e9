import sharp from "sharp";
import { afterAll, beforeAll, expect, it } from "vitest";
import { Reader } from "../../server/reader.ts";
import * as contract from "../../vision/contract/index.ts";
import { keepReading } from "./kept-readings.ts";
import { denseBetween } from "./readings.ts";
import { MOODY, problemOf, type Serving, serving } from "./serving.ts";

/** An invented deck of 200 by 100 mm, product over the right end: the reading has dense from 40 to 70 mm. */
const GRID = { mmPerCell: 2, columns: 100, rows: 50 };
const deck = (from: number, to: number) =>
  Uint8Array.from({ length: 5000 }, (_, i) => (i >= 100 * from && i < 100 * to ? 2 : 1));
const grey = (labels: Uint8Array) =>
  sharp(labels, { raw: { width: 100, height: 50, channels: 1 } })
    .toColourspace("b-w")
    .png()
    .toBuffer();
const asText = async (labels: Uint8Array) => (await grey(labels)).toString("base64");

let app: Serving;
let id: string;
beforeAll(async () => {
  app = await serving({ reader: new Reader({ entry: MOODY }) });
  const reading = { ...denseBetween(40, 70, 3), grid: GRID };
  const file = { schemaVersion: 1 as const, lengthMm: 200, widthMm: 100 };
  id = await keepReading(app.parts, 1, reading, { classes: await grey(deck(20, 35)) }, { deck: file as never });
});
afterAll(() => app.close());

const json = async (answer: Promise<Response>) => (await answer).json();
const mark = async (body: object) => {
  const answer = await app.ask("POST", `/api/readings/${id}/mark-ups`, { schemaVersion: 1, ...body });
  expect(answer.status).toBe(201);
  return contract.MarkUp.parse(await answer.json());
};

it("areas are kept as a PNG that other programs read, and agree with the reading as far as they are alike", async () => {
  const made = await mark({ classesPng: await asText(deck(21, 40)) });
  expect(made).toMatchObject({ reading: id, person: app.parts.data.local.person, classes: true });
  const png = Buffer.from(await (await app.get(`/api/mark-ups/${made.id}/classes.png`)).arrayBuffer());
  expect(await sharp(png).metadata()).toMatchObject({ format: "png", width: 100, height: 50, isPalette: true });
  const { data } = await sharp(png).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  expect([...data.subarray(3 * 2100, 3 * 2100 + 3)]).toEqual([58, 31, 214]); // dense, in the colour it is drawn in
  const told = contract.Agreement.parse(await json(app.get(`/api/mark-ups/${made.id}/agreement`)));
  expect(told.overlap!.iou.dense).toBeCloseTo(14 / 20, 9);
  expect(told.edges.pairs).toMatchObject([
    { edge: "from", aMm: 40, bMm: 42, apartMm: 2 },
    { edge: "to", aMm: 70, bMm: 80, apartMm: 10 },
  ]);
  expect(told.edges.medianMm).toBe(6);
});

it("two people's mark-ups are held against each other", async () => {
  const one = await mark({ edges: [{ kind: "dense", edge: "to", atMm: 66 }] });
  const two = await mark({ edges: [{ kind: "dense", edge: "to", atMm: 75 }], classesPng: null });
  const told = contract.Agreement.parse(await json(app.get(`/api/mark-ups/${two.id}/agreement?with=${one.id}`)));
  expect(told).toMatchObject({ with: one.id, overlap: null, edges: { rmsMm: 9 } });
  expect(contract.MarkUpList.parse(await json(app.get(`/api/readings/${id}/mark-ups`))).items.length).toBe(3); // none lost
});

it("goes out as COCO and comes in again as another mark-up, the same", async () => {
  const made = await mark({ classesPng: await asText(deck(10, 30)) });
  const coco = await json(app.get(`/api/mark-ups/${made.id}/coco.json`));
  expect(coco.images).toMatchObject([{ width: 100, height: 50, mm_per_pixel: 2 }]);
  expect(coco.info.contributor).toBe("Owner");
  const again = contract.MarkUp.parse(await json(app.ask("POST", `/api/readings/${id}/mark-ups/coco`, coco)));
  const told = contract.Agreement.parse(await json(app.get(`/api/mark-ups/${again.id}/agreement?with=${made.id}`)));
  expect(told.overlap).toMatchObject({ meanIou: 1, sameShare: 1, cells: 5000 });
  const other = { ...coco, images: [{ ...coco.images[0], width: 99 }] };
  await problemOf(await app.ask("POST", `/api/readings/${id}/mark-ups/coco`, other), 422, "marks-file");
});

it("refuses what is no picture of this deck's areas, and says what it must be", async () => {
  const refused = async (bytes: Uint8Array) => {
    const classesPng = Buffer.from(bytes).toString("base64");
    const answer = await app.ask("POST", `/api/readings/${id}/mark-ups`, { schemaVersion: 1, classesPng });
    return (await problemOf(answer, 422, "marks-file")).detail;
  };
  expect(await refused(Buffer.from("no picture"))).toMatch(/PNG of 100 × 50 pixels/);
  const small = sharp(deck(0, 1), { raw: { width: 50, height: 100, channels: 1 } });
  expect(await refused(await small.png().toBuffer())).toMatch(/this is 50 × 100/);
  expect(await refused(await grey(deck(0, 9).map((label) => label + 4)))).toMatch(/numbers above 5/);
  expect(await refused((await grey(deck(0, 9))).subarray(0, 60))).toMatch(/damaged/);
  const coloured = sharp(await grey(deck(0, 9))).toColourspace("srgb");
  expect(await refused(await coloured.png().toBuffer())).toMatch(/one channel/);
});

it("goes with its photo, and its picture too", async () => {
  const blobs = async () => {
    const names: string[] = [];
    for await (const name of app.parts.data.blobs.list()) names.push(name);
    return names.length;
  };
  const before = await blobs();
  expect(before).toBeGreaterThan(3);
  expect((await app.ask("DELETE", `/api/photos/${id}`)).status).toBe(204);
  expect(await blobs()).toBe(0);
});
