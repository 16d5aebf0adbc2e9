import { readFileSync } from "node:fs";
import axe from "axe-core";
import type { BrowserContext, Page } from "playwright-core";
import sharp from "sharp";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { DESKTOP, openDevice, openSite, PHONE, SAMPLES, type Site, sidewaysPx, visitAgain } from "./browser.ts";

/** Two kept photos of one deck, compared on the device. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 180_000 });

let site: Site;
let device: BrowserContext;
let page: Page;
let complaints: string[];
beforeAll(async () => {
  site = await openSite();
  device = await openDevice(site);
  ({ page, complaints } = await visitAgain(site, device));
  await site.goDown();
  const jpeg = readFileSync(`${SAMPLES}black-sand.jpg`);
  // the same deck seen again: the same photo, a little darker, with another border round it
  const again = await sharp(jpeg).linear(0.93).extend({ left: 60, right: 20, top: 30, bottom: 30 }).png().toBuffer();
  await read("first.jpg", "image/jpeg", jpeg, "black-sand");
  await read("second.png", "image/png", again, "black-sand");
});
afterAll(async () => {
  await device.close();
  await site.close();
});

async function read(name: string, mimeType: string, buffer: Buffer, deck: string) {
  await page.setInputFiles("#photo-file", { name, mimeType, buffer });
  await page.waitForSelector(".handle");
  await page.setInputFiles("#deck-file", `${SAMPLES}${deck}.deck.json`);
  await page.locator(".loaded").waitFor();
  await page.getByRole("button", { name: "Read the photo" }).click();
  await page.locator(".next h1").waitFor();
  await page.getByRole("button", { name: "Another photo" }).click();
  await page.getByText(name).first().waitFor();
}

it("lays both decks flat to the same place, and finds that nothing moved where nothing did", async () => {
  await page.getByRole("button", { name: "Compare two of these" }).click();
  await page.getByRole("heading", { name: "What moved" }).waitFor();
  const chosen = (name: string) =>
    page.locator(`#compare-${name}`).evaluate((s: HTMLSelectElement) => s.selectedOptions[0]!.textContent);
  expect(await chosen("before")).toContain("first.jpg");
  expect(await chosen("after")).toContain("second.png");
  /** Grey of the flat decks at a coarse grid, as they are shown. */
  const greys = (selector: string) =>
    page.locator(selector).evaluate(async (img: HTMLImageElement) => {
      await img.decode();
      const canvas = document.createElement("canvas");
      [canvas.width, canvas.height] = [60, 30];
      const pen = canvas.getContext("2d")!;
      pen.drawImage(img, 0, 0, 60, 30);
      const { data } = pen.getImageData(0, 0, 60, 30);
      return Array.from({ length: 1800 }, (_, i) => data[4 * i]! + data[4 * i + 1]! + data[4 * i + 2]!);
    });
  const [early, late] = [await greys(".swipe-early"), await greys(".swipe-late")];
  const mean = (values: number[]) => values.reduce((a, b) => a + b, 0) / values.length;
  const [m, n] = [mean(early), mean(late)];
  const sum = (f: (i: number) => number) => early.reduce((s, _, i) => s + f(i), 0);
  const alike =
    sum((i) => (early[i]! - m) * (late[i]! - n)) /
    Math.sqrt(sum((i) => (early[i]! - m) ** 2) * sum((i) => (late[i]! - n) ** 2));
  expect(alike).toBeGreaterThan(0.97); // pixel lies on pixel
  const moves = await page.locator("section[role=status] li").allTextContents();
  expect(moves.length).toBeGreaterThan(0);
  for (const move of moves) expect(move).toContain("no more than two photos differ by");
});

it("is swiped by finger and by arrow keys", async () => {
  const shown = () => page.locator(".swipe-late").evaluate((img: HTMLImageElement) => img.style.clipPath);
  const box = (await page.locator(".swipe-stage").boundingBox())!;
  await page.touchscreen.tap(box.x + box.width * 0.25, box.y + box.height / 2);
  expect(await shown()).toMatch(/^inset\(0(px)? 7[456]% /);
  const range = page.getByLabel("How much of the later photo is seen");
  expect((await range.boundingBox())!.height).toBeGreaterThanOrEqual(48);
  await range.focus();
  const before = await shown();
  await page.keyboard.press("ArrowRight");
  expect(await shown()).not.toBe(before);
});

it("says whether a hint that was followed helped, in the page's words", async () => {
  const hints = page.locator("#compare-followed option");
  expect(await hints.count()).toBeGreaterThan(1);
  await page.locator("#compare-followed").selectOption({ index: 1 });
  // nothing moved, so whatever was expected, it is too little to see or another cause is to be looked for
  await page
    .getByRole("heading", { name: /^(Too little to see yet|Look for another cause|It did what it should)/ })
    .waitFor();
  await page.locator("#compare-followed").selectOption({ index: 0 });
  await page.getByRole("heading", { name: "What moved" }).waitFor();
});

it.each([
  ["phone", PHONE],
  ["desktop", DESKTOP],
])("axe-core finds nothing wrong on a %s, and nothing runs off sideways", async (name, size) => {
  await page.setViewportSize(size);
  await page.evaluate(axe.source);
  const { violations } = await page.evaluate(async () =>
    (globalThis as unknown as { axe: typeof axe }).axe.run(document, { resultTypes: ["violations"] }),
  );
  expect(violations.map(({ id, nodes }) => `${id} ${nodes[0]!.html}`)).toEqual([]);
  expect(await sidewaysPx(page)).toBe(0);
  if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/compare-${name}.png`, fullPage: true });
  expect(complaints).toEqual([]);
});

it("says that photos of two decks cannot be compared, and goes back", async () => {
  await page.getByRole("button", { name: "Back to the photo" }).click();
  await read("other.jpg", "image/jpeg", readFileSync(`${SAMPLES}garnet-rill.jpg`), "garnet-rill");
  await page.getByRole("button", { name: "Compare two of these" }).click();
  await page.getByRole("alert").filter({ hasText: "These two cannot be compared." }).waitFor();
  await page.locator("#compare-after").selectOption({ index: 1 });
  await page.locator("#compare-before").selectOption({ index: 2 });
  await page.getByRole("heading", { name: "What moved" }).waitFor();
  expect(await page.getByRole("alert").isVisible()).toBe(false);
});
