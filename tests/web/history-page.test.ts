import { readFileSync } from "node:fs";
import sharp from "sharp";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { openDevice, openPage, openSite, SAMPLES, type Site, visitAgain } from "./browser.ts";

/** A deck in time on the page: readings of this device, and of the server where it answers. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 180_000 });

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

type Page = Awaited<ReturnType<typeof openPage>>["page"];
async function readPhoto(page: Page, brightness: number, washWater: string, upperMm: number) {
  const photo = sharp(`${SAMPLES}black-sand.jpg`).resize(1200).modulate({ brightness });
  const deck = JSON.parse(readFileSync(`${SAMPLES}black-sand.deck.json`, "utf8"));
  deck.splitters[0].atMm = upperMm;
  delete deck.launders;
  await page.setInputFiles("#photo-file", {
    name: `at ${washWater}.jpg`,
    mimeType: "image/jpeg",
    buffer: await photo.jpeg({ quality: 85 }).toBuffer(),
  });
  await page.waitForSelector(".handle");
  await page.setInputFiles("#deck-file", {
    name: "a.deck.json",
    mimeType: "application/json",
    buffer: Buffer.from(JSON.stringify(deck)),
  });
  await page.locator(".loaded").waitFor();
  if (!(await page.locator("#setting-washWaterLitresPerMinute").isVisible())) {
    await page.locator("details.settings > summary").click();
  }
  await page.locator("#setting-washWaterLitresPerMinute").fill(washWater);
  await page.getByRole("button", { name: "Read the photo" }).click();
  await page.locator(".next h1").waitFor();
  await page.getByRole("button", { name: "Another photo" }).click();
}
const shot = async (page: Page, name: string) => {
  if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/${name}.png`, fullPage: true });
};

it("shows edges, cover and what was changed in between; what the server keeps comes along, and opens photos from here", async () => {
  const other = await openPage(site);
  await readPhoto(other.page, 0.99, "10", 365);
  await other.page.close();

  const device = await openDevice(site, { viewport: { width: 390, height: 844 } });
  const { page, complaints } = await visitAgain(site, device);
  await readPhoto(page, 1, "12", 365);
  await readPhoto(page, 1.02, "14.5", 400);
  await page.locator("#open-history").click();
  await page.getByText("1 reading came from the server.").waitFor();
  expect(await page.locator("#history-deck option").allTextContents()).toHaveLength(1);
  const rows = page.locator(".history tbody tr");
  expect(await rows.count()).toBe(3);
  const changes = await page.locator(".history-changes li").allTextContents();
  expect(changes.join(" ").replaceAll("\u00a0", " ")).toMatch(
    /Wash water: \d+ L\/min → 14.5 L\/min; Splitter upper: 365\smm → 400\smm/,
  );
  expect(await page.locator(".history-plot svg[role=img]").first().getAttribute("aria-label")).toMatch(
    /dense: seen in 3 photos; \d+–\d+\smm on /,
  );
  await shot(page, "history-phone");
  await page.setViewportSize({ width: 1280, height: 800 });
  await shot(page, "history-desktop");

  const here = page.locator(".history tbody button");
  expect(await here.count()).toBe(2); // the third photo is on another device
  await here.last().focus();
  await page.keyboard.press("Enter");
  await page.locator(".next h1").waitFor();
  expect(complaints).toEqual([]);

  await page.getByRole("button", { name: "Another photo" }).click();
  await site.goDown();
  await page.locator("#open-history").click();
  await page.getByText("The server does not answer").waitFor();
  expect(await rows.count()).toBe(2);
  await site.comeBack();
  await device.close();
});
