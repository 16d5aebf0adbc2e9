import { readFileSync } from "node:fs";
import axe from "axe-core";
import type { BrowserContext, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, expect, it, vi } from "vitest";
import { PROGRAM } from "../../server/made-by.ts";
import { now } from "../../server/storage/naming.ts";
import { writeRunSheet } from "../../vision/accounts/index.ts";
import { RunRecord } from "../../vision/contract/index.ts";
import { randomFrom } from "../../vision/scene/random.ts";
import { keepRows } from "../server/kept-readings.ts";
import { gradeAt, seenRun } from "../server/seen-runs.ts";
import { quietDeck, readingOf } from "../vision/accounts/deck-readings.ts";
import { gaussFrom } from "../vision/accounts/gauss.ts";
import { MONEY_DECK, NO_NOISE, PLANT, photoOf, sheetOf } from "../vision/accounts/money-plant.ts";
import { DESKTOP, openDevice, openSite, PHONE, SAMPLES, type Site, sidewaysPx, visit } from "./browser.ts";

/** Runs on the page: written down offline, sent later, balanced, drawn. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

const SHEET = new URL("../../sample-images/runs/river-tin.run.csv", import.meta.url);
/** Smallest side of what is pressed, px. */
const LEAST_PX = 48;
let site: Site;
let device: BrowserContext;
let page: Page;
let complaints: string[];
beforeAll(async () => {
  site = await openSite(process.env.PAGE);
});
afterAll(() => site.close());
beforeEach(async () => {
  device = await openDevice(site, { viewport: PHONE, serviceWorkers: "block" });
  ({ page, complaints } = await visit(site, device));
  await open();
});
afterEach(async () => {
  await site.comeBack();
  expect(complaints.filter((said) => !/ERR_CONNECTION|Failed to load resource|status of 422/.test(said))).toEqual([]);
  await device.close();
});

async function open() {
  await page.locator("#open-runs").click();
  await page.getByRole("heading", { level: 1, name: "Runs" }).waitFor();
}
async function start(name: string) {
  if (!(await page.locator("#run-name").isVisible())) await page.getByText("Start a new run").click();
  await page.locator("#run-name").fill(name);
  await page.locator("#run-material").fill("river sand");
  await page.locator("#start-run").click();
  await page.getByRole("heading", { name: new RegExp(`^${name}, since`) }).waitFor();
}
const unfold = (id: string) => page.locator(`#${id} > summary`).click();
const shot = async (name: string) => {
  if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/${name}.png`, fullPage: true });
};
const ask = async (path: string) => (await fetch(site.address + path)).json();
/** The server's id of the run of this name. */
async function there(name: string): Promise<string> {
  return vi.waitFor(
    async () => {
      const run = (await ask("api/runs?limit=50")).items.find((one: { name: string }) => one.name === name);
      expect(run).toBeTruthy();
      return run.id;
    },
    { timeout: 20_000 },
  );
}
const record = async (name: string) => RunRecord.parse(await ask(`api/runs/${await there(name)}/record`));

it("a setting, a change and a timed cut are written down without a network, and sent once it is back", async () => {
  await site.goDown();
  await start("Morning offline");
  await page.locator("#run-who").fill("Asha");
  await page.locator("#set-up-run-value").fill("14");
  await page.getByRole("button", { name: "It stands at this" }).click();
  await page.getByText("Written down: Wash water: 14 L/min").waitFor();
  await page.locator("#run-control").selectOption("splitter");
  await page.locator("#run-target").fill("upper");
  await page.locator("#set-up-run-value").fill("255");
  await page.locator("#set-up-run-doubt").fill("2");
  await page.getByRole("button", { name: "I changed it to this" }).press("Enter");
  await page.getByText("Splitter upper changed to 255.0 ± 2.0 mm").first().waitFor();

  await unfold("run-samples");
  await page.locator("#run-stream").selectOption("light");
  await page.locator("#run-watch").click();
  await new Promise((later) => setTimeout(later, 1200));
  await page.locator("#run-watch").click();
  expect(Number(await page.locator("#set-up-run-time").inputValue())).toBeGreaterThan(1);
  await page.locator("#run-weight").selectOption("g");
  await page.locator("#set-up-run-wet").fill("20520");
  await page.locator("#set-up-run-time").fill("60.6");
  await page.locator("#keep-sample").click();
  await page.getByText("Written down: light, timed cut 1").waitFor();
  await page.getByText("3 entries wait here to be sent.").waitFor();
  await unfold("run-log");
  await shot("runs-offline-phone");

  await page.close(); // it is kept, and goes by itself, without the runs being opened
  await site.comeBack();
  ({ page, complaints } = await visit(site, device));
  const name = "Morning offline";
  const sent = await vi.waitFor(
    async () => {
      const found = await record(name);
      expect(found.samples).toHaveLength(1);
      return found;
    },
    { timeout: 60_000, interval: 500 },
  );
  expect(sent).toMatchObject({
    material: "river sand",
    settings: [{ control: "wash water", figure: { value: 14, error: null }, who: "Asha" }],
    changes: [{ control: "splitter", target: "upper", figure: { value: 255, error: 2 } }],
    samples: [{ kind: "cut", stream: "light", sample: "1", figures: { wet: { value: 20.52 }, time: { value: 60.6 } } }],
  });
  expect(sent.changes[0]!.at).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d$/);
});

it("a sheet taken in is balanced, with errors, verdict and what does not fit; wrong rows are told by line", async () => {
  await start("Sheet run");
  await there("Sheet run");
  await page.getByRole("button", { name: "Ask the server again" }).click();
  await unfold("run-files");
  const sheet = readFileSync(SHEET);
  await page.setInputFiles("#run-sheet", { name: "run.csv", mimeType: "text/csv", buffer: sheet });
  await page.getByText(/Taken in: \d+ samples of 5 streams/).waitFor();
  await unfold("run-balance");
  await page.getByText("The middling mass does not fit; weigh it again.").waitFor();
  const row = page.locator("#run-balance tr").filter({ hasText: "middling, dry weight, kg" });
  expect((await row.textContent())!.replaceAll("\u00a0", " ")).toMatch(/kgdoes not fit *87\.00 ± 0\.50 *57\.5 ± 3\.6/);
  const parted = page.getByRole("table", { name: "How far it was concentrated" });
  expect(await parted.locator("thead").textContent()).toMatch(/kg fed for each kg.*feed's grade.*efficiency/);
  // of the tin product: kg fed for a kg, times the feed's grade, separation efficiency
  const dense = parted.getByRole("row").filter({ hasText: /^dense, Sn/ });
  const figure = String.raw`\d+\.\d+ ± \d+\.\d+`;
  expect((await dense.textContent())!.replaceAll("\u00a0", " ")).toMatch(
    new RegExp(`^dense, Sn${figure}${figure}${figure} %$`),
  );
  await shot("runs-balance-phone");
  await page.setViewportSize(DESKTOP);
  await shot("runs-balance-desktop");
  const broken = sheet.toString().replace("mass,dense,,wet,23.1,0.1,kg", "mass,dense,,wet,23.1,0.1,litres");
  await page.setInputFiles("#run-sheet", { name: "run.csv", mimeType: "text/csv", buffer: Buffer.from(broken) });
  await page.getByText(/Line \d+: "litres" is no unit of wet/).waitFor();
  await page.locator("#make-report").click();
  const pdf = page.getByRole("link", { name: "Save it as PDF" });
  await pdf.waitFor({ timeout: 60_000 });
  const [saved] = await Promise.all([page.waitForEvent("download"), pdf.click()]);
  expect(
    readFileSync((await saved.path())!)
      .subarray(0, 5)
      .toString(),
  ).toBe("%PDF-");
});

it("a sampling plan by Gy's formula is made on the phone, with labels to print; what cannot be is told in words", async () => {
  await start("Planned");
  await there("Planned");
  await unfold("run-plan");
  await page.locator("#make-plan").click();
  await page.getByText("Type at least one grade, the density, both sizes and the error.").waitFor();
  await page.locator("#plan-mineral").selectOption("galena");
  expect(await page.locator("#set-up-plan-density").inputValue()).toBe("7500");
  await page.locator("#plan-mineral").selectOption("cassiterite");
  const typed = { "grade-feed": 1.95, "grade-dense": 33, "grade-light": 0.22, density: 6900 };
  for (const [name, value] of Object.entries({ ...typed, top: 0.6, free: 0.3, error: 5, minutes: 210, spread: 6 }))
    await page.locator(`#set-up-plan-${name}`).fill(String(value));
  await page.locator("#make-plan").press("Enter");
  // 7.850 g by Gy (1979), doubled, in six cuts: worked out by hand in tests/server/sampling.test.ts
  const feed = page.locator("#run-plan tr").filter({ has: page.getByRole("rowheader", { name: "feed" }) });
  expect(await feed.getByRole("cell").allTextContents()).toEqual(["16 g", "6", "2.7 g"]);
  await page.getByText("Take one cut every 35 min.").waitFor();
  await page.getByText("with a cutter at least 10 mm open, at most 0.6 m/s.").waitFor();
  await shot("runs-plan-phone");
  await page.setViewportSize(DESKTOP);
  await shot("runs-plan-desktop");
  const [saved] = await Promise.all([page.waitForEvent("download"), page.locator("#plan-labels").click()]);
  const labels = readFileSync((await saved.path())!, "utf8");
  expect(labels.match(/<li>/g)).toHaveLength(18);
  expect(labels).toContain("cut 6 of 6, about 2.7 g");
  expect(labels).toContain("Planned");

  await page.locator("#set-up-plan-grade-dense").fill("80");
  expect(await page.locator("#plan-labels").count()).toBe(0); // the plan told was of other figures
  await page.locator("#make-plan").click();
  await page.getByText("no less than pure cassiterite (78.8 %)").waitFor();
  await page.locator(".language:not(#units)").selectOption("es");
  await page.locator('html[lang="es"] .runs h1').waitFor();
  await unfold("run-balance");
  await page.locator("#run-balance").getByText("No se pesó ni cronometró nada.").waitFor();
});

it("charts say in words what they show, with the alarm and its likely cause", async () => {
  await start("Charted");
  await keepReadings(await there("Charted"), 60);
  await page.getByRole("button", { name: "Ask the server again" }).click();
  await page
    .getByRole("status")
    .filter({ hasText: /^Step, since .*wash water or a steeper cross slope/ })
    .waitFor();
  await page.getByRole("button", { name: "How the bands move" }).click();
  await page
    .locator("#run-charts h3")
    .filter({ hasText: /^Step, since / })
    .waitFor();
  await page.locator("#run-charts").getByText("more wash water or a steeper cross slope").waitFor();
  const chart = page.getByRole("img", { name: /^dense, ends: 60 photos from .* 1 alarm \(triangle\)\.$/ });
  expect(await chart.count()).toBe(1);
  await page.getByText("Numbers of this chart").first().click();
  expect(await page.locator(".run-chart tbody tr").count()).toBeGreaterThanOrEqual(60);
  await shot("runs-charts-phone");
  await page.setViewportSize(DESKTOP);
  await shot("runs-charts-desktop");
});

it("a photo taken while a run is open is put into it", async () => {
  await start("With a photo");
  const id = await there("With a photo");
  await page.getByRole("button", { name: "Back to the photo" }).click();
  await page.setInputFiles("#photo-file", `${SAMPLES}garnet-rill.jpg`);
  await page.waitForSelector(".handle");
  await vi.waitFor(async () => expect((await ask(`api/photos?run=${id}`)).items).toHaveLength(1), { timeout: 60_000 });
});

it("a photo tells what to expect, with its interval and each run foretold from the others", async () => {
  const at = site.address.slice(0, -1);
  for (const [i, denseTo] of [110, 150, 190, 225].entries()) await seenRun(at, site.parts, `Assayed ${i}`, denseTo);
  await seenRun(at, site.parts, "Not assayed", 170, false);
  await page.getByRole("button", { name: "Ask the server again" }).click();
  await page.getByText("Other runs").click();
  await page.getByRole("button", { name: /^Show Not assayed,/ }).click();
  await page.getByRole("heading", { name: /^Not assayed, since/ }).waitFor();
  await unfold("run-balance");
  const row = page.locator("#run-balance tr").filter({ hasText: /^A/ }).first();
  await row.waitFor();
  const told = (await row.textContent())!.replaceAll("\u00a0", " ");
  const [, value, from, to] = /^A([\d.]+) ± [\d.]+ % \(([\d.]+) to ([\d.]+) %, 19 times of 20\)/
    .exec(told)!
    .map(Number);
  expect(Math.abs(value! - gradeAt(170))).toBeLessThan(1);
  expect(from! < gradeAt(170) && gradeAt(170) < to!).toBe(true);
  await page.locator("summary", { hasText: "Each run foretold from the others" }).click();
  await page.getByRole("rowheader", { name: "A, Assayed 3" }).waitFor();
  await shot("runs-expected-phone");
});

it("a screened middling is written down by its openings, with mass, grade and grains", async () => {
  await start("Screened");
  await unfold("run-samples");
  await page.locator("#run-kind").selectOption("fraction");
  await page.locator("#run-stream").selectOption("middling");
  await page.locator("#set-up-run-mass").fill("0.42");
  await page.locator("#keep-sample").click();
  await page.getByText("Type both openings, the finer first.").waitFor();
  await page.locator("#set-up-run-opening-from").fill("0.075");
  await page.locator("#set-up-run-opening-to").fill("0.15");
  await page.locator("#set-up-run-free-dense").fill("31");
  await page.locator("#set-up-run-locked").fill("4");
  await page.locator("#run-metal").fill("Sn");
  await page.locator("#set-up-run-grade").fill("4.9");
  await shot("run-fraction-phone");
  await page.locator("#keep-sample").press("Enter");
  await page.getByText("Written down: middling, size fraction 0.075-0.15").waitFor();
  await vi.waitFor(async () => expect((await record("Screened")).samples).toHaveLength(1), { timeout: 20_000 });
  expect((await record("Screened")).samples[0]).toMatchObject({
    kind: "fraction",
    sizeMm: [0.075, 0.15],
    figures: { mass: { value: 0.42 }, "free dense": { value: 31 }, locked: { value: 4 }, Sn: { value: 4.9 } },
  });
});

it("withdraws what was written wrongly; the server keeps that it was there", async () => {
  await start("Corrected");
  await page.locator("#set-up-run-value").fill("140");
  await page.getByRole("button", { name: "It stands at this" }).click();
  const id = await there("Corrected");
  await vi.waitFor(async () => expect((await record("Corrected")).settings).toHaveLength(1), { timeout: 20_000 });
  await page.getByRole("button", { name: "Ask the server again" }).click();
  await unfold("run-log");
  await page.getByRole("button", { name: "Withdraw: Wash water: 140 L/min" }).click();
  await vi.waitFor(async () => expect((await record("Corrected")).settings).toHaveLength(0), { timeout: 20_000 });
  expect((await ask(`api/runs/${id}/entries`)).items).toHaveLength(2);
});

it("everyone can use it: axe-core, sizes, no sideways scrolling, in each language, by keyboard", async () => {
  await start("Everyone");
  const run = await there("Everyone");
  const body = readFileSync(SHEET);
  const headers = { "Content-Type": "text/csv", "If-Match": '"0"' };
  await fetch(`${site.address}api/runs/${run}/sheet.csv`, { method: "PUT", body, headers });
  await keepReadings(run, 30);
  await page.getByRole("button", { name: "Ask the server again" }).click();
  for (const code of ["en", "es", "pt", "fr", "sw", "id"]) {
    await page.locator(".language:not(#units)").selectOption(code);
    await page.locator(`html[lang="${code}"] .runs h1`).waitFor();
    for (const id of [
      "run-plan",
      "plan-more",
      "run-samples",
      "run-notes",
      "run-log",
      "run-balance",
      "run-money",
      "run-prices",
      "run-charts",
      "run-files",
    ])
      await page.locator(`#${id}`).evaluate((fold) => fold.setAttribute("open", "")); // it may be open still
    await page.locator("#run-balance tbody tr").first().waitFor();
    await page.locator(".run-chart svg").first().waitFor();
    for (const kind of ["cut", "assay", "count", "fraction"]) {
      await page.locator("#run-kind").selectOption(kind);
      expect(await sidewaysPx(page), `${code} ${kind}`).toBeLessThanOrEqual(0);
    }
    const small = await page.locator(".runs :is(button, summary, select, a, textarea, input)").evaluateAll(
      (all, least) =>
        all
          .map((one) => ({ words: one.id || one.textContent, box: one.getBoundingClientRect() }))
          .filter(({ box }) => box.width > 0 && (box.height < least || box.width < least))
          .map(({ words, box }) => `${words} ${box.width}×${box.height}`),
      LEAST_PX,
    );
    expect(small, code).toEqual([]);
    await page.evaluate(axe.source);
    const { violations } = await page.evaluate(() => (window as never as { axe: typeof axe }).axe.run());
    expect(violations.map(({ id, nodes }) => [code, id, nodes.map(({ html }) => html.slice(0, 120))])).toEqual([]);
    await shot(`runs-${code}-phone`);
  }
  await page.locator(".language:not(#units)").selectOption("en");
  await page.locator("#run-who").focus();
  const reached = new Set<string>();
  for (let i = 0; i < 12; i++) {
    await page.keyboard.press("Tab");
    reached.add(await page.evaluate(() => document.activeElement?.id || document.activeElement?.textContent || ""));
  }
  for (const wanted of ["run-control", "set-up-run-value", "set-up-run-doubt", "It stands at this"]) {
    expect(
      [...reached].some((one) => one.includes(wanted)),
      wanted,
    ).toBe(true);
  }
});

/** Readings as the server makes them, without their photos' bytes; from photo 40 on the bands lie 70 mm lower. */
async function keepReadings(run: string, count: number): Promise<void> {
  const { db, local } = site.parts.data;
  const quiet = quietDeck(gaussFrom(randomFrom(44)));
  const name = (i: number) => `${run.replaceAll("-", "")}${i.toString(16).padStart(32, "0")}`;
  for (let i = 0; i < count; i++) {
    const own = { site_id: local.site, run_id: run };
    const [photo, reading] = [name(i), name(1000 + i)];
    const about = { name: `${i}.jpg`, format: "jpeg", bytes: 1, width_px: 4000, height_px: 3000 };
    const taken_at = new Date(Date.UTC(2031, 4, 4, 6, 10 * i)).toISOString().slice(0, 19);
    await db
      .insertInto("photos")
      .values({ ...own, ...about, sha256: photo, preview_sha256: photo, taken_at, sent_at: now() })
      .execute();
    const none = {
      deck_id: null,
      deck_version: null,
      remade_from: null,
      overlay_sha256: null,
      classes_sha256: null,
      confidence_sha256: null,
    };
    await db
      .insertInto("readings")
      .values({
        ...own,
        ...none,
        id: reading,
        photo,
        program: PROGRAM,
        usable: 1,
        made_at: now(),
        asked_json: JSON.stringify({ photo, corners: null }),
        reading_json: JSON.stringify(readingOf(quiet(i, (n) => (n >= 40 ? 70 : 0)))),
      })
      .execute();
    await db.insertInto("current_readings").values({ site_id: local.site, photo, reading_id: reading }).execute();
  }
}

it("prices typed at the table tell where the splitters bring most, with what that rests on", async () => {
  const run = (await (await post("api/runs", { name: "Priced" })).json()).id as string;
  const body = writeRunSheet(sheetOf(PLANT, [280, 640], NO_NOISE, []));
  const headers = { "Content-Type": "text/csv", "If-Match": '"0"' };
  await fetch(`${site.address}api/runs/${run}/sheet.csv`, { method: "PUT", body, headers });
  const set = { control: "splitter", target: "upper", figure: { value: 280, error: null }, who: "", note: "" };
  await post(`api/runs/${run}/entries`, { entry: { kind: "setting", setting: { ...set, at: "2031-05-04T08:00" } } });
  for (let i = 0; i < 6; i++) {
    const photo = { id: `feed${i}`.padStart(64, "0"), name: `${i}.jpg`, takenAt: `2031-05-04T09:${i}0:00`, run };
    await keepRows(site.parts, photo, {
      id: `fade${i}`.padStart(64, "0"),
      file: MONEY_DECK,
      reading: photoOf(PLANT, NO_NOISE),
    });
  }
  await page.getByRole("button", { name: "Ask the server again" }).click();
  await page.getByText("Other runs").click();
  await page.getByRole("button", { name: /^Show Priced/ }).click();
  await unfold("run-money");
  await page.getByText("Type the price of the metal below").waitFor();
  await unfold("run-prices");
  for (const [name, value] of [
    ["metal", "20000"],
    ["payable", "95"],
    ["deduction", "1"],
    ["treatment", "400"],
    ["rerun", "6"],
    ["regrind", "25"],
    ["hours-a-day", "20"],
  ]) {
    await page.locator(`#set-up-price-${name}`).fill(value!);
  }
  await page.locator("#run-penalty-assay").fill("As");
  await page.locator("#set-up-price-penalty").fill("10");
  await page.locator("#keep-prices").press("Enter");
  await page.getByText("8 figures kept.").waitFor();
  await page.getByText(/^Splitter upper: from 280 to \d+ mm/).waitFor();
  await page.getByText(/a day more/).waitFor();
  await page.getByText("It rests on 6 photos, 3 weighed products, 4 assays and 200 counted grains").waitFor();
  await shot("run-money-phone");
  expect(await sidewaysPx(page)).toBe(0);
  const small = await page
    .locator("#run-money button, #run-money input, #run-money summary")
    .evaluateAll(
      (all, least) =>
        all.filter((one) => one.getBoundingClientRect().height < least).map((one) => one.id || one.textContent),
      LEAST_PX,
    );
  expect(small).toEqual([]);
  await page.locator("#keep-prices").press("Enter");
  await page.getByText("Nothing is new.").waitFor();
  await page.setViewportSize(DESKTOP);
  await shot("run-money-desktop");
  expect(await sidewaysPx(page)).toBe(0);
});

const post = (path: string, body: unknown) =>
  fetch(site.address + path, {
    method: "POST",
    body: JSON.stringify(body),
    headers: { "Content-Type": "application/json" },
  });
