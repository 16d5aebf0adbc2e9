import { readFileSync } from "node:fs";
import type { BrowserContext, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, expect, it, vi } from "vitest";
import { SETUP_STEPS } from "../../vision/advice/setup-guide.ts";
import { SetupRecord } from "../../vision/contract/index.ts";
import { flowFromFloat } from "../../vision/index.ts";
import english from "../../web/words/en.json" with { type: "json" };
import { DESKTOP, openDevice, openSite, PHONE, type Site, visit, visitAgain } from "./browser.ts";

/** The set-up at the table. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 120_000 });

let site: Site;
let device: BrowserContext;
let page: Page;
let complaints: string[];
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());
beforeEach(async () => {
  device = await openDevice(site, { viewport: PHONE, serviceWorkers: "block" });
  ({ page, complaints } = await visit(site, device));
  await open();
});
afterEach(async () => {
  await site.comeBack();
  expect(complaints).toEqual([]);
  await device.close();
});

async function open() {
  await page.locator("#open-set-up").click();
  await page.getByRole("heading", { name: "Set up the table" }).waitFor();
}
const unfold = (name: string) => page.locator("summary").filter({ hasText: name }).click();
/** What stands beside a name in the sums. */
const sum = (name: string) => page.locator(`.sum dt:text-is("${name}") + dd`).first();
const plain = (text: string | null) => text!.replaceAll("\u00a0", " ");
const type = (label: string | RegExp, value: string) => page.getByLabel(label).first().fill(value);
const shot = (name: string) =>
  process.env.SHOTS ? page.screenshot({ path: `${process.env.SHOTS}/${name}.png`, fullPage: true }) : null;

it("says the guide's own words, cautions first", async () => {
  for (const { id, title, how, caution } of SETUP_STEPS) {
    const words = english as Record<string, string>;
    expect(words[`guide.${id}.title`]).toBe(title);
    expect(words[`guide.${id}.caution`]).toBe(caution);
    expect(how.map((_, i) => words[`guide.${id}.how${i + 1}`])).toEqual(how);
  }
  const first = page.locator(".set-up > section").first();
  expect(await first.textContent()).toContain("Stop and lock out the drive");
  await shot("setup-phone");
  await page.setViewportSize(DESKTOP);
  await shot("setup-desktop");
});

it("records who did a step, when, and what was read; keeps it on the device, and says what is out of its range", async () => {
  const done = page.getByRole("button", { name: "Done: keep it" });
  await done.click();
  await page.getByText("Read this first: Frame walked.").waitFor();
  await type(/^Frame walked, mm/, "2");
  await done.click();
  await page.getByText("Say who does it.").waitFor();
  await type("Who does it", "Asha");
  await done.press("Enter");
  expect(await page.locator(".guide-step h3").textContent()).toBe("Level along the riffles, nuts snug");
  expect(await page.locator(".guide-step h3").evaluate((h) => h === document.activeElement)).toBe(true);
  await type(/^End slope, mm.m .right:/, "0.4");
  await done.click();
  await page.getByText("Hold the frame down: reads 2.0 mm. Frame walked (right: none).").waitFor();
  expect(await page.locator(".set-up").textContent()).not.toContain("reads 0.4"); // that one is right

  await page.reload();
  await open();
  expect(await page.locator(".guide-step h3").textContent()).toBe("Set the slope across, nuts snug");
  expect(await page.getByLabel("Who does it").inputValue()).toBe("Asha");
  await page.locator(".guide-list button").first().click();
  expect(await page.getByLabel(/^Frame walked/).inputValue()).toBe(""); // a reading is taken anew
  expect(await page.locator(".guide-list button").first().textContent()).toMatch(/✓ Asha, /);
  const [saved] = await Promise.all([page.waitForEvent("download"), page.getByText("Save the record").click()]);
  const record = SetupRecord.parse(JSON.parse(readFileSync((await saved.path())!, "utf8")));
  expect(record.entries.map(({ step, who, values }) => ({ step, who, values }))).toEqual([
    { step: "hold-down", who: "Asha", values: { "frame walked": [2] } },
    { step: "level-along", who: "Asha", values: { "end slope": [0.4] } },
  ]);
  expect(Math.abs(Date.parse(record.entries[0]!.at) - Date.now())).toBeLessThan(120_000);
});

it("slope from bar and shim, in US units beside where wanted, kept on the device; shims for the legs", async () => {
  await unfold("Slopes and shims");
  // common practice: half an inch over two feet, 20.83 mm/m, is a quarter of an inch in a foot
  await type("Bar, from its resting edge", "609.6");
  await type(/^Shim, mm/, "12.7");
  expect(plain(await sum("Slope").textContent())).toBe("20.8 ± 0.4 mm/m");
  await page.getByLabel("Units").selectOption("us"); // the screen is made anew; what was typed stands there again
  expect(plain(await sum("Slope").textContent())).toBe("20.8 ± 0.4 mm/m (0.250 ± 0.005 in/ft)");
  await page.getByRole("button", { name: "This is the cross slope" }).first().click();
  expect(await page.getByLabel("Bar, from its resting edge to the shim, in").inputValue()).toBe("24");
  expect(await page.getByLabel("Cross slope now, in/ft").inputValue()).toBe("0.25");
  await type("End slope now", "0");
  await type("Cross slope wanted", "0.31");
  await type("Between the legs along", "48");
  await type("Between the legs across", "28");
  // 0.06 in/ft, 5 mm/m, steeper over 28 in: the high legs up by 0.14 in
  expect(plain(await sum("drive end, wash-water side").textContent())).toBe("3.6 mm (0.14 in)");
  expect(plain(await sum("product end, wash-water side").textContent())).toBe("3.6 mm (0.14 in)");
  expect(plain(await sum("product end, tailings side").textContent())).toBe("0.0 mm (0.00 in)");
  expect(plain(await page.getByText("How sure:").textContent())).toContain(
    "across ± 0.3 mm (0.01 in), along not known",
  );
  await type("Cross slope now", "0.25"); // typed over: nobody knows its error
  expect(await page.getByText("How sure:").textContent()).toContain("across not known");
  await shot("setup-slopes");
  await page.reload();
  await open();
  expect(await page.getByLabel("Units").inputValue()).toBe("us");
  await unfold("Slopes and shims");
  expect(await page.getByLabel("Bar, from its resting edge").inputValue()).toBe("24");
  await type(/^Shim, in/, "9");
  await page.getByText("A number from -7.874 to 7.874, please.").first().waitFor();
  await page.getByLabel("Units").selectOption("metric");
  expect(await page.getByLabel("Bar, from its resting edge to the shim, mm").inputValue()).toBe("609.6");
  await page.getByLabel("Language").selectOption("es");
  await page.getByLabel(/^Regla, del borde/).fill("100");
  await page.getByLabel(/^Calce, mm/).fill("150");
  await page.getByText("Un calce de 150 mm es más largo que la regla de 100 mm.").waitFor();
});

it("slope from the phone's own sensor, turned end for end; without one it asks for degrees", async () => {
  await unfold("Slopes and shims");
  await page.getByRole("button", { name: "Measure as laid" }).click();
  await page.getByText("This device tells no tilt here.").waitFor();
  const sensor = await device.newCDPSession(page);
  const lie = (beta: number) =>
    sensor.send("DeviceOrientation.setDeviceOrientationOverride", { alpha: 0, beta, gamma: 0 });
  await lie(-1.5); // its top end is lower
  await page.getByRole("button", { name: "Measure as laid" }).click();
  await page.getByText("Let go of the phone").waitFor();
  await page
    .getByText(/\d+ readings? taken\./)
    .first()
    .waitFor();
  expect(await page.getByLabel("As laid, degrees").inputValue()).toBe("1.5");
  expect(plain(await sum("The phone's own fault").textContent())).toBe("not known until it is turned");
  await lie(1.1);
  await page.getByRole("button", { name: "Measure turned" }).click();
  await page.waitForFunction(() => document.querySelector<HTMLInputElement>("#set-up-phone-turned")!.value === "-1.1");
  // half the difference is the slope, half the sum the phone's own fault
  expect(plain(await sum("as an angle").textContent())).toBe("1.30 ± 0.02 °");
  expect(plain(await sum("Slope").textContent())).toMatch(/^22\.7 ± 0\.\d mm\/m$/);
  expect(plain(await sum("The phone's own fault").textContent())).toBe("0.20 ± 0.02 °");
  await type("Turned end for end, degrees", "20"); // not the same phone on the same place
  await page.getByText("The two ways agree only if the phone itself is wrong by").waitFor();
});

it("times a float and says what water it speaks of, with its error", async () => {
  await page.clock.install();
  await unfold("Time a float");
  const watch = page.locator("details", { has: page.getByRole("button", { name: /^(Start|Stop)$/ }) });
  const press = watch.locator(".main-button");
  for (const ms of [5000, 5600, 5300]) {
    await press.press("Enter");
    await page.getByText("The watch runs…").waitFor();
    await page.clock.runFor(ms);
    await press.press("Enter");
  }
  const shown = await watch.locator(".float-times li").allTextContents();
  const seconds = shown.map((words) => Number.parseFloat(words));
  expect(seconds.map(Math.round)).toEqual([5, 6, 5]);
  expect(plain(shown[0]!)).toMatch(/ ± 0\.2 s/);
  await type("Way of the float", "1219");
  await type("Length of deck that the water", "2438");
  await type("Cross slope, mm/m (empty", "20.83");
  await type("Water temperature", "20");
  const told = plain(await sum("Water that such a float speaks of, on a smooth deck").textContent());
  const value = (seconds: readonly number[]) =>
    flowFromFloat({
      seconds,
      distanceMm: 1219,
      wettedLengthMm: 2438,
      slopeMmPerM: { value: 20.83, error: 1 },
      temperatureC: { value: 20, error: 1 },
    });
  const [, flow, error] = /^([\d.]+) ± ([\d.]+) L\/min$/.exec(told)!;
  const expected = value(seconds);
  expect(Math.abs(Number(flow) / expected.value - 1)).toBeLessThan(0.03); // times are shown to 0.1 s
  expect(Math.abs(Number(error) / expected.error - 1)).toBeLessThan(0.15);
  await watch
    .getByRole("button", { name: /^Take / })
    .nth(1)
    .click();
  expect(await watch.locator(".float-times li").count()).toBe(2);
  await shot("setup-float");
});

it("says how much water a table takes, from a timed can too", async () => {
  await page
    .locator("summary")
    .filter({ hasText: /^Water$/ })
    .click();
  await type("Water in the can", "10");
  await type("Time 1, seconds", "20");
  expect(plain(await sum("Water from this pipe").textContent())).toBe("30.0 L/min"); // one can tells no error
  await type("Time 2, seconds", "21");
  await type("Time 3, seconds", "19");
  expect(plain(await sum("Water from this pipe").textContent())).toMatch(/^30\.1 ± 0\.9 L\/min$/);
  await type("Dry feed", "500");
  await type("Wash water, L/min", "20");
  await type("Hours a day", "24");
  // 500 kg/h at 25 % solids bring 1500 kg/h of water, 25 L/min
  expect(plain(await sum("Water with the feed").textContent())).toBe("25.0 L/min");
  expect(plain(await sum("All water that leaves the deck").textContent())).toBe("45.0 L/min");
  expect(plain(await sum("Water for each weight of solids").textContent())).toBe("5.4");
  expect(plain(await sum("Water a day").textContent())).toBe("64.8 m³");
  await page.getByLabel("Units").selectOption("us");
  expect(plain(await sum("All water that leaves the deck").textContent())).toBe("45.0 L/min (11.89 US gal/min)");
  await page.getByRole("button", { name: "This is the wash water" }).click();
  expect(await page.getByLabel("Wash water, US gal/min").inputValue()).toBe("7.938");
  await page.getByLabel("Units").selectOption("metric");
  expect(await page.getByLabel("Wash water, L/min").inputValue()).toBe("30.05");
  await page.getByLabel("Units").selectOption("us");
  await shot("setup-water");
});

it("works without a network, in another language too", async () => {
  const own = await openDevice(site);
  const { page: offline } = await visitAgain(site, own);
  await site.goDown();
  await offline.locator("#open-set-up").click();
  await offline.getByRole("heading", { name: "Set up the table" }).waitFor();
  await offline.getByLabel("Language").selectOption("es");
  await offline.getByRole("heading", { name: "Poner a punto la mesa" }).waitFor();
  await offline.getByRole("button", { name: "Volver a la foto" }).click();
  await offline.waitForSelector("#open-set-up");
  await own.close();
});
