import { readFileSync, writeFileSync } from "node:fs";
import { strToU8, unzipSync, zipSync } from "fflate";
import type { BrowserContext, Page } from "playwright-core";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { Reading } from "../../vision/contract/index.ts";
import { packCase, unpackCase } from "../../web/case-zip.ts";
import { openDevice, openPage, openSite, SAMPLES, type Site, visitAgain } from "./browser.ts";

/** A reading taken away as one page to print and as a case file, without a network; and opened again elsewhere. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 120_000 });

let site: Site;
let device: BrowserContext;
let page: Page;
let complaints: string[];
beforeAll(async () => {
  site = await openSite();
  device = await openDevice(site);
  ({ page, complaints } = await visitAgain(site, device));
  await site.goDown();
  await page.setInputFiles("#photo-file", `${SAMPLES}black-sand.jpg`);
  await page.waitForSelector(".handle");
  await page.setInputFiles("#deck-file", `${SAMPLES}black-sand.deck.json`);
  await page.locator("details.settings summary").click();
  await page.locator("#setting-washWaterLitresPerMinute").fill("12.5");
  await page.getByRole("button", { name: "Read the photo" }).click();
  await page.locator(".next h1").waitFor();
}, 120_000);
afterAll(async () => {
  await device.close();
  await site.close();
});

async function saved(name: string): Promise<Buffer> {
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name }).click()]);
  return readFileSync((await download.path())!);
}
let caseFile: Buffer;

it("writes one page of PDF with both pictures, without a network", async () => {
  const started = Date.now();
  const pdf = await saved("Report, one page");
  console.info(`report: ${pdf.length} bytes in ${Date.now() - started} ms`);
  if (process.env.KEEP_PDF) writeFileSync(process.env.KEEP_PDF, pdf);
  const text = pdf.toString("latin1");
  expect(text).toMatch(/^%PDF-1\./);
  expect(text.match(/\/Type \/Page\b/g)).toHaveLength(1);
  expect(text.match(/\/Subtype \/Image/g)).toHaveLength(2);
  expect(text).toContain("DejaVuSansCondensed-Bold");
  expect(complaints).toEqual([]);
});

it("packs photo, pictures, reading, deck and notes, each with what it is", async () => {
  caseFile = await saved("Case file");
  const files = unzipSync(caseFile);
  expect(Object.keys(files).sort()).toEqual([
    "classes.png",
    "deck.json",
    "list.json",
    "notes.json",
    "photo.jpg",
    "picture.jpg",
    "reading.json",
  ]);
  expect(Buffer.from(files["photo.jpg"]!)).toEqual(readFileSync(`${SAMPLES}black-sand.jpg`));
  const notes = JSON.parse(Buffer.from(files["notes.json"]!).toString());
  expect(notes).toMatchObject({ settings: { washWaterLitresPerMinute: 12.5 } });
});

it("opens on another device with the same reading, deck and settings; nothing of it is kept or sent there", async () => {
  await site.comeBack();
  const elsewhere = await openPage(site);
  const reading = Reading.parse(JSON.parse(Buffer.from(unzipSync(caseFile)["reading.json"]!).toString()));
  await elsewhere.page.setInputFiles("#case-file", {
    name: "a.case.zip",
    mimeType: "application/zip",
    buffer: caseFile,
  });
  await elsewhere.page.locator(".next h1").waitFor();
  expect(await elsewhere.page.locator(".next h1").textContent()).toBe(await page.locator(".next h1").textContent());
  await elsewhere.page.getByText("Other files").click();
  const link = elsewhere.page.getByText("Reading (JSON)");
  const [download] = await Promise.all([elsewhere.page.waitForEvent("download"), link.click()]);
  expect(JSON.parse(readFileSync((await download.path())!, "utf8"))).toEqual(reading);
  await elsewhere.page.getByRole("button", { name: "Change corners" }).click();
  await elsewhere.page.getByText("Deck file: ").waitFor();
  expect(await elsewhere.page.locator("#setting-washWaterLitresPerMinute").inputValue()).toBe("12.5");
  expect(await elsewhere.page.locator(".waits").isHidden()).toBe(true);
  expect(elsewhere.complaints).toEqual([]);
  await elsewhere.page.close();
});

it("stays on one page with the fullest reading there is, in every language", async () => {
  const full = opened();
  const reading = JSON.parse(Buffer.from(full.get("reading")!.bytes).toString());
  const [hint] = reading.advice;
  const long =
    "This line is as long as reasons ever are, with a number of 123 mm ± 45 mm in it, and then some more words.";
  const [patch] = [{ areaMm2: 90_000, centre: [900, 450], outline: [], confidence: 0.9 }];
  Object.assign(reading, {
    advice: Array.from({ length: 9 }, () => ({ ...hint, because: Array(9).fill(long), expect: long, caution: long })),
    dryPatches: Array(12).fill(patch),
    rills: Array(12).fill({ path: [0, 900].map((mm) => [mm, mm]), widthMm: 20, confidence: 0.8 }),
    bands: reading.bands.flatMap((band: object) => [band, band, band]),
    splitters: Array(9).fill(reading.splitters[0]),
    launders: Array(9).fill(reading.launders[0]),
    outletUnseenMm: Array(6).fill([100, 200]),
    quality: { usable: true, issues: Array(9).fill({ kind: "place", say: long }) },
  });
  expect(Reading.safeParse(reading).error).toBeUndefined();
  const parts = [...full.values()].map((part) =>
    part.is === "reading" ? { ...part, bytes: Uint8Array.from(Buffer.from(JSON.stringify(reading))) } : part,
  );
  const elsewhere = await openPage(site);
  const sizes: Record<string, number> = {};
  for (const language of ["en", "es", "pt", "fr", "sw", "id"]) {
    await elsewhere.page.evaluate((code) => localStorage.setItem("deckbands language", code), language);
    await elsewhere.page.reload();
    await elsewhere.page.setInputFiles("#case-file", {
      name: "a.case.zip",
      mimeType: "application/zip",
      buffer: Buffer.from(packCase(parts)),
    });
    await elsewhere.page.locator(".next h1").waitFor();
    const press = elsewhere.page.locator(".maker button").first().click();
    const [download] = await Promise.all([elsewhere.page.waitForEvent("download"), press]);
    const pdf = readFileSync((await download.path())!);
    if (process.env.KEEP_PDF) writeFileSync(`${process.env.KEEP_PDF}-${language}.pdf`, pdf);
    sizes[language] = pdf.toString("latin1").match(/\/Type \/Page\b/g)!.length;
  }
  expect(sizes).toEqual({ en: 1, es: 1, pt: 1, fr: 1, sw: 1, id: 1 });
  await elsewhere.page.close();
});
const opened = () => unpackCase(caseFile);

it.each([
  ["no ZIP", () => Buffer.from("a photo"), "It is no ZIP, or a part of it is damaged"],
  ["a ZIP of something else", () => Buffer.from(zipSync({ "a.txt": strToU8("a") })), "was not made as a case file"],
  ["one that lost a bit", () => withBitLost(), "It is no ZIP, or a part of it is damaged"],
])("says in plain words that a file is %s, and what to do", async (_, buffer, words) => {
  const elsewhere = await openPage(site);
  await elsewhere.page.setInputFiles("#case-file", { name: "a.zip", mimeType: "application/zip", buffer: buffer() });
  const notice = elsewhere.page.locator("[role=alert]");
  await notice.getByText("This case file cannot be opened.").waitFor();
  expect(await notice.textContent()).toContain(words);
  expect(elsewhere.complaints).toEqual([]);
  await elsewhere.page.close();
});
function withBitLost(): Buffer {
  const broken = Buffer.from(caseFile);
  broken[Math.floor(broken.length / 2)]! ^= 1; // within the photo
  return broken;
}
