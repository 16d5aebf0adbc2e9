import type { Page } from "playwright-core";
import sharp from "sharp";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { DESKTOP, openDevice, openPage, openSite, PHONE, type Site, sidewaysPx, visitAgain } from "./browser.ts";

/** A corner that was let go is drawn to the photo's edges. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 120_000 });

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

/** The first sample, with its corners as its maker set them. */
async function openSample(page: Page) {
  await page.waitForSelector(".samples button");
  await page.getByRole("button", { name: "Black sand" }).first().click();
  await page.waitForSelector(".handle");
}
const places = (page: Page) =>
  page
    .locator(".handle")
    .evaluateAll((all) =>
      (all as HTMLElement[]).map((h) => [Number.parseFloat(h.style.left), Number.parseFloat(h.style.top)] as const),
    );
/** Drag a corner by so many screen pixels. */
async function drag(page: Page, index: number, by: readonly [number, number]) {
  const handle = page.locator(".handle").nth(index);
  await handle.scrollIntoViewIfNeeded();
  const box = (await handle.boundingBox())!;
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + by[0], y + by[1], { steps: 3 });
  const held = (await places(page))[index]!;
  await page.waitForTimeout(300); // nothing moves by itself under the finger
  expect((await places(page))[index]).toEqual(held);
  await page.mouse.up();
  return held;
}
/** How far apart two places of the stage are, screen pixels. */
async function apart(page: Page, a: readonly [number, number], b: readonly [number, number]) {
  const box = (await page.locator(".corners-step .stage").boundingBox())!;
  return Math.hypot(((a[0] - b[0]) / 100) * box.width, ((a[1] - b[1]) / 100) * box.height);
}

it.each([
  ["phone", PHONE],
  ["desktop", DESKTOP],
])("comes nearer to the true corner, says so, and can be put back, on a %s", async (name, viewport) => {
  const device = await openDevice(site, { viewport, hasTouch: false });
  const { page, complaints } = await visitAgain(site, device);
  await openSample(page);
  const truth = await places(page);
  const back = page.getByRole("button", { name: "Put it back" });
  expect(await back.isVisible()).toBe(false);
  const put = await drag(page, 0, [3, -2]);
  await page.getByText("Corner 1: drawn to the edge.").waitFor();
  const drawn = (await places(page))[0]!;
  expect(await apart(page, drawn, truth[0]!)).toBeLessThan(0.7 * (await apart(page, put, truth[0]!)));
  expect((await places(page)).slice(1)).toEqual(truth.slice(1)); // the others stay
  if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/edge-${name}.png` });
  const size = (await back.boundingBox())!;
  expect(Math.min(size.width, size.height)).toBeGreaterThanOrEqual(48);
  expect(await sidewaysPx(page)).toBe(0);
  await back.press("Enter");
  expect((await places(page))[0]).toEqual(put);
  expect(await back.isVisible()).toBe(false);
  await page.waitForTimeout(500); // put back, it stays there
  expect((await places(page))[0]).toEqual(put);
  expect(complaints).toEqual([]);
  await device.close();
});

it("by keyboard: Enter draws the corner, arrow keys do not; where there is no edge it says so and nothing moves", async () => {
  const device = await openDevice(site, { viewport: DESKTOP });
  const { page, complaints } = await visitAgain(site, device);
  await openSample(page);
  const first = page.locator(".handle").first();
  expect(await first.getAttribute("aria-label")).toContain("Enter draws it to the edge.");
  await first.focus();
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("ArrowRight");
  const nudged = await places(page);
  await page.waitForTimeout(500);
  expect(await places(page)).toEqual(nudged);
  await page.keyboard.press("Enter");
  await page.getByText("Corner 1: drawn to the edge.").waitFor();
  expect((await places(page))[0]).not.toEqual(nudged[0]);
  await page.getByRole("button", { name: "Another photo" }).click();
  const grey = { width: 1200, height: 900, channels: 3, background: "#777" } as const;
  const buffer = await sharp({ create: grey }).png().toBuffer();
  await page.setInputFiles("#photo-file", { name: "grey.png", mimeType: "image/png", buffer });
  await page.waitForSelector(".handle");
  const far = await drag(page, 0, [20, 15]);
  await page.getByText("Corner 1: no clear edge near it").waitFor();
  expect((await places(page))[0]).toEqual(far);
  expect(complaints).toEqual([]);
  await device.close();
});

it("stays where it was put while the device has nothing to draw it with", async () => {
  const { page } = await openPage(site, DESKTOP);
  await openSample(page);
  const put = await drag(page, 0, [3, -2]);
  await page.waitForTimeout(800);
  expect((await places(page))[0]).toEqual(put);
  expect(await page.locator(".handle").first().getAttribute("aria-label")).not.toContain("Enter");
  await page.close();
});
