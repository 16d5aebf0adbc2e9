import { readFileSync } from "node:fs";
import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import { NewReading } from "../../vision/contract/index.ts";
import { openPage, openSite, PHONE, SAMPLES, type Site, sidewaysPx } from "./browser.ts";

/** What is said of deck and material goes with the photo, comes back with the deck, and earlier looks go along. */

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

const DECK = `${SAMPLES}black-sand.deck.json`;
const SPLITTERS = (JSON.parse(readFileSync(DECK, "utf8")).splitters as { name: string; atMm: number }[]) ?? [];

/** The sample photo; a byte after its end makes it another one. */
async function openPhoto(page: Page, name: string): Promise<void> {
  const bytes = readFileSync(`${SAMPLES}black-sand.jpg`);
  const buffer = name === "first" ? bytes : Buffer.concat([bytes, Buffer.from([0])]);
  await page.setInputFiles("#photo-file", { name: `${name}.jpg`, mimeType: "image/jpeg", buffer });
  await page.waitForSelector(".handle");
}
async function read(page: Page): Promise<NewReading> {
  const [request] = await Promise.all([
    page.waitForRequest((one) => one.method() === "POST" && one.url().endsWith("/api/readings")),
    page.getByRole("button", { name: "Read the photo" }).click(),
  ]);
  await page.locator(".next h1").waitFor();
  return NewReading.parse(request.postDataJSON());
}

it("sends material, aim and where splitters stand; keeps them for this deck; the next photo brings the look before along", async () => {
  const { page, complaints } = await openPage(site, PHONE);
  await openPhoto(page, "first");
  await page.setInputFiles("#deck-file", DECK);
  await page.waitForSelector("text=Deck file:");
  await page.getByText("What the controls stand at").click();
  await page.getByLabel("Wash water").fill("14");
  await page.getByLabel("Cross slope").fill("24");
  await page.getByLabel(`Splitter ${SPLITTERS[0]!.name}`).fill("222");
  await page.getByText("What the bands are made of, and").click();
  await page.locator("#known-materials option").nth(10).waitFor({ state: "attached" });
  await page.locator("#material-dense-name").fill("Magnetite");
  // Klein & Hurlbut (from memory): 5.18 g/cm³
  expect(await page.locator("#material-dense-density").inputValue()).toBe("5180");
  await page.locator("#material-light-name").fill("quartz");
  for (const kind of ["dense", "light"]) {
    await page.locator(`#material-${kind}-finest`).fill("300");
    await page.locator(`#material-${kind}-coarsest`).fill("75");
  }
  await page.locator("#aim-densePurity").fill("80");
  expect(await sidewaysPx(page)).toBe(0);
  const first = await read(page);
  expect(first.settings).toEqual({ washWaterLitresPerMinute: 14, crossSlopeMmPerM: 24 });
  expect(first.profile?.dense).toEqual({ name: "Magnetite", densityKgPerM3: 5180, sizeMm: [0.075, 0.3] });
  expect(first.aim).toEqual({ densePurity: 0.8 });
  expect(first.deck?.splitters[0]?.atMm).toBe(222);
  expect(first.earlier).toBeUndefined();

  await page.getByRole("button", { name: "Another photo" }).click();
  await openPhoto(page, "second");
  const second = await read(page);
  expect(second.profile).toEqual(first.profile);
  expect(second.earlier).toHaveLength(1);
  expect(second.earlier![0]!.settings).toEqual(first.settings);
  expect(second.earlier![0]!.reading.splitters[0]!.atMm).toBe(222);

  await page.reload();
  await openPhoto(page, "first");
  expect(await page.locator("#material-dense-density").inputValue()).toBe("");
  await page.setInputFiles("#deck-file", DECK);
  await page.waitForSelector("text=Deck file:");
  expect(await page.locator("#material-dense-density").inputValue()).toBe("5180");
  expect(await page.locator("#material-light-finest").inputValue()).toBe("75");
  expect(await page.locator("#splitter-0").inputValue()).toBe("222");
  expect(complaints).toEqual([]);
  await page.close();
}, 120_000);
