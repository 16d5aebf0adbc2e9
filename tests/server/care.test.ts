import { execFile } from "node:child_process";
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import exifr from "exifr";
import sharp, { type Sharp } from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { withoutPosition } from "../../server/position.ts";
import { Reader } from "../../server/reader.ts";
import { sha256 } from "../../server/sha256.ts";
import { openData } from "../../server/storage/data.ts";
import { CocoFile, PhotoReceipt, Reading, ReferenceStock } from "../../vision/contract/index.ts";
import { elsewhereOf, isElsewhere } from "./keeping.ts";
import { keepRows } from "./kept-readings.ts";
import { quarters } from "./pictures.ts";
import { denseBetween } from "./readings.ts";
import { MOODY, photoNo, type Serving, serving } from "./serving.ts";

const root = mkdtempSync(join(tmpdir(), "deckbands-care-"));
const COMMAND = fileURLToPath(new URL("../../server/deckbands.mjs", import.meta.url));
let app: Serving;
beforeAll(async () => {
  app = await serving({ reader: new Reader({ entry: MOODY }) });
});
afterAll(async () => {
  await app.close();
  rmSync(root, { recursive: true });
});

/** The command over a data folder. */
async function run(data: string, ...args: string[]): Promise<{ code: number; told: string }> {
  const { database, objects } = await elsewhereOf(data);
  const elsewhere = { DECKBANDS_DATABASE: database ?? "", DECKBANDS_OBJECTS: objects ?? "" };
  const env = { ...process.env, ...elsewhere, DECKBANDS_DATA: data };
  try {
    const { stdout } = await promisify(execFile)(process.execPath, [COMMAND, ...args], { env });
    return { code: 0, told: stdout };
  } catch (error) {
    const { code, stderr } = error as { code: number; stderr: string };
    return { code, told: stderr };
  }
}

/** Phones write where a photo was taken into EXIF (CIPA DC-008-2019, section 4.6.6). */
const withPosition = (picture: Sharp) =>
  picture.withExif({
    IFD0: { Make: "Invented" },
    IFD2: { DateTimeOriginal: "2031:05:04 13:05:09" },
    IFD3: { GPSLatitudeRef: "N", GPSLatitude: "47/1 30/1 0/1", GPSLongitudeRef: "E", GPSLongitude: "19/1 2/1 0/1" },
  });

describe("a photo without its position", () => {
  it.each(["jpeg", "png", "webp", "avif"] as const)("%s: no place, same pixels, same time", async (format) => {
    const photo = await withPosition(quarters()).toFormat(format).toBuffer();
    // exifr is a general-purpose reader of photo metadata; it is given the EXIF block, which is a TIFF, as sharp finds it
    const block = async (bytes: Buffer) => (await sharp(bytes).metadata()).exif!;
    const read = async (bytes: Buffer) => {
      const exif = await block(bytes);
      return exifr.parse(exif.subarray(exif.indexOf("Exif\0\0") === 0 ? 6 : 0), { gps: true, exif: true });
    };
    expect(await read(photo)).toMatchObject({ latitude: 47.5 });
    const bare = withoutPosition(photo);
    const left = await read(bare);
    expect(left).toMatchObject({ Make: "Invented" });
    expect(Object.keys(left).filter((key) => /gps|latitude|longitude/i.test(key))).toEqual([]);
    expect(left.DateTimeOriginal).toEqual((await read(photo)).DateTimeOriginal);
    const pixels = (bytes: Buffer) => sharp(bytes, { failOn: "warning" }).raw().toBuffer();
    expect((await pixels(bare)).equals(await pixels(photo))).toBe(true);
  });

  it("XMP, which says it in words, is emptied too", async () => {
    const xmp = `<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description xmlns:exif="http://ns.adobe.com/exif/1.0/" exif:GPSLatitude="47,30.0N"/></rdf:RDF></x:xmpmeta>`;
    const photo = await quarters().withXmp(xmp).jpeg().toBuffer();
    expect(photo.includes("47,30.0N")).toBe(true);
    const bare = withoutPosition(photo);
    expect(bare.includes("47,30.0N")).toBe(false);
    await sharp(bare, { failOn: "warning" }).raw().toBuffer();
  });

  it("one that has none, or is damaged, stays as it is", async () => {
    const photo = await quarters().jpeg().toBuffer();
    expect(withoutPosition(photo).equals(photo)).toBe(true);
    const damaged = (await withPosition(quarters()).jpeg().toBuffer()).subarray(0, 60);
    expect(() => withoutPosition(damaged)).not.toThrow();
  });
});

// a database and a bucket have means of their own (units/README.md)
describe.skipIf(isElsewhere)("backup and restore", () => {
  const send = async (number: number) =>
    PhotoReceipt.parse(await (await app.send(await photoNo(number), { "X-File-Name": `${number}.png` })).json()).id;

  it("a backup taken while photos come in is whole, and restores to what the server had then", async () => {
    const before: string[] = [];
    for (let i = 0; i < 20; i++) before.push(await send(i));
    const read = await app.ask("POST", "/api/readings", { photo: before[0] });
    const { id } = (await read.json()) as { id: string };
    await (await app.get(`/api/readings/${id}/events`)).text();
    const [victim] = before.splice(5, 1);
    await app.ask("DELETE", `/api/photos/${victim}`);

    let busy = true;
    const meanwhile = (async () => {
      for (let i = 100; busy; i++) await send(i);
    })();
    const copy = join(root, "backup");
    expect(await run(app.folder, "backup", copy)).toMatchObject({ code: 0 });
    busy = false;
    await meanwhile;

    const to = join(root, "restored");
    const { code, told } = await run(to, "restore", copy);
    expect({ code, told }).toMatchObject({ code: 0 });
    const data = await openData(to);
    for (const photo of before) expect(sha256((await data.blobs.read(photo))!)).toBe(photo);
    expect(await data.photos.find(data.local, victim!)).toBeNull();
    expect(await data.blobs.size(victim!)).toBeNull(); // deleted stays deleted
    const all = await data.photos.list(data.local, { limit: 200, after: null }, null);
    for (const photo of all.items) expect(sha256((await data.blobs.read(photo.id))!)).toBe(photo.id);
    expect(data.local).toEqual(app.parts.data.local);
    expect(await data.readings.reading(data.local, id)).toEqual(
      Reading.parse(await (await app.get(`/api/readings/${id}`)).json()),
    );
    await data.close();

    expect(await run(to, "restore", copy)).toMatchObject({ code: 2, told: expect.stringContaining("is not empty") });
  });

  it("a damaged backup is refused, and nothing is left of the try", async () => {
    const copy = join(root, "damaged");
    expect(await run(app.folder, "backup", copy)).toMatchObject({ code: 0 });
    const shelf = join(copy, "blobs", readdirSync(join(copy, "blobs"))[0]!);
    const victim = join(shelf, readdirSync(shelf)[0]!);
    const bytes = readFileSync(victim);
    bytes[10] = bytes[10]! ^ 1;
    writeFileSync(victim, bytes);
    const to = join(root, "not restored");
    expect(await run(to, "restore", copy)).toMatchObject({ code: 2, told: expect.stringContaining("is damaged") });
    expect(readdirSync(root)).not.toContain("not restored.restoring");
    expect(await run(to, "restore", root)).toMatchObject({ code: 2, told: expect.stringContaining("backup.json") });
  });
});

it("an export holds all of a site in open formats, without positions unless they are wanted", async () => {
  const photo = await withPosition(quarters()).jpeg().toBuffer();
  const sent = await app.send(photo, { "X-File-Name": encodeURIComponent("../=deck, 1.jpg") });
  const { id } = PhotoReceipt.parse(await sent.json());
  const deck = { name: "North/../deck", file: { schemaVersion: 1, lengthMm: 1830, widthMm: 910 } };
  await app.ask("POST", "/api/decks", deck);
  const reading = (await (await app.ask("POST", "/api/readings", { photo: id })).json()) as { id: string };
  await (await app.get(`/api/readings/${reading.id}/events`)).text();
  const note = { schemaVersion: 1, note: "the dense band ends further up" };
  await app.ask("POST", `/api/readings/${reading.id}/mark-ups`, note);

  const to = join(root, "export");
  expect(await run(app.folder, "export", to)).toMatchObject({
    code: 0,
    told: expect.stringContaining("without position"),
  });
  const photos = readdirSync(join(to, "photos"));
  const mine = photos.filter((name) => name.includes(id.slice(0, 12)));
  const end = reading.id.slice(0, 12);
  expect(mine.map((name) => name.slice(name.indexOf(id.slice(0, 12)) + 12)).sort()).toEqual(
    [".jpg", `.${end}.mark-ups.json`, `.${end}.reading.json`].sort(),
  );
  const bare = readFileSync(join(to, "photos", mine.find((name) => name.endsWith(".jpg"))!));
  expect(await exifr.gps(bare)).toBeUndefined();
  const json = (path: string) => JSON.parse(readFileSync(join(to, path), "utf8"));
  expect(Reading.parse(json(`photos/${mine.find((name) => name.endsWith("reading.json"))}`)).photo.name).toBe(
    "=deck, 1.jpg",
  );
  expect(readdirSync(join(to, "decks"))[0]).toMatch(/^North-\.\.-deck\.[0-9a-f]{8}\.v1\.deck\.json$/);
  const lines = readFileSync(join(to, "readings.csv"), "utf8").split("\r\n");
  expect(lines.find((line) => line.includes(reading.id))).toMatch(/^"'=deck, 1\.jpg",/); // RFC 4180; and no formula
  expect(json("site.json")).toMatchObject({ schemaVersion: 1, people: [{ role: "owner" }] });

  const placed = join(root, "export with places");
  expect(await run(app.folder, "export", placed, "--position")).toMatchObject({ code: 0 });
  const kept = readdirSync(join(placed, "photos")).find(
    (name) => name.includes(id.slice(0, 12)) && name.endsWith(".jpg"),
  )!;
  expect(readFileSync(join(placed, "photos", kept)).equals(photo)).toBe(true);
});

it("an export holds mark-ups with their areas, what reviewers said, the site's references and its lessons", async () => {
  const { data } = app.parts;
  const photo = await data.blobs.keep(await withPosition(quarters()).jpeg({ quality: 70 }).toBuffer());
  const id = "c".repeat(64);
  await keepRows(app.parts, { id: photo, name: "marked.jpg" }, { id, reading: denseBetween(10, 222, 4) });
  const labels = new Uint8Array(915 * 455).fill(1).fill(2, 915 * 5, 915 * 120); // dense from 10 to 240 mm
  const areas = await sharp(labels, { raw: { width: 915, height: 455, channels: 1 } })
    .toColourspace("b-w")
    .png()
    .toBuffer();
  const made = async (path: string, body: object) => {
    const answer = await app.ask("POST", path, body);
    expect(answer.status, path).toBeLessThan(300);
    return (await answer.json()) as { id: string };
  };
  const markUp = await made(`/api/readings/${id}/mark-ups`, { schemaVersion: 1, classesPng: areas.toString("base64") });
  await made(`/api/readings/${id}/asks`, { why: "looksWrong", note: "Is this right?" });
  await made(`/api/readings/${id}/answers`, { verdict: "refused", note: "It lies lower." });
  const material = { dense: "black sand", middling: null, light: "quartz" };
  const said = { title: "Ours", material, fault: "tooLow", authors: "The night shift", licence: "CC0-1.0" };
  const reference = await made("/api/gallery", { reading: id, ...said });
  const lesson = await made("/api/lessons", { name: "One deck", references: [reference.id, "black-sand"] });
  const tried = { lesson: lesson.id, reference: reference.id, fault: "tooLow", edges: [] };
  const { id: attempt } = await made("/api/lesson-tries", tried);

  const to = join(root, "export of what was taught");
  expect(await run(app.folder, "export", to)).toMatchObject({ code: 0 });
  const json = (path: string) => JSON.parse(readFileSync(join(to, path), "utf8"));
  const stem = `photos/marked.${photo.slice(0, 12)}.${id.slice(0, 12)}`;
  const area = `${stem}.mark-up.${markUp.id.slice(0, 8)}`;
  expect(json(`${stem}.mark-ups.json`)).toMatchObject([{ id: markUp.id, person: data.local.person, classes: true }]);
  // sharp, a general-purpose library, finds the palette and, in the colours it stands for, the dense band where it was drawn
  const png = sharp(readFileSync(join(to, `${area}.classes.png`)));
  expect(await png.metadata()).toMatchObject({ width: 915, height: 455, isPalette: true });
  const colours = await png.removeAlpha().raw().toBuffer();
  const colourAt = (row: number) => [...colours.subarray(3 * 915 * row, 3 * 915 * row + 3)];
  expect([colourAt(4), colourAt(5), colourAt(119), colourAt(120)].map(String)).toEqual(
    [colourAt(0), [58, 31, 214], [58, 31, 214], colourAt(0)].map(String),
  );
  const coco = CocoFile.parse(json(`${area}.coco.json`));
  const dense = coco.categories.find(({ name }) => name === "dense")!;
  expect(coco.annotations.find((one) => one.category_id === dense.id)!.area).toBe(915 * 115);
  expect(json(`${stem}.asks.json`)).toMatchObject([{ note: "Is this right?" }]);
  expect(json(`${stem}.answers.json`)).toMatchObject([{ verdict: "refused", note: "It lies lower." }]);

  const { references } = ReferenceStock.parse(json("gallery/references.json"));
  expect(references).toMatchObject([{ id: reference.id, ...said }]);
  const picture = readFileSync(join(to, `gallery/${reference.id}.jpg`));
  expect((await sharp(picture).metadata()).format).toBe("jpeg");
  expect(await exifr.gps(picture)).toBeUndefined();
  expect(await sharp(readFileSync(join(to, `gallery/${reference.id}.classes.png`))).metadata()).toMatchObject({
    width: 915,
    isPalette: true,
  });
  expect(json("lessons.json")).toMatchObject([{ id: lesson.id, references: [reference.id, "black-sand"] }]);
  expect(json("lesson-tries.json")).toMatchObject([{ id: attempt, lesson: lesson.id, score: { faultRight: true } }]);
});
