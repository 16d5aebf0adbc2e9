import { readFileSync } from "node:fs";
import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import { CornersFile, NewReading, Reading } from "../../vision/contract/index.ts";
import { DESKTOP, openDevice, openPage, openSite, PHONE, SAMPLES, type Site, sidewaysPx, visit } from "./browser.ts";

/** The whole job, as a person does it, over the real server and a sample photo. */

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

const PHOTO = `${SAMPLES}black-sand.jpg`;
const CORNERS = CornersFile.parse(JSON.parse(readFileSync(`${SAMPLES}black-sand.corners.json`, "utf8"))).corners;

it.each([
  ["phone", PHONE],
  ["desktop", DESKTOP],
])("goes from a photo to one next step on a %s", async (_name, size) => {
  const { page, complaints } = await openPage(site, size);
  await page.setInputFiles("#photo-file", PHOTO);
  await page.waitForSelector(".handle");
  await page.setInputFiles("#deck-file", `${SAMPLES}black-sand.deck.json`);
  await page.waitForSelector("text=Deck file:");

  const photo = (await page.locator(".stage-photo").boundingBox())!;
  const natural = await page.locator(".stage-photo").evaluate(async (img: HTMLImageElement) => {
    await img.decode();
    return img.naturalWidth;
  });
  // sample photos are smaller than a preview, so preview pixels are photo pixels
  const scale = photo.width / natural;
  for (const [index, [x, y]] of CORNERS.entries()) {
    const handle = (await page.locator(".handle").nth(index).boundingBox())!;
    expect(Math.min(handle.width, handle.height)).toBeGreaterThanOrEqual(48);
    await page.mouse.move(handle.x + handle.width / 2, handle.y + handle.height / 2);
    await page.mouse.down();
    await page.mouse.move(photo.x + x * scale, photo.y + y * scale, { steps: 3 });
    expect(await page.locator(".glass").isVisible()).toBe(true);
    await page.mouse.up();
  }
  expect(await sidewaysPx(page)).toBe(0);
  await page.getByRole("button", { name: "Read the photo" }).click();

  const step = page.locator(".next h1");
  await step.waitFor();
  expect((await step.textContent())!.length).toBeGreaterThan(10);
  expect(await step.evaluate((h) => h === document.activeElement)).toBe(true);
  await page.locator(".picture-button .overlay").evaluate((img: HTMLImageElement) => img.decode());
  expect(await page.locator("text=Bands at the outlet").isVisible()).toBe(true);
  expect(await page.getByRole("heading", { name: "Safety" }).count()).toBe(1);
  expect(await sidewaysPx(page)).toBe(0);

  await page.getByText("Other files").click();
  const [saved] = await Promise.all([page.waitForEvent("download"), page.click("text=Reading (JSON)")]);
  expect(saved.suggestedFilename()).toBe("black-sand.reading.json");
  const reading = Reading.parse(JSON.parse(readFileSync((await saved.path())!, "utf8")));
  expect(reading.scale).toBe("deck file");
  for (const words of ["Picture with bands (JPEG)", "Classes (PNG)"]) {
    const link = page.getByRole("link", { name: words });
    const answer = await page.request.get(new URL((await link.getAttribute("href"))!, site.address).href);
    expect(answer.status()).toBe(200);
  }
  await page.getByRole("button", { name: "Change corners and read again" }).click();
  expect(await page.locator(".handle").count()).toBe(CORNERS.length);
  expect(complaints).toEqual([]);
  await page.close();
});

it("can be used by keyboard alone", async () => {
  const { page, complaints } = await openPage(site, DESKTOP);
  const press = async (key: string, times = 1) => {
    for (let i = 0; i < times; i++) await page.keyboard.press(key);
  };
  /** Tab on to the first thing whose name has these words. */
  const tabTo = async (words: string, key = "Tab") => {
    for (let i = 0; i < 60; i++) {
      await press(key);
      const name = await page.evaluate(() => {
        const at = document.activeElement as HTMLElement | null;
        return `${at?.getAttribute("aria-label") ?? ""} ${at?.textContent ?? ""}`;
      });
      if (name.includes(words)) return;
    }
    throw new Error(`Tab never reached “${words}”`);
  };
  await page.waitForSelector(".samples button");
  const title = (await page.locator(".samples button").first().textContent())!.trim();
  await tabTo(title);
  await press("Enter");
  await page.waitForSelector(".handle");

  await tabTo("Corner 1");
  const left = () =>
    page
      .locator(".handle")
      .first()
      .evaluate((h: HTMLElement) => Number.parseFloat(h.style.left));
  const before = await left();
  await press("ArrowRight");
  const one = (await left()) - before;
  await press("Shift+ArrowRight");
  expect((await left()) - before).toBeCloseTo(one * 11, 1);
  await press("Shift+ArrowLeft");
  await press("ArrowLeft");
  expect(await left()).toBeCloseTo(before, 2);

  await tabTo("Read the photo", "Shift+Tab"); // it stands before the corners
  await press("Enter");
  await page.locator(".next h1").waitFor();
  await tabTo("Enlarge the picture");
  await press("Enter");
  expect(await page.locator("dialog.zoom").isVisible()).toBe(true);
  await press("Escape");
  expect(await page.locator("dialog.zoom").isVisible()).toBe(false);
  expect(complaints).toEqual([]);
  await page.close();
});

it("says in words what is wrong with a broken photo, and takes the next one", async () => {
  const { page } = await openPage(site);
  await page.setInputFiles("#photo-file", {
    name: "notes.jpg",
    mimeType: "image/jpeg",
    buffer: Buffer.from("no photo"),
  });
  const alert = page.getByRole("alert");
  await alert.waitFor();
  expect(await alert.getByRole("heading").textContent()).toBe("This photo cannot be used.");
  expect((await alert.textContent())!.length).toBeGreaterThan(50);
  await page.setInputFiles("#photo-file", PHOTO);
  await page.waitForSelector(".handle");
  expect(await alert.isVisible()).toBe(false);
  await page.close();
});

it("shows the server's picture in the language spoken", async () => {
  const device = await openDevice(site, { locale: "es", serviceWorkers: "block" });
  const { page, complaints } = await visit(site, device);
  await page.setInputFiles("#photo-file", PHOTO);
  await page.waitForSelector(".handle");
  await page.getByRole("button", { name: "Leer la foto" }).click();
  const picture = page.locator(".picture-button img");
  await picture.waitFor();
  expect(await picture.getAttribute("src")).toMatch(/overlay\.jpg\?language=es$/); // its words: tests/server/app.test.ts
  const widthPx = () => picture.evaluate((image: HTMLImageElement) => image.naturalWidth);
  await expect.poll(widthPx).toBeGreaterThan(500);
  expect(complaints).toEqual([]);
  await device.close();
});

it("keeps photo and corners when the server does not answer, or refuses the corners", async () => {
  const { page } = await openPage(site);
  await page.setInputFiles("#photo-file", PHOTO);
  await page.waitForSelector(".handle");
  await page.locator(".handle").first().press("Shift+ArrowRight");
  const places = () => page.locator(".handle").evaluateAll((all) => all.map((h) => h.getAttribute("style")));
  const before = await places();

  await page.route("**/api/readings", (route) => route.abort());
  await page.getByRole("button", { name: "Read the photo" }).click();
  await page.getByRole("alert").filter({ hasText: "does not answer" }).waitFor();
  expect(await places()).toEqual(before);
  await page.unroute("**/api/readings");

  // corner 1 carried beyond corners 2 and 3: the sides cross
  const [first, third] = [
    (await page.locator(".handle").first().boundingBox())!,
    (await page.locator(".handle").nth(2).boundingBox())!,
  ];
  await page.mouse.move(first.x + 28, first.y + 28);
  await page.mouse.down();
  await page.mouse.move(third.x + 60, third.y - 20, { steps: 3 });
  await page.mouse.up();
  const crossed = await places();
  await page.getByRole("button", { name: "Read the photo" }).click();
  const alert = page.getByRole("alert").filter({ hasText: /corner/i });
  await alert.waitFor();
  expect(await places()).toEqual(crossed);
  await page.close();
});

it("stops when asked, and goes back to the corners as they were", async () => {
  const { page, complaints } = await openPage(site);
  await page.route("**/events", () => {}); // a reading that never ends
  await page.waitForSelector(".samples button");
  await page.locator(".samples button").first().click();
  await page.waitForSelector(".handle");
  const places = () => page.locator(".handle").evaluateAll((all) => all.map((h) => h.getAttribute("style")));
  const before = await places();
  await page.getByRole("button", { name: "Read the photo" }).click();
  const dropped = page.waitForRequest((r) => r.method() === "DELETE" && /\/api\/readings\/[0-9a-f]{64}$/.test(r.url()));
  await page.getByRole("button", { name: "Stop and go back" }).click();
  await dropped; // the server is told to drop the work
  await page.waitForSelector(".handle");
  expect(await places()).toEqual(before);
  expect(await page.getByRole("alert").count()).toBe(0);
  expect(complaints).toEqual([]);
  await page.close();
});

/** The body of the next request for a reading. */
const asked = async (page: Page, act: () => Promise<unknown>) => {
  const [request] = await Promise.all([
    page.waitForRequest((r) => r.method() === "POST" && r.url().endsWith("/api/readings")),
    act(),
  ]);
  return NewReading.parse(request.postDataJSON());
};
const readButton = (page: Page) => page.getByRole("button", { name: "Read the photo" });
const openSample = async (page: Page) => {
  await page.waitForSelector(".samples button");
  await page.locator(".samples button").first().click();
  await page.waitForSelector(".handle");
};

it.each([
  ["phone", PHONE],
  ["desktop", DESKTOP],
])("sends what the person taps on a %s, keeps it, and takes it back", async (_name, size) => {
  const { page, complaints } = await openPage(site, size);
  await openSample(page);
  await page.getByRole("button", { name: "Tap what you see first" }).click();
  const stage = page.locator(".tap-stage");
  await stage.waitFor();
  expect(await page.locator("h1").evaluate((h) => h === document.activeElement)).toBe(true);
  for (const choice of await page.locator(".tap-class").all()) {
    const box = (await choice.boundingBox())!;
    expect(Math.min(box.width, box.height)).toBeGreaterThanOrEqual(48);
  }
  const { widthPx, heightPx } = await page.locator(".tap-photo").evaluate(async (img: HTMLImageElement) => {
    await img.decode();
    return { widthPx: img.naturalWidth, heightPx: img.naturalHeight }; // a sample is smaller than a preview
  });
  const tap = async (kind: string, x: number, y: number) => {
    await page.locator(".tap-class").filter({ hasText: kind }).click();
    await stage.scrollIntoViewIfNeeded();
    const box = (await stage.boundingBox())!;
    if (size === PHONE) await page.touchscreen.tap(box.x + box.width * x, box.y + box.height * y);
    else await page.mouse.click(box.x + box.width * x, box.y + box.height * y);
  };
  await tap("Dense", 0.8, 0.4);
  await tap("Light", 0.4, 0.5);
  await tap("Dry", 0.5, 0.5);
  expect(await page.locator(".tap-spot").count()).toBe(3);
  await page.getByRole("button", { name: "Take the last spot back" }).click();
  expect(await page.locator(".tap-summary").textContent()).toBe("2 spots: 1 dense, 1 light.");
  expect(await page.locator(".glass:visible").count()).toBe(0);
  expect(await sidewaysPx(page)).toBe(0);

  const { taps } = await asked(page, () => readButton(page).click());
  expect(taps!.taps.map((t) => t.class)).toEqual(["dense", "light"]);
  const near = 3 * (widthPx / (await page.evaluate(() => window.innerWidth)));
  expect(Math.abs(taps!.taps[0]!.at[0] - widthPx * 0.8)).toBeLessThan(near);
  expect(Math.abs(taps!.taps[0]!.at[1] - heightPx * 0.4)).toBeLessThan(near);
  await page.locator(".next h1").waitFor();

  await page.getByRole("button", { name: "Tap what you see" }).click();
  expect(await page.locator(".tap-spot").count()).toBe(2);
  await page.getByRole("button", { name: "Back to the corners" }).click();
  await page.waitForSelector(".handle");
  expect(complaints).toEqual([]);
  await page.close();
});

it("takes taps by keyboard alone, and goes back to them when the reading is stopped", async () => {
  const { page, complaints } = await openPage(site, DESKTOP);
  await page.route("**/events", () => {}); // a reading that never ends
  await openSample(page);
  await page.getByRole("button", { name: "Tap what you see first" }).press("Enter");
  const stage = page.locator(".tap-stage");
  await stage.focus();
  await page.keyboard.press("2");
  expect(await page.locator('.tap-class[aria-pressed="true"]').textContent()).toContain("Middling");
  await page.keyboard.press("Enter"); // in the middle
  await page.keyboard.press("Shift+ArrowRight");
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("4");
  await page.keyboard.press("Enter");
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("Enter");
  await page.keyboard.press("Backspace");
  const { taps, photo } = await asked(page, () => readButton(page).press("Enter"));
  expect(photo).toMatch(/^[0-9a-f]{64}$/);
  const [middling, bare, ...more] = taps!.taps;
  expect(more).toEqual([]);
  expect([middling!.class, bare!.class]).toEqual(["middling", "bare"]);
  const step = (bare!.at[0] - middling!.at[0]) / 10;
  expect(middling!.at[1] - bare!.at[1]).toBeCloseTo(step, 0);
  await page.getByRole("button", { name: "Stop and go back" }).click();
  await stage.waitFor();
  expect(await page.locator(".tap-spot").count()).toBe(2);
  expect(complaints).toEqual([]);
  await page.close();
});

it("sends what the controls stand at, and says what is wrong with an entry", async () => {
  const { page } = await openPage(site);
  await openSample(page);
  await page.getByText("What the controls stand at").click();
  await page.getByLabel("Wash water").fill("-3");
  await readButton(page).click();
  await page.getByRole("alert").filter({ hasText: "Wash water: a number from 0" }).waitFor();
  await page.getByLabel("Wash water").fill("12.5");
  await page.getByLabel("Cross slope").fill("40");
  const { settings, taps } = await asked(page, () => readButton(page).click());
  expect(settings).toEqual({ washWaterLitresPerMinute: 12.5, crossSlopeMmPerM: 40 });
  expect(taps).toBeUndefined();
  await page.locator(".next h1").waitFor();
  await page.close();
});

it("leaves the corners of a left-hand deck where they are when its file is taken away", async () => {
  const { page } = await openPage(site);
  await page.waitForSelector(".samples button");
  await page.getByRole("button", { name: "Red garnet" }).click(); // its deck is left-hand
  await page.waitForSelector(".handle");
  const places = () => page.locator(".handle").evaluateAll((all) => all.map((h) => h.getAttribute("style")));
  const before = await places();
  await page.getByRole("button", { name: "Take the deck file away" }).click();
  expect(await places()).toEqual(before);
  expect(await page.getByLabel("left-hand deck").isChecked()).toBe(true);
  await page.close();
});

it("shows no length in mm where the deck's size is a guess", async () => {
  const { page, complaints } = await openPage(site);
  await openSample(page);
  await page.getByRole("button", { name: "Take the deck file away" }).click();
  const { deck } = await asked(page, () => readButton(page).click());
  expect(deck).toBeUndefined();
  await page.locator(".next h1").waitFor();
  for (const summary of await page.locator(".result summary").all()) await summary.click();
  const words = await page.locator(".result").textContent();
  expect(words).toContain("per cent of the outlet");
  // what sources say of films and grains is no length of this deck
  const sources = await page.locator(".result .basis").allTextContents();
  const own = sources.reduce((text, source) => text.replaceAll(source, ""), words!);
  expect(own.match(/.{0,40}\d\s?mm\b/g)).toBeNull();
  expect(own).not.toMatch(/\bcm²/);
  expect(complaints).toEqual([]);
  await page.close();
});

it("one way back leads from every screen to the one before, by the button on top and by the browser's own", async () => {
  const { page, complaints } = await openPage(site);
  const first = page.getByRole("heading", { level: 1, name: "Photo of the running table" });
  const back = page.getByRole("button", { name: "Back", exact: true });
  await first.waitFor();
  expect(await back.isVisible()).toBe(false);
  await page.locator("#open-set-up").click();
  await page.getByRole("heading", { name: "Set up the table" }).waitFor();
  await page.goBack();
  await first.waitFor();
  await page.locator("#open-runs").click();
  await page.getByRole("heading", { level: 1, name: "Runs" }).waitFor();
  await back.press("Enter");
  await first.waitFor();
  await openSample(page);
  await readButton(page).click();
  await page.locator(".next h1").waitFor();
  await page.getByRole("button", { name: "Change corners" }).click();
  await page.locator(".corners-step").waitFor();
  await page.goBack(); // what was read is still there
  await page.locator(".next h1").waitFor();
  await page.goBack();
  await first.waitFor();
  await page.goBack();
  expect(page.url()).not.toContain(site.address); // and out
  expect(complaints).toEqual([]);
  await page.close();
});
