import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { DESKTOP, openDevice, openSite, type Site, sidewaysPx, visitAgain } from "./browser.ts";

/** A tap, or a corner that was moved, shows at once in the bands laid on the photo. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 120_000 });

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

const PHONE = { width: 390, height: 844 };
/** How soon the bands must follow, ms; a machine that others use gets three times as much. */
const MOST_MS = 300;

async function readSample(page: Page) {
  await page.waitForSelector(".samples button");
  await page.getByRole("button", { name: "Black sand" }).first().click();
  await page.waitForSelector(".handle");
  await page.locator(".corners-step .main-button").click();
  await page.locator(".next h1").waitFor();
}
/** Note each time the layer of this stage is drawn anew, ms since the page began. */
const watch = (page: Page, stage: string) =>
  page.evaluate((selector) => {
    const times: number[] = [];
    Object.assign(globalThis, { drawnAt: times });
    new MutationObserver(() => requestAnimationFrame(() => times.push(performance.now()))).observe(
      document.querySelector(`${selector} .quick-look`)!,
      { attributes: true, attributeFilter: ["width"] },
    );
  }, stage);
const drawnAt = (page: Page) => page.evaluate(() => (globalThis as unknown as { drawnAt: number[] }).drawnAt);
/** What the layer shows: how many of its pixels have each colour. */
const colours = (page: Page, stage: string) =>
  page.evaluate((selector) => {
    const layer = document.querySelector<HTMLCanvasElement>(`${selector} .quick-look`)!;
    const { data } = layer.getContext("2d")!.getImageData(0, 0, layer.width, layer.height);
    const count: Record<string, number> = {};
    for (let i = 0; i < data.length; i += 4) {
      if (!data[i + 3]) continue;
      const name = data[i]! > 240 ? "middling" : data[i]! > 200 ? "dry" : data[i]! > 150 ? "light" : "other";
      count[name] = (count[name] ?? 0) + 1;
    }
    return count;
  }, stage);
const middle = (times: readonly number[]) => [...times].sort((a, b) => a - b)[times.length >> 1]!;

it.each([
  ["phone", PHONE],
  ["desktop", DESKTOP],
])("bands follow a tap and can be hidden, on a %s", async (name, viewport) => {
  const device = await openDevice(site, { viewport });
  const { page, complaints } = await visitAgain(site, device);
  await readSample(page);
  await page.getByRole("button", { name: "Bands wrong? Tap what you see" }).click();
  const layer = page.locator(".tap-stage .quick-look");
  await layer.waitFor(); // there before the first tap: what was read
  const before = await colours(page, ".tap-stage");
  expect(before.light).toBeGreaterThan(1000);
  await watch(page, ".tap-stage");
  const took: number[] = [];
  const stage = page.locator(".tap-stage");
  await stage.scrollIntoViewIfNeeded();
  const box = (await stage.boundingBox())!;
  for (const [i, [u, v]] of [
    [0.45, 0.45],
    [0.6, 0.55],
    [0.4, 0.5],
    [0.5, 0.6],
    [0.55, 0.5],
  ].entries()) {
    const start = await page.evaluate(() => performance.now());
    await page.mouse.click(box.x + u! * box.width, box.y + v! * box.height);
    await expect.poll(async () => (await drawnAt(page)).length, { timeout: 20_000 }).toBe(i + 1);
    took.push((await drawnAt(page)).at(-1)! - start);
  }
  console.info(`tap to bands, ${name}: ${took.map((ms) => Math.round(ms)).join(", ")} ms`);
  expect(middle(took)).toBeLessThan(3 * MOST_MS);
  if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/quick-${name}.png` });
  const after = await colours(page, ".tap-stage");
  expect(after).not.toEqual(before);
  await page.getByLabel("Show what the program makes of it").uncheck();
  expect(await layer.isVisible()).toBe(false);
  expect(await sidewaysPx(page)).toBe(0);
  expect(complaints).toEqual([]);
  await device.close();
});

it("bands follow a corner that was let go, and are away while it is held", async () => {
  const device = await openDevice(site, { viewport: DESKTOP, hasTouch: false });
  const { page } = await visitAgain(site, device);
  await readSample(page);
  await page.getByRole("button", { name: "Change corners and read again" }).click();
  const layer = page.locator(".corner-stage .quick-look");
  await layer.waitFor();
  await watch(page, ".corner-stage");
  const took: number[] = [];
  for (let i = 0; i < 3; i++) {
    const handle = page.locator(".handle").nth(2);
    const box = (await handle.boundingBox())!;
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    await page.mouse.move(x, y);
    await page.mouse.down();
    await page.mouse.move(x - 15, y - 12, { steps: 3 });
    expect(await layer.isVisible()).toBe(false);
    const start = await page.evaluate(() => performance.now());
    await page.mouse.up();
    await expect.poll(async () => (await drawnAt(page)).length, { timeout: 20_000 }).toBe(i + 1);
    took.push((await drawnAt(page)).at(-1)! - start);
    await layer.waitFor();
  }
  console.info(`corner let go to bands: ${took.map((ms) => Math.round(ms)).join(", ")} ms`);
  if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/quick-corner.png` });
  await device.close();
});
