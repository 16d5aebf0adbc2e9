import { readFileSync } from "node:fs";
import axe from "axe-core";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { DeckFile } from "../../vision/contract/index.ts";
import { checkDraft, pointsOf, withPointMore, withPoints, withSplitters } from "../../web/deck-draft.ts";
import { openPage, openSite, SAMPLES, type Site, sidewaysPx } from "./browser.ts";

/** The deck file, drawn and typed: what is wrong is said at once, and what is right is used and kept. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 120_000 });

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

const RECTANGLE = { schemaVersion: 1 as const, lengthMm: 1800, widthMm: 900 };

it("length and width follow a drawn outline", () => {
  const drawn = withPoints(RECTANGLE, "outline", [
    [0, 0],
    [1750, 40.04],
    [1800, 860],
    [0, 900],
  ]);
  expect(drawn).toMatchObject({ lengthMm: 1800, widthMm: 900 });
  expect(drawn.outline?.[1]).toEqual([1750, 40]);
  expect(checkDraft(drawn).faults).toEqual([]);
});

it("a point more lies in the middle of the longest stretch; an outlet path is open", () => {
  const square = pointsOf(RECTANGLE, "outline");
  expect(withPointMore(square, true)[1]).toEqual([900, 0]);
  expect(withPointMore(pointsOf(RECTANGLE, "outletPath"), false)).toEqual([
    [1800, 0],
    [1800, 900],
    [900, 900],
    [0, 900],
  ]);
});

it.each([
  [
    "outline that crosses itself",
    withPoints(RECTANGLE, "outline", [
      [0, 0],
      [1800, 900],
      [1800, 0],
      [0, 900],
    ]),
    /cross/,
  ],
  [
    "outline the wrong way round",
    withPoints(RECTANGLE, "outline", [
      [0, 0],
      [0, 900],
      [1800, 900],
      [1800, 0],
    ]),
    /wrong way round/,
  ],
  [
    "splitter beyond the outlet",
    withSplitters(RECTANGLE, [{ name: "low", between: ["middling", "light"], atMm: 2701 }]),
    /2700\smm long/,
  ],
  ["size that is none", { ...RECTANGLE, widthMm: Number.NaN }, /widthMm/],
])("says what is wrong with an %s", (_, draft, words) => {
  expect(checkDraft(draft).faults.join(" ")).toMatch(words);
});

it("allows a splitter at the very end of the outlet", () => {
  expect(
    checkDraft(withSplitters(RECTANGLE, [{ name: "low", between: ["middling", "light"], atMm: 2700 }])).faults,
  ).toEqual([]);
});

it("by keyboard alone: a point moved, a splitter added and put wrong, then right; used, kept, and offered again", async () => {
  const { page, complaints } = await openPage(site, { width: 390, height: 844 });
  await page.setInputFiles("#photo-file", `${SAMPLES}black-sand.jpg`);
  await page.waitForSelector(".handle");
  await page.locator("#open-editor").press("Enter");
  await page.locator(".deck-editor h1").waitFor();
  await page.locator("#editor-name").fill("South deck");
  const corner = page.locator(".deck-handle").nth(2);
  await corner.press("ArrowLeft");
  await corner.press("Shift+ArrowUp");
  expect(await corner.getAttribute("aria-label")).toBe(
    "Outline, point 3: 1790 mm from the drive end, 800 mm down the slope. Arrow keys move it.",
  );
  expect(await page.locator("#editor-width").inputValue()).toBe("900");
  await page.locator("summary", { hasText: "Splitters" }).press("Enter");
  await page.getByRole("button", { name: "One more splitter" }).press("Enter");
  await page.locator("#editor-splitter-0-at").fill("9000");
  await page.locator(".editor-check .fault li").waitFor();
  expect(await page.locator(".editor-check").textContent()).toContain("the outlet path is only");
  expect(await page.getByRole("button", { name: "Use it for this deck" }).isDisabled()).toBe(true);
  await page.locator("#editor-splitter-0-at").fill("640");
  await page.getByText("Nothing is wrong with it.").waitFor();
  await page.locator("summary", { hasText: "Printed marks" }).press("Enter");
  await page.getByRole("button", { name: "One more mark" }).press("Enter");

  await page.evaluate(axe.source);
  const { violations } = await page.evaluate(async () =>
    (globalThis as unknown as { axe: typeof axe }).axe.run(document, { resultTypes: ["violations"] }),
  );
  expect(
    violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 120)).join(" | ")}`),
  ).toEqual([]);
  expect(await sidewaysPx(page)).toBe(0);
  const small = await page.evaluate(() =>
    [...document.querySelectorAll(".deck-editor :is(button, input, select, summary)")]
      .map((e) => ({ html: e.outerHTML.slice(0, 80), box: e.getBoundingClientRect() }))
      .filter(({ box }) => box.width > 0 && Math.min(box.width, box.height) < 48)
      .map(({ html }) => html),
  );
  expect(small).toEqual([]);
  if (process.env.SHOTS) {
    await page.screenshot({ path: `${process.env.SHOTS}/editor-phone.png`, fullPage: true });
    await page.setViewportSize({ width: 1280, height: 800 });
    await page.screenshot({ path: `${process.env.SHOTS}/editor-desktop.png` });
  }

  const [saved] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("button", { name: "Save as a file" }).press("Enter"),
  ]);
  const file = DeckFile.parse(JSON.parse(readFileSync((await saved.path())!, "utf8")));
  expect(saved.suggestedFilename()).toBe("South-deck.deck.json");
  expect(file.outline?.[2]).toEqual([1790, 800]);
  expect(file.splitters).toMatchObject([{ atMm: 640, between: ["middling", "light"] }]);
  expect(file.marks).toMatchObject({ dictionary: "ARUCO_MIP_36h12", items: [{ id: 0, sizeMm: 60 }] });

  await page.getByRole("button", { name: "Use it for this deck" }).press("Enter");
  await page.getByText("Deck file: South deck. 1800 mm × 900 mm").waitFor();
  expect(await page.locator(".handle").count()).toBe(4);
  await page.getByRole("button", { name: "Take the deck file away" }).click();
  await page.getByRole("button", { name: "Use South deck" }).click();
  await page.getByText("Deck file: South deck.").waitFor();
  expect(complaints).toEqual([]);
  await page.close();
});

it("a point is dragged by hand, to whole centimetres", async () => {
  const { page } = await openPage(site, { width: 1280, height: 800 });
  await page.setInputFiles("#photo-file", `${SAMPLES}black-sand.jpg`);
  await page.waitForSelector(".handle");
  await page.setInputFiles("#deck-file", `${SAMPLES}black-sand.deck.json`);
  await page.locator(".loaded").waitFor();
  await page.locator("#open-editor").click();
  const corner = page.locator(".deck-handle").nth(1);
  const before = await corner.getAttribute("aria-label");
  const box = (await corner.boundingBox())!;
  await page.mouse.move(box.x + 24, box.y + 24);
  await page.mouse.down();
  await page.mouse.move(box.x - 16, box.y + 44, { steps: 4 });
  await page.mouse.up();
  const after = (await corner.getAttribute("aria-label"))!;
  expect(after).not.toBe(before);
  expect(after).toMatch(/point 2: \d+0 mm from the drive end, [1-9]\d*0 mm down/);
  await page.close();
});
