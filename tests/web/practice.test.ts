import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { DESKTOP, openPage, openSite, type Site } from "./browser.ts";
import { isSound } from "./sound.ts";

/** The practice deck through the page: controls move, the bands answer, and the outcome is told. */

vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

const open = async (viewport: { width: number; height: number }) => {
  const { page, complaints } = await openPage(site, viewport);
  await page.locator("#open-practice").click();
  await page.locator(".practice-picture").waitFor();
  return { page, complaints };
};
/** Share of the picture's lower half in the light's pale colour: it grows as the bands come down. */
const paleBelow = (page: Page) =>
  page.evaluate(() => {
    const canvas = document.querySelector<HTMLCanvasElement>(".practice-picture")!;
    const { width, height } = canvas;
    const { data } = canvas.getContext("2d")!.getImageData(0, height / 2, width, height / 2);
    let pale = 0;
    for (let i = 0; i < data.length; i += 4) if (data[i + 2]! > 175 && data[i]! > 130) pale++;
    return (4 * pale) / data.length;
  });

it("more wash water brings the bands down, in the picture and in words", async () => {
  const { page, complaints } = await open(DESKTOP);
  await isSound(page, "practice-desk");
  const before = await paleBelow(page);
  const carried = () => page.locator(".practice-told tbody td").first().textContent();
  const was = Number.parseFloat((await carried())!);
  await page.locator("#practice-washWaterLitresPerMinute").press("End");
  await page.waitForTimeout(3000);
  expect(await paleBelow(page)).toBeGreaterThan(before + 0.05);
  expect(Number.parseFloat((await carried())!)).toBeLessThan(was - 20);
  await page.getByText(/of the dense runs into the middling launder/).waitFor();
  const first = await page.locator(".practice-picture").getAttribute("data-frames");
  await page.waitForTimeout(1000);
  expect(Number(await page.locator(".practice-picture").getAttribute("data-frames"))).toBeGreaterThan(Number(first));
  expect(complaints).toEqual([]);
});

it("is reached from the lessons too", async () => {
  const { page, complaints } = await openPage(site, DESKTOP);
  await page.locator("#open-lesson").click();
  await page.locator("#lesson-practice").click();
  await page.locator(".practice-picture").waitFor();
  expect(complaints).toEqual([]);
});

it("a task is done by keyboard alone, its outcome is told, and it stays done", async () => {
  const { page, complaints } = await open({ width: 390, height: 844 });
  await page.locator("#practice-bringDense").press("Enter");
  await page.getByText("You have the wash-water valve alone.").waitFor();
  expect(await page.locator("#practice-crossSlopeMmPerM").isDisabled()).toBe(true);
  await page.locator("#practice-washWaterLitresPerMinute").press("ArrowLeft");
  await page.getByText("After 1 change not yet").waitFor();
  await isSound(page, "practice-phone");
  for (let i = 0; i < 40 && !(await page.locator(".flat-told.is-done").count()); i++) {
    await page.locator("#practice-washWaterLitresPerMinute").press("ArrowLeft");
  }
  await page.getByText(/^Done in \d+ changes: \d+\s% of the dense is in its launder/).waitFor();
  await page.reload();
  await page.locator("#open-practice").click();
  await page.getByText("Bring the dense band into its launder (done)").waitFor();
  expect(complaints).toEqual([]);
});

it("splitters move by keys and buttons, and people who want no motion get a picture that stands", async () => {
  const { page, complaints } = await openPage(site, DESKTOP);
  await page.emulateMedia({ reducedMotion: "reduce" });
  await page.locator("#open-practice").click();
  await page.locator("#practice-placeSplitters").click();
  const place = () => page.locator(".flat-splitters output").first().textContent();
  expect(await place()).toBe("at 120\u00a0mm");
  await page.locator(".flat-handle").first().press("ArrowDown");
  await page.getByRole("button", { name: "upper: 10 mm down the outlet" }).click();
  expect(await place()).toBe("at 140\u00a0mm");
  await page.getByText("After 2 changes not yet").waitFor();
  await page.waitForTimeout(300);
  const frames = await page.locator(".practice-picture").getAttribute("data-frames");
  await page.waitForTimeout(600);
  expect(await page.locator(".practice-picture").getAttribute("data-frames")).toBe(frames);
  expect(complaints).toEqual([]);
});
