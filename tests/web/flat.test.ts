import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { DESKTOP, openDevice, openPage, openSite, SAMPLES, type Site, sidewaysPx, visitAgain } from "./browser.ts";

/** A reading on the flat deck: splitters are tried there, by finger, button and key; nothing else moves. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 120_000 });

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

const PHONE = { width: 390, height: 844 };
/** How soon launders' contents must follow a splitter, ms; a machine that others use gets as much again. */
const MOST_MS = 300;

/** The flat deck of a sample, read with its own corners. */
async function openFlat(page: Page, name = "Black sand") {
  await page.waitForSelector(".samples button");
  await page.getByRole("button", { name }).first().click();
  await page.waitForSelector(".handle");
  await page.locator(".corners-step .main-button").click();
  await page.locator(".next h1").waitFor();
  await page.getByRole("button", { name: "On the flat deck" }).click();
  await page.locator(".flat-launders tbody tr").first().waitFor();
}
const table = (page: Page) => page.locator(".flat-launders tbody tr").allInnerTexts();
const shot = async (page: Page, name: string) => {
  if (!process.env.SHOTS) return;
  await page.locator(".picture-views").scrollIntoViewIfNeeded();
  await page.screenshot({ path: `${process.env.SHOTS}/flat-${name}.png`, fullPage: true });
};
/** How long from a key on a splitter to other words in the table, ms. */
const answerMs = (page: Page, key: string) =>
  page.evaluate(
    (pressed) =>
      new Promise<number>((resolve) => {
        const rows = document.querySelector(".flat-launders tbody")!;
        const start = performance.now();
        new MutationObserver((_, seen) => {
          seen.disconnect();
          resolve(performance.now() - start);
        }).observe(rows, { childList: true, subtree: true, characterData: true });
        document
          .querySelector(".flat-handle")!
          .dispatchEvent(new KeyboardEvent("keydown", { key: pressed, bubbles: true }));
      }),
    key,
  );

it.each([
  ["phone", PHONE],
  ["desktop", DESKTOP],
])("a splitter dragged says what launders would carry, and goes back, on a %s", async (name, viewport) => {
  const device = await openDevice(site, { viewport, hasTouch: viewport === PHONE });
  const { page, complaints } = await visitAgain(site, device);
  await openFlat(page);
  await page.locator(".flat-photo:not([hidden])").waitFor(); // the photo itself, laid flat below the bands
  await page.getByText("As the splitters stand now.").waitFor();
  const now = await table(page);
  expect(now.join(" ")).toMatch(/\d+\s% ±\s\d+/); // a share with its error
  expect(await page.locator(".flat-marks path").count()).toBeGreaterThan(3);
  await shot(page, `${name}-now`);

  const first = page.locator(".flat-handle").first();
  await first.hover(); // waits until what comes later has found its place
  const box = (await first.boundingBox())!;
  expect(Math.min(box.width, box.height)).toBeGreaterThanOrEqual(48);
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x, y + 25, { steps: 4 });
  await page.mouse.up();
  await page.getByText("Only a try, not what the table does now").waitFor();
  await expect.poll(() => table(page)).not.toEqual(now);
  await page
    .getByText(/^now\s\d/)
    .first()
    .waitFor(); // beside what it is now
  await shot(page, `${name}-try`);

  await page.getByRole("button", { name: "Back to where they stand" }).click();
  await page.getByText("As the splitters stand now.").waitFor();
  await expect.poll(() => table(page)).toEqual(now);
  expect(await sidewaysPx(page)).toBe(0);
  expect(complaints).toEqual([]);
  await device.close();
});

it("by keys and by buttons, within the deck file's limits and its neighbour; the answer comes at once", async () => {
  const device = await openDevice(site, { viewport: DESKTOP });
  const { page } = await visitAgain(site, device);
  await openFlat(page);
  const [upper, lower] = [page.locator(".flat-handle").first(), page.locator(".flat-handle").nth(1)];
  const at = async (handle: typeof upper) => Number(await handle.getAttribute("aria-valuenow"));
  const [stood, next] = [await at(upper), await at(lower)];
  await upper.press("ArrowDown");
  expect(await at(upper)).toBe(stood + 5);
  await page
    .getByRole("button", { name: /5 mm up the outlet/ })
    .first()
    .click();
  expect(await at(upper)).toBe(stood);
  await upper.press("End");
  const most = Number(await upper.getAttribute("aria-valuemax"));
  expect(await at(upper)).toBe(Math.min(most, next)); // never past the other
  await upper.press("Home");
  expect(await at(upper)).toBe(Number(await upper.getAttribute("aria-valuemin")));
  const took = [];
  for (const key of ["PageDown", "PageDown", "ArrowDown", "PageUp", "PageDown"]) took.push(await answerMs(page, key));
  console.info(`launders after a key: ${took.map((ms) => Math.round(ms)).join(", ")} ms`);
  expect([...took].sort((a, b) => a - b)[2]).toBeLessThan(2 * MOST_MS);
  await device.close();
});

it("what comes late moves nothing that is read meanwhile", async () => {
  const { page } = await openPage(site, DESKTOP);
  let letCome = () => {};
  const mayCome = new Promise<void>((resolve) => {
    letCome = resolve;
  });
  await page.route(/api\/readings\?photo=/, async (route) => {
    await mayCome;
    await route.continue();
  });
  await openFlat(page);
  const keep = page.getByRole("heading", { name: "Keep it" });
  const handle = page.locator(".flat-handle").first();
  const places = async () => [await keep.boundingBox(), await handle.boundingBox()].map((box) => Math.round(box!.y));
  await keep.scrollIntoViewIfNeeded();
  await handle.scrollIntoViewIfNeeded();
  const before = await places();
  expect(before[1]).toBeLessThan(DESKTOP.height); // taller than the window, it can be scrolled through all the same
  letCome();
  await page.getByRole("heading", { name: "Answers and decks that look alike" }).waitFor();
  expect(await places()).toEqual(before);
  await page.close();
});

it("works without a network, on a photo of one's own", async () => {
  const device = await openDevice(site, { viewport: PHONE });
  const { page, complaints } = await visitAgain(site, device);
  await site.goDown();
  try {
    await page.setInputFiles("#photo-file", `${SAMPLES}garnet-rill.jpg`);
    await page.waitForSelector(".handle");
    await page.setInputFiles("#deck-file", `${SAMPLES}garnet-rill.deck.json`);
    await page.locator(".loaded").waitFor();
    await page.locator(".corners-step .main-button").click();
    await page.locator(".next h1").waitFor();
    await page.getByRole("button", { name: "On the flat deck" }).click();
    await page.locator(".flat-photo:not([hidden])").waitFor();
    await page.locator(".flat-handle").first().press("ArrowDown");
    await page.getByText("Only a try, not what the table does now").waitFor();
  } finally {
    await site.comeBack();
  }
  expect(complaints).toEqual([]);
  await device.close();
});

it("shows a left-hand deck with its drive end at the right, and one that the server read", async () => {
  const { page, complaints } = await openPage(site, DESKTOP);
  await openFlat(page, "garnet");
  expect(await page.locator(".flat-photo:not([hidden])").count()).toBe(0); // this device has nothing to lay it flat with
  const stage = (await page.locator(".flat-stage").boundingBox())!;
  const drive = (await page.locator(".flat-words", { hasText: "drive end" }).boundingBox())!;
  expect(drive.x - stage.x).toBeGreaterThan(stage.width / 2);
  await shot(page, "left-hand");
  expect(complaints).toEqual([]);
  await page.close();
});

it("says what to do where the deck file names no splitters", async () => {
  const { page } = await openPage(site, PHONE);
  await page.setInputFiles("#photo-file", `${SAMPLES}garnet-rill.jpg`);
  await page.waitForSelector(".handle");
  await page.locator(".corners-step .main-button").click();
  await page.locator(".next h1").waitFor();
  await page.getByRole("button", { name: "On the flat deck" }).click();
  await page.getByText("The deck file names no splitters").waitFor();
  await shot(page, "no-splitters");
  await page.close();
});
