import { readFileSync } from "node:fs";
import { afterAll, beforeAll, expect, it } from "vitest";
import { CornersFile, Reading } from "../../vision/contract/index.ts";
import { DESKTOP, openPage, openSite, PHONE, SAMPLES, type Site, sidewaysPx } from "./browser.ts";

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
  await page.locator(".overlay").evaluate((img: HTMLImageElement) => img.decode());
  expect(await page.locator("text=Bands at the outlet").isVisible()).toBe(true);
  expect(await page.getByRole("heading", { name: "Safety" }).count()).toBe(1);
  expect(await sidewaysPx(page)).toBe(0);

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
  const tabTo = async (words: string) => {
    for (let i = 0; i < 60; i++) {
      await press("Tab");
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

  await tabTo("Read the photo");
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
  expect((await alert.textContent())!.length).toBeGreaterThan(30);
  await page.setInputFiles("#photo-file", PHOTO);
  await page.waitForSelector(".handle");
  expect(await alert.isVisible()).toBe(false);
  await page.close();
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
