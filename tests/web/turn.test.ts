import { readFileSync } from "node:fs";
import axe from "axe-core";
import type { Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, expect, it, vi } from "vitest";
import { NewReading, Reading } from "../../vision/contract/index.ts";
import { DESKTOP, openDevice, openPage, openSite, PHONE, type Site, sidewaysPx, visitAgain } from "./browser.ts";
import { symmetricDeck } from "./symmetric-deck.ts";

/** One tap where nobody could tell from the photo which way round the deck lies. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 120_000 });

let site: Site;
let deck: Awaited<ReturnType<typeof symmetricDeck>>;
beforeAll(async () => {
  [site, deck] = await Promise.all([openSite(), symmetricDeck()]);
});
afterAll(() => site.close());
afterEach(() => site.comeBack());

const QUESTION = "Which way round does the deck lie?";
/** Read the symmetric deck up to the question. */
async function askTurn(page: Page) {
  await page.setInputFiles("#photo-file", { name: "alike.png", mimeType: "image/png", buffer: deck.png });
  await page.waitForSelector(".handle");
  await page.getByRole("button", { name: "Read the photo" }).click();
  await page.getByRole("heading", { name: QUESTION }).waitFor();
}
/** Where a place of the photo is on the screen. */
async function onScreen(page: Page, [x, y]: readonly [number, number]) {
  const stage = page.locator(".tap-stage");
  await stage.scrollIntoViewIfNeeded();
  const box = (await stage.boundingBox())!;
  const size = await page.locator(".tap-photo").evaluate(async (img: HTMLImageElement) => {
    await img.decode();
    return { width: img.naturalWidth, height: img.naturalHeight }; // smaller than a preview
  });
  return [box.x + (x / size.width) * box.width, box.y + (y / size.height) * box.height] as const;
}
/** Which of the true corners the reading's first corner is. */
async function firstCornerOf(page: Page): Promise<number> {
  await page.locator(".next h1").waitFor();
  await page.getByText("Other files").click();
  const [saved] = await Promise.all([page.waitForEvent("download"), page.getByText("Reading (JSON)").click()]);
  const reading = Reading.parse(JSON.parse(readFileSync((await saved.path())!, "utf8")));
  expect(reading.quality.usable).toBe(true);
  const [u, v] = reading.view!.cornersPx[0]!;
  const far = deck.corners.map(([x, y]) => Math.hypot(x - u, y - v));
  return far.indexOf(Math.min(...far));
}

it("on the device: one tap with a finger, and the photo is read that way round; another tap, the other", async () => {
  const device = await openDevice(site);
  const { page, complaints } = await visitAgain(site, device);
  await site.goDown(); // the server cannot help
  await askTurn(page);
  expect(await page.locator("h1").evaluate((h) => h === document.activeElement)).toBe(true);
  expect(await sidewaysPx(page)).toBe(0);
  for (const corner of [0, 2]) {
    const [x, y] = await onScreen(page, deck.corners[corner]!);
    await page.touchscreen.tap(x, y);
    expect(await firstCornerOf(page)).toBe(corner);
    if (corner === 2) break;
    await page.getByRole("button", { name: "Another photo" }).click();
    await askTurn(page);
  }
  expect(complaints).toEqual([]);
  await device.close();
});

it("by the server: the same tap by mouse under the magnifier, sent with the request", async () => {
  const { page, complaints } = await openPage(site, DESKTOP);
  await askTurn(page);
  const [x, y] = await onScreen(page, deck.corners[0]!);
  await page.mouse.move(x - 40, y + 40);
  await page.mouse.down();
  await page.mouse.move(x, y, { steps: 3 });
  expect(await page.locator(".taps-step .glass").isVisible()).toBe(true);
  const [request] = await Promise.all([
    page.waitForRequest((r) => r.method() === "POST" && r.url().endsWith("/api/readings")),
    page.mouse.up(),
  ]);
  const { taps, corners } = NewReading.parse(request.postDataJSON());
  expect(corners).toBeNull();
  expect(taps!.taps).toEqual([]);
  const [u, v] = taps!.firstCorner!;
  expect(Math.hypot(u - deck.corners[0]![0], v - deck.corners[0]![1])).toBeLessThan(4);
  expect(await firstCornerOf(page)).toBe(0);
  expect(complaints).toEqual([]);
  await page.close();
});

it("by keyboard alone; stopping goes back to the question", async () => {
  const { page, complaints } = await openPage(site, DESKTOP);
  await askTurn(page);
  await page.route("**/events", () => {}); // a reading that never ends
  await page.keyboard.press("Tab");
  expect(await page.locator(".tap-stage").evaluate((s) => s === document.activeElement)).toBe(true);
  await page.keyboard.press("Shift+ArrowLeft");
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("Enter");
  await page.getByRole("button", { name: "Stop and go back" }).press("Enter");
  await page.getByRole("heading", { name: QUESTION }).waitFor();
  await page.keyboard.press("Tab");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter"); // put the corners oneself
  await page.waitForSelector(".handle");
  expect(complaints).toEqual([]);
  await page.close();
});

it.each([
  ["phone", PHONE],
  ["desktop", DESKTOP],
])("axe-core finds nothing wrong with the question on a %s", async (_name, size) => {
  const { page } = await openPage(site, size);
  await askTurn(page);
  await page.evaluate(axe.source);
  const { violations } = await page.evaluate(async () =>
    (globalThis as unknown as { axe: typeof axe }).axe.run(document, { resultTypes: ["violations"] }),
  );
  expect(violations.map(({ id }) => id)).toEqual([]);
  if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/turn-${_name}.png` });
  await page.close();
});
