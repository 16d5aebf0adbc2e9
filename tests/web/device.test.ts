import { readFileSync } from "node:fs";
import type { BrowserContext, Page } from "playwright-core";
import sharp from "sharp";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { decode, MAX_BYTES, MAX_PIXELS, MIN_SIDE_PX } from "../../server/decode.ts";
import { openEyes } from "../../server/eyes.ts";
import { CornersFile, DeckFile, Reading } from "../../vision/contract/index.ts";
import { analyse, describeDeck, type Engines, loadOpenCv } from "../../vision/index.ts";
import { LIMITS } from "../../web/photo-limits.ts";
import { openDevice, openSite, SAMPLES, type Site, visitAgain } from "./browser.ts";

/** Photos read on the device, by the code that the server runs too. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 120_000 });

let site: Site;
let device: BrowserContext;
let engines: Engines;
beforeAll(async () => {
  site = await openSite();
  device = await openDevice(site);
  const [{ cv }, eyes] = await Promise.all([loadOpenCv(), openEyes()]);
  engines = { cv, eyes };
});
afterAll(async () => {
  await device.close();
  await site.close();
});

const readJson = (path: string) => JSON.parse(readFileSync(`${SAMPLES}${path}`, "utf8"));
const readButton = (page: Page) => page.getByRole("button", { name: "Read the photo" });
const openPhoto = async (page: Page, name: string, buffer: Buffer) => {
  await page.setInputFiles("#photo-file", {
    name,
    mimeType: name.endsWith("png") ? "image/png" : "image/jpeg",
    buffer,
  });
  await page.waitForSelector(".handle");
};

/** The reading of this photo as the page gives it to be kept. */
async function readOnDevice(page: Page, name: string, buffer: Buffer, deck: string): Promise<Reading> {
  await openPhoto(page, name, buffer);
  await page.setInputFiles("#deck-file", `${SAMPLES}${deck}`);
  await readButton(page).click();
  await page.locator(".next h1").waitFor();
  await page.getByText("Other files").click();
  const [saved] = await Promise.all([page.waitForEvent("download"), page.getByText("Reading (JSON)").click()]);
  const reading = Reading.parse(JSON.parse(readFileSync((await saved.path())!, "utf8")));
  await page.getByRole("button", { name: "Another photo" }).click();
  return reading;
}

/** The reading of the same file by Node, without corners. */
async function readInNode(bytes: Buffer, deck: string): Promise<Reading> {
  const { photo } = await decode(bytes);
  const described = describeDeck(DeckFile.parse(readJson(deck)));
  const source = { name: "a", sha256: "b", takenAt: null };
  return analyse(engines, photo, { deck: described, corners: null, notes: {}, source }).reading;
}

/** Places where bands begin and end at the outlet, mm, each with the name of its band and end. */
const edgesOf = ({ bands }: Reading) =>
  bands.flatMap(({ kind, outlet }) =>
    outlet.flatMap(({ fromMm, toMm }) => [
      { name: `${kind} from`, mm: fromMm },
      { name: `${kind} to`, mm: toMm },
    ]),
  );

it("sees the same edges within 0.1 mm as Node does, from the same pixels, without asking the server", async () => {
  const { page, complaints } = await visitAgain(site, device);
  await site.goDown();
  // a PNG loses nothing: both decoders give the very same pixels
  const png = await sharp(`${SAMPLES}black-sand.jpg`).png({ compressionLevel: 1 }).toBuffer();
  const here = await readOnDevice(page, "black-sand.png", png, "black-sand.deck.json");
  await site.comeBack();
  const there = await readInNode(png, "black-sand.deck.json");
  const [mine, theirs] = [edgesOf(here), edgesOf(there)];
  expect(theirs.length).toBeGreaterThan(3);
  expect(mine.map(({ name }) => name)).toEqual(theirs.map(({ name }) => name));
  for (const [i, { mm }] of theirs.entries()) expect(Math.abs(mine[i]!.mm - mm)).toBeLessThanOrEqual(0.1);
  expect(here.view!.cornersPx).toEqual(there.view!.cornersPx);
  expect(here.advice).toEqual(there.advice);
  expect(complaints).toEqual([]);
  await page.close();
});

it("sees 95 % of edges within 1 mm with the browser's own decoder for JPEG", async () => {
  const { page } = await visitAgain(site, device);
  let [near, all] = [0, 0];
  for (const name of ["black-sand", "pale-heavy", "copper-scrap-low"]) {
    const jpeg = readFileSync(`${SAMPLES}${name}.jpg`);
    const here = edgesOf(await readOnDevice(page, `${name}.jpg`, jpeg, `${name}.deck.json`));
    const there = edgesOf(await readInNode(jpeg, `${name}.deck.json`));
    all += there.length;
    near += there.filter((edge) => here.some((h) => h.name === edge.name && Math.abs(h.mm - edge.mm) <= 1)).length;
  }
  expect(all).toBeGreaterThan(15);
  expect(near / all).toBeGreaterThanOrEqual(0.95);
  await page.close();
});

it("turns a photo upright by its EXIF orientation, tells when it was taken, and reads it made smaller where it is large", async () => {
  const { page } = await visitAgain(site, device);
  // 5500 × 4125 = 22.7 million pixels, more than is looked at here; stored on its side
  const said = { orientation: 6, exif: { IFD2: { DateTimeOriginal: "2031:05:04 13:05:09" } } };
  const turned = await sharp(`${SAMPLES}black-sand.jpg`).resize(5500).rotate(-90).withMetadata(said).jpeg().toBuffer();
  const reading = await readOnDevice(page, "turned.jpg", turned, "black-sand.deck.json");
  expect(reading.photo).toMatchObject({ widthPx: 5500, heightPx: 4125, takenAt: "2031-05-04T13:05:09" });
  const truth = CornersFile.parse(readJson("black-sand.corners.json")).corners; // of 2000 pixels
  const errors = reading.view!.cornersPx.map(([x, y], i) =>
    Math.hypot(x - truth[i]![0] * 2.75, y - truth[i]![1] * 2.75),
  );
  expect(Math.max(...errors)).toBeLessThan(150);
  await page.close();
});

it("keeps the page free while it reads: no task on its main thread lasts 100 ms", async () => {
  const { page } = await visitAgain(site, device);
  await openPhoto(page, "black-sand.jpg", readFileSync(`${SAMPLES}black-sand.jpg`));
  /** The longest task of the main thread during one reading, ms; other programs may hold one up, hardly two. */
  const longestTask = async () => {
    await page.evaluate(() => {
      const seen: number[] = [];
      new PerformanceObserver((list) => seen.push(...list.getEntries().map((e) => e.duration))).observe({
        type: "longtask",
      });
      Object.assign(window, { longTasks: seen });
    });
    await readButton(page).click();
    await page.locator(".next h1").waitFor();
    await page.waitForTimeout(300);
    const tasks = await page.evaluate(() => (window as unknown as { longTasks: number[] }).longTasks);
    return Math.max(0, ...tasks);
  };
  const first = await longestTask();
  await page.getByRole("button", { name: "Change corners and read again" }).click();
  expect(Math.min(first, await longestTask())).toBeLessThan(100);
  await page.close();
});

it("stops at once when asked, goes back to the corners, and reads again", async () => {
  const { page, complaints } = await visitAgain(site, device);
  await openPhoto(page, "black-sand.jpg", readFileSync(`${SAMPLES}black-sand.jpg`));
  await readButton(page).click();
  await page.getByRole("button", { name: "Stop and go back" }).click();
  await page.waitForSelector(".handle");
  expect(await page.getByRole("alert").count()).toBe(0);
  await readButton(page).click();
  await page.locator(".next h1").waitFor();
  expect(complaints).toEqual([]);
  await page.close();
});

it("gives the picture with its bands, and the classes, to be kept", async () => {
  const { page } = await visitAgain(site, device);
  await openPhoto(page, "black-sand.jpg", readFileSync(`${SAMPLES}black-sand.jpg`));
  await readButton(page).click();
  await page.locator(".next h1").waitFor();
  const saved = async (words: string) => {
    const [file] = await Promise.all([page.waitForEvent("download"), page.getByText(words).click()]);
    return { name: file.suggestedFilename(), bytes: readFileSync((await file.path())!) };
  };
  await page.getByText("Other files").click();
  const picture = await saved("Picture with bands (JPEG)");
  expect(picture.name).toBe("black-sand.overlay.jpg");
  const drawn = await sharp(picture.bytes).raw().toBuffer({ resolveWithObject: true });
  expect(drawn.info).toMatchObject({ width: 2000, height: 1500 });
  const plain = await sharp(`${SAMPLES}black-sand.jpg`).raw().toBuffer();
  const changed = drawn.data.filter((value, i) => Math.abs(value - plain[i]!) > 40).length / plain.length;
  expect(changed).toBeGreaterThan(0.05);
  const png = (await saved("Classes (PNG)")).bytes;
  expect(await sharp(png).metadata()).toMatchObject({ channels: 1, depth: "uchar", format: "png" });
  const classes = await sharp(png).extractChannel(0).raw().toBuffer();
  expect(new Set(classes).size).toBeGreaterThan(3);
  expect(classes.reduce((a, b) => Math.max(a, b), 0)).toBeLessThanOrEqual(5);
  await page.close();
});

it("has the server's own limits", () => {
  expect(LIMITS).toEqual({ bytes: MAX_BYTES, pixels: MAX_PIXELS, sidePx: MIN_SIDE_PX });
});
