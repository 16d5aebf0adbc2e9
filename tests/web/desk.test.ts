import { readFileSync } from "node:fs";
import type { Page } from "playwright-core";
import sharp from "sharp";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import type { MarkUpList, Reading } from "../../vision/contract/index.ts";
import { invert, project } from "../../vision/homography.ts";
import { DESKTOP, openPage, openSite, type Site } from "./browser.ts";
import { isSound } from "./sound.ts";

/** The review desk through the page: edges, brush, dry patches, splitters, by pointer and by keys; two reviewers at once. */

vi.setConfig({ testTimeout: 180_000, hookTimeout: 180_000 });

let site: Site;
let reading: string;
beforeAll(async () => {
  site = await openSite();
  const { page } = await openPage(site, DESKTOP);
  await page.locator(".samples button").first().click();
  await page.waitForSelector(".handle");
  await page.locator(".corners-step .main-button").first().click();
  await page.locator(".next h1").waitFor({ timeout: 120_000 });
  const { items } = (await (await fetch(`${site.address}api/readings`)).json()) as { items: { id: string }[] };
  reading = items[0]!.id;
  await page.close();
});
afterAll(() => site.close());

const readingThere = async () => (await (await fetch(`${site.address}api/readings/${reading}`)).json()) as Reading;
const markUps = async () =>
  ((await (await fetch(`${site.address}api/readings/${reading}/mark-ups`)).json()) as typeof MarkUpList._output).items;

/** Asked about, it stands in the queue. */
const askForLook = () =>
  fetch(`${site.address}api/readings/${reading}/asks`, {
    method: "POST",
    body: JSON.stringify({ why: "notSure" }),
    headers: { "content-type": "application/json" },
  });
async function openDesk(viewport = DESKTOP) {
  await askForLook();
  const { page, complaints } = await openPage(site, viewport);
  page.setDefaultTimeout(15_000);
  await page.locator("#open-review").click();
  await page.locator(".review-queue button").first().click();
  await page.getByText("Correct this reading").click();
  await page.locator(".desk .flat-handle").first().waitFor();
  await page.waitForFunction(() => document.querySelector<HTMLCanvasElement>(".desk .flat-photo")!.width > 400);
  return { page, complaints };
}
const said = (page: Page) => page.locator(".desk-panel .flat-name output").allTextContents();
/** A place on the deck as drawn, shares of its length and width → px on the screen. */
async function placeOn(page: Page, along: number, down: number) {
  const box = (await page.locator(".desk .desk-areas").boundingBox())!;
  return [box.x + along * box.width, box.y + down * box.height] as const;
}
const classAt = (page: Page, along: number, down: number) =>
  page.evaluate(
    ([x, y]) => {
      const canvas = document.querySelector<HTMLCanvasElement>(".desk-areas")!;
      const at = [Math.floor(x! * canvas.width), Math.floor(y! * canvas.height)] as const;
      return [...canvas.getContext("2d")!.getImageData(at[0], at[1], 1, 1).data];
    },
    [along, down],
  );
const DENSE = [58, 31, 214, 255];

it("lays the photo flat: what lies on the deck's places is what the photo shows there", async () => {
  const { page } = await openDesk();
  const { view, photo, grid } = await readingThere();
  const size = { x: grid!.columns * grid!.mmPerCell, y: grid!.rows * grid!.mmPerCell };
  const preview = await (await fetch(`${site.address}api/photos/${photo.sha256}/preview.jpg`)).arrayBuffer();
  const { data, info } = await sharp(Buffer.from(preview)).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  const toPhoto = invert(view!.photoToDeck);
  let off = 0;
  let tried = 0;
  for (const along of [0.15, 0.35, 0.5, 0.65, 0.85]) {
    for (const down of [0.2, 0.4, 0.6, 0.8]) {
      const shown = await page.evaluate(
        ([x, y]) => {
          const canvas = document.querySelector<HTMLCanvasElement>(".desk .flat-photo")!;
          const box = canvas.getContext("2d")!.getImageData(x! * canvas.width - 3, y! * canvas.height - 3, 7, 7).data;
          return [0, 1, 2].map((k) => box.filter((_, i) => i % 4 === k).reduce((sum, value) => sum + value, 0) / 49);
        },
        [along, down],
      );
      const [x, y] = project(toPhoto, [along * size.x, down * size.y]);
      const [px, py] = [x, y].map((value) => Math.round((value * info.width) / photo.widthPx!)) as [number, number];
      const around = Array.from({ length: 49 }, (_, i) => (py + Math.floor(i / 7) - 3) * info.width + px + (i % 7) - 3);
      const there = [0, 1, 2].map((k) => around.reduce((sum, at) => sum + data[3 * at + k]!, 0) / 49);
      off += Math.max(...there.map((value, k) => Math.abs(value - shown[k]!)));
      tried++;
    }
  }
  expect(off / tried).toBeLessThan(10); // of 255
  await page.close();
});

it("edges by drag and key, brush and dry patch by pointer and key, each step undone and done again; the result is a mark-up", async () => {
  const { page, complaints } = await openDesk();
  await isSound(page, "desk-edges");
  const [before] = await said(page);
  const handle = page.locator(".desk .flat-handle").first();
  await handle.press("Shift+ArrowDown");
  const [nudged] = await said(page);
  expect(Number.parseFloat(nudged!) - Number.parseFloat(before!)).toBe(10);
  const box = (await handle.boundingBox())!;
  await page.mouse.move(box.x + 24, box.y + 24);
  await page.mouse.down();
  await page.mouse.move(box.x + 24, box.y + 60, { steps: 6 });
  await page.mouse.up();
  const [dragged] = await said(page);
  expect(Number.parseFloat(dragged!)).toBeGreaterThan(Number.parseFloat(nudged!) + 20);

  // the brush, by pointer
  await page.locator(".desk-scroll").press("p");
  const [x, y] = await placeOn(page, 0.3, 0.75);
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + 90, y, { steps: 4 });
  await page.mouse.up();
  expect(await classAt(page, 0.3, 0.75)).toEqual(DENSE);
  await isSound(page, "desk-brush");
  // and by keys alone: middling, a larger brush, two steps to the left
  await page.locator(".desk-scroll").press("2");
  await page.locator(".desk-scroll").press("]");
  for (let i = 0; i < 20; i++) await page.locator(".desk-scroll").press("Shift+ArrowLeft");
  await page.locator(".desk-scroll").press(" ");
  expect((await classAt(page, 0.005, 0.75)).slice(0, 3)).toEqual([255, 149, 0]);

  // a dry patch round a place, by pointer; another by keys
  await page.locator(".desk-scroll").press("d");
  const [px, py] = await placeOn(page, 0.55, 0.3);
  await page.mouse.move(px, py);
  await page.mouse.down();
  for (const [dx, dy] of [
    [50, 0],
    [50, 30],
    [0, 30],
  ] as const)
    await page.mouse.move(px + dx, py + dy, { steps: 4 });
  await page.mouse.up();
  for (const key of [" ", "ArrowLeft", "ArrowLeft", " ", "ArrowUp", "ArrowUp", " ", "Enter"]) {
    await page.locator(".desk-scroll").press(key);
  }
  expect(await page.locator(".desk-patch").count()).toBe(2);
  await isSound(page, "desk-dry");

  // all the way back, and all the way again
  await page.locator(".desk-scroll").press("e");
  for (let i = 0; i < 12; i++) await page.locator(".desk-scroll").press("Control+z");
  expect((await said(page))[0]).toBe(before);
  expect(await page.locator(".desk-patch").count()).toBe(0);
  expect(await classAt(page, 0.3, 0.75)).not.toEqual(DENSE);
  for (let i = 0; i < 12; i++) await page.locator(".desk-scroll").press("Control+y");
  expect((await said(page))[0]).toBe(dragged);
  expect(await page.locator(".desk-patch").count()).toBe(2);
  expect(await classAt(page, 0.3, 0.75)).toEqual(DENSE);

  await page.locator("#desk-note").fill("The dense band is wider.");
  await page.locator("#desk-save").press("Enter");
  await page.getByText("Kept beside the reading").waitFor();
  const [kept] = await markUps();
  expect(kept!.markUp.edges[0]!.atMm).toBe(Number.parseFloat(dragged!));
  expect(kept!.markUp.patches).toHaveLength(2);
  expect(kept!.markUp.note).toBe("The dense band is wider.");
  const png = await (await fetch(`${site.address}api/mark-ups/${kept!.id}/classes.png`)).arrayBuffer();
  const { data, info } = await sharp(Buffer.from(png), { raw: undefined })
    .removeAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true });
  const colour = (along: number, down: number) => {
    const at = info.channels * (Math.floor(down * info.height) * info.width + Math.floor(along * info.width));
    return [...data.subarray(at, at + 3)];
  };
  expect(colour(0.3, 0.75)).toEqual(DENSE.slice(0, 3)); // sharp reads the palette's colours, by itself
  await page.getByText(/Against the reading: areas overlap \d+\s%/).waitFor();
  await page
    .getByText(/edges? \d+ mm apart \(median\)/)
    .first()
    .waitFor();
  await isSound(page, "desk-kept");
  // out in open formats, and in again: what comes back is the same
  const [coco] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("link", { name: "Areas as COCO" }).first().click(),
  ]);
  await page.locator("#desk-file").setInputFiles({
    name: "areas.coco.json",
    mimeType: "application/json",
    buffer: readFileSync((await coco.path())!),
  });
  await page.getByText(/areas overlap 100\s%/).waitFor(); // against the one that it was made from
  await page
    .locator("#desk-file")
    .setInputFiles({ name: "x.png", mimeType: "image/png", buffer: Buffer.from("no PNG") });
  await page.getByText(/The picture of areas must be a PNG of 915 × 455 pixels/).waitFor();
  expect(complaints).toEqual([]);
  await page.close();
});

it("the photo comes in full when it is wanted, and the deck is enlarged to the grain", async () => {
  const { page } = await openDesk();
  const width = () => page.evaluate(() => document.querySelector<HTMLCanvasElement>(".desk .flat-photo")!.width);
  const small = await width();
  await page.getByRole("button", { name: "Zoom to the grain" }).click();
  await page.waitForFunction(
    (least) => document.querySelector<HTMLCanvasElement>(".desk .flat-photo")!.width >= least,
    small,
  );
  const before = (await page.locator(".desk-areas").boundingBox())!.width;
  for (let i = 0; i < 4; i++) await page.locator(".desk-scroll").press("+");
  expect((await page.locator(".desk-areas").boundingBox())!.width).toBeGreaterThan(3.5 * before);
  await page.close();
});

it("two reviewers at once: both corrections and both answers are kept, and each is told of the other's", async () => {
  const [one, two] = [await openDesk(), await openDesk()];
  const had = (await markUps()).length;
  await one.page.locator(".desk .flat-handle").first().press("ArrowDown");
  await two.page.locator(".desk .flat-handle").first().press("PageDown");
  await one.page.locator("#desk-save").click();
  await one.page.getByText("Kept beside the reading").waitFor();
  await two.page.locator("#desk-save").click();
  await two.page.getByText(/Meanwhile somebody else kept one too; both are there/).waitFor();
  const both = (await markUps()).slice(0, (await markUps()).length - had);
  expect(both).toHaveLength(2);
  expect(Math.abs(both[0]!.markUp.edges[0]!.atMm - both[1]!.markUp.edges[0]!.atMm)).toBe(9);
  await two.page
    .getByText(/^Against .*edges? 9 mm apart|^Against .*apart \(median\)/)
    .first()
    .waitFor();
  // the first goes on from the second's
  const there = both[0]!.markUp.edges[0]!.atMm;
  await one.page.reload();
  await one.page.locator("#open-review").click();
  await one.page.locator(".review-queue button").first().click();
  await one.page
    .getByRole("button", { name: /^Go on from/ })
    .first()
    .click();
  await one.page.locator(".desk .flat-handle").first().waitFor();
  await one.page.getByText(`${there} mm`).first().waitFor();

  await one.page.locator("#review-note").fill("I would wait.");
  await two.page.locator("#review-note").fill("I would not.");
  const send = { name: "Send the answer" };
  await one.page.getByRole("button", send).click();
  await one.page.getByText("The answer is sent.").waitFor();
  await two.page.getByRole("button", send).click();
  await two.page.getByText(/Somebody answered meanwhile.*I would wait\./).waitFor();
  await two.page.getByRole("button", send).click();
  await two.page.getByText("The answer is sent.").waitFor();
  const { items } = (await (await fetch(`${site.address}api/readings/${reading}/answers`)).json()) as {
    items: { note: string }[];
  };
  expect(items.map(({ note }) => note)).toEqual(["I would not.", "I would wait."]);
  await one.page.close();
  await two.page.close();
});

it("work that was not sent comes back after the page was closed; a splitter that is set goes into the answer", async () => {
  const { page, complaints } = await openDesk({ width: 390, height: 844 });
  await page.locator(".desk .flat-handle").first().press("PageDown");
  const [moved] = await said(page);
  await page.waitForTimeout(700);
  await isSound(page, "desk-phone");
  await page.reload();
  await page.locator("#open-review").click();
  await page.locator(".review-queue button").first().click();
  await page.getByText("Correct this reading").click();
  await page.getByText("Your unfinished correction is back.").waitFor();
  expect((await said(page))[0]).toBe(moved);
  await page.getByRole("button", { name: "Splitters" }).click();
  await page.locator(".desk .flat-handle").first().press("Shift+ArrowDown");
  expect(await page.locator("#review-control option").first().textContent()).toMatch(/^Splitter .* to \d+ mm$/);
  expect(await page.locator("input[name=review-verdict][value=changed]").isChecked()).toBe(true);
  await page.getByRole("button", { name: "Send the answer" }).click();
  await page.getByText("The answer is sent.").waitFor();
  const { items } = (await (await fetch(`${site.address}api/readings/${reading}/answers`)).json()) as {
    items: { change: { control: string; target: string; toMm: number; direction: string } }[];
  };
  expect(items[0]!.change).toMatchObject({ control: "splitter", direction: "raise" });
  expect(items[0]!.change.toMm).toBeGreaterThan(0);
  expect(complaints).toEqual([]);
  await page.close();
});
