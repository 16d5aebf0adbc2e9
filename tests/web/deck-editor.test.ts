import { readFileSync } from "node:fs";
import axe from "axe-core";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { DeckFile } from "../../vision/contract/index.ts";
import {
  bothOf,
  checkDraft,
  linesBeyond,
  linesOf,
  pointsOf,
  withOneMore,
  withoutPoints,
  withPointMore,
  withPoints,
  withSetPoints,
  withSplitters,
  withSupports,
} from "../../web/deck-draft.ts";
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

it("wash pipes and smooth parts come and go one by one; the feed box lies where it usually does until it is drawn", () => {
  const two = withOneMore(withOneMore(RECTANGLE, "washPipes"), "washPipes");
  expect(linesOf(two)).toEqual(["outline", "outletPath", "riffled", "feedBox", "washPipes.0", "washPipes.1"]);
  expect(pointsOf(two, "washPipes.1")).toEqual([
    [450, 0],
    [1800, 0],
  ]);
  const moved = withPoints(two, "washPipes.0", [
    [500, 20],
    [1700, 20],
  ]);
  expect(withoutPoints(moved, "washPipes.1").washPipes).toEqual([
    [
      [500, 20],
      [1700, 20],
    ],
  ]);
  expect(withoutPoints(withoutPoints(two, "washPipes.1"), "washPipes.0")).not.toHaveProperty("washPipes");
  expect(pointsOf(RECTANGLE, "feedBox")).toEqual([
    [36, 0],
    [450, 0],
  ]);
  expect(RECTANGLE).not.toHaveProperty("feedBox");
  expect(checkDraft(withOneMore(moved, "smoothZones")).faults).toEqual([]);
});

it("a point beyond the deck is told, and no fault", () => {
  const far = withPoints(withOneMore(RECTANGLE, "washPipes"), "washPipes.0", [
    [450, 0],
    [2300, 0],
  ]);
  expect(linesBeyond(far)).toEqual(["washPipes.0"]);
  expect(checkDraft(far).faults).toEqual([]);
});

it("set points and legs are told, in halves never, and not told again", () => {
  const set = withSetPoints(withSetPoints(RECTANGLE, { crossSlopeMmPerM: 24 }), {
    waterLitresPerMinute: bothOf(14, 18)!,
  });
  expect(checkDraft(set).file?.setPoints).toEqual({ crossSlopeMmPerM: 24, waterLitresPerMinute: [14, 18] });
  expect(checkDraft(withSetPoints(set, { waterLitresPerMinute: bothOf(14, null)! })).faults.join()).toContain(
    "setPoints.waterLitresPerMinute[1]",
  );
  const none = { crossSlopeMmPerM: undefined, waterLitresPerMinute: undefined };
  expect(withSetPoints(set, none as never)).toEqual(RECTANGLE);
  expect(checkDraft(withSupports(RECTANGLE, 1300, null)).faults.join()).toContain("supports.acrossMm");
  expect(withSupports(withSupports(RECTANGLE, 1300, 700), null, null)).toEqual(RECTANGLE);
});

it("a wash pipe drawn, controls, set points and legs typed: said at once what is wrong, and all of it in the file", async () => {
  const { page, complaints } = await openPage(site, { width: 390, height: 844 });
  await page.setInputFiles("#photo-file", `${SAMPLES}black-sand.jpg`);
  await page.waitForSelector(".handle");
  await page.locator("#open-editor").click();
  await page.getByRole("button", { name: "One more wash pipe" }).click();
  expect(await page.locator("#editor-line").inputValue()).toBe("washPipes.0");
  expect(await page.locator(".deck-handle").count()).toBe(2);
  await page.locator(".deck-handle").nth(1).press("Shift+ArrowLeft");
  expect(await page.locator(".deck-handle").nth(1).getAttribute("aria-label")).toMatch(
    /^Wash pipe 1, point 2: 1700 mm/,
  );
  await page.locator("summary", { hasText: "Controls, set points" }).click();
  await page.getByLabel("End slope", { exact: true }).check();
  await page.locator("#editor-control-washWater").uncheck();
  await page.locator("#editor-cross").fill("24");
  await page.locator("#editor-water-0").fill("14");
  await page.locator(".editor-check .fault li").waitFor();
  expect(await page.locator(".editor-check .fault").textContent()).toContain(
    "waterLitresPerMinute[1]” must be a number",
  );
  await page.locator("#editor-water-1").fill("18");
  await page.getByText("Nothing is wrong with it.").waitFor();
  await page.locator("#editor-legs-0").fill("1300");
  await page.locator("#editor-legs-1").fill("700");
  await page.locator("#editor-stroke").fill("16");
  await page.evaluate(axe.source);
  const { violations } = await page.evaluate(async () =>
    (globalThis as unknown as { axe: typeof axe }).axe.run(document, { resultTypes: ["violations"] }),
  );
  expect(violations.map(({ id, nodes }) => `${id}: ${nodes[0]?.html.slice(0, 120)}`)).toEqual([]);
  expect(await sidewaysPx(page)).toBe(0);
  if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/editor-gauges.png`, fullPage: true });
  const [saved] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("button", { name: "Save as a file" }).click(),
  ]);
  const file = DeckFile.parse(JSON.parse(readFileSync((await saved.path())!, "utf8")));
  expect(file.washPipes).toEqual([
    [
      [450, 0],
      [1700, 0],
    ],
  ]);
  expect(file.controls).toMatchObject({ endSlope: true, washWater: false, feedRate: true });
  expect(file).toMatchObject({
    setPoints: { crossSlopeMmPerM: 24, waterLitresPerMinute: [14, 18] },
    supports: { alongMm: 1300, acrossMm: 700 },
    strokeMm: 16,
  });
  expect(complaints).toEqual([]);
  await page.close();
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
    [
      ...document.querySelectorAll(
        ".deck-editor :is(button, input:not([type=checkbox]), .check label, select, summary)",
      ),
    ]
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
