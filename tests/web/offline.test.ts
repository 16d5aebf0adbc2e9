import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { brotliCompressSync, gzipSync } from "node:zlib";
import type { BrowserContext, Page } from "playwright-core";
import sharp from "sharp";
import { afterAll, afterEach, beforeAll, beforeEach, expect, it, vi } from "vitest";
import { PhotoList, ReadingList } from "../../vision/contract/index.ts";
import { BUILT, openDevice, openDeviceWithDisk, openSite, SAMPLES, type Site, visit, visitAgain } from "./browser.ts";

/** The page where the network comes and goes: nothing is lost, nothing is sent twice. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 120_000 });

let site: Site;
let device: BrowserContext;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());
beforeEach(async () => {
  device = await openDevice(site);
});
afterEach(async () => {
  await device.close();
  await site.comeBack();
});

/** A photo of its own each time, so that no test meets another's on the server. */
let photos = 0;
const newPhoto = async (quality = 80, width = 1200) => ({
  name: `table ${++photos}.jpg`,
  mimeType: "image/jpeg",
  buffer: await sharp(`${SAMPLES}black-sand.jpg`)
    .resize(width)
    .modulate({ brightness: 1 - photos / 1000 })
    .jpeg({ quality })
    .toBuffer(),
});
type Photo = Awaited<ReturnType<typeof newPhoto>>;

const takePhoto = async (page: Page, photo: Photo) => {
  await page.setInputFiles("#photo-file", photo);
  await page.waitForSelector(".handle");
};
const readIt = async (page: Page) => {
  await page.getByRole("button", { name: "Read the photo" }).click();
  await page.locator(".next h1").waitFor();
};
const waits = (page: Page) => page.locator(".waits [role=status]");
const nothingWaits = (page: Page) => page.locator(".waits").waitFor({ state: "hidden" });

/** How long the server may take to read what it was asked to. */
const READ = { timeout: 30_000 };
/** Photos of these names that the server keeps, and readings of each. */
async function onServer(names: readonly string[]) {
  const get = async (path: string) => (await fetch(new URL(path, site.address))).json();
  const { items } = PhotoList.parse(await get("api/photos?limit=100"));
  const found = items.filter(({ name }) => names.includes(name));
  const readings = await Promise.all(
    found.map(async ({ id }) => ReadingList.parse(await get(`api/readings?photo=${id}`)).items.length),
  );
  return { photos: found.map(({ name }) => name).sort(), readings };
}

it("works on the second visit without a network: a sample photo, and the person's own, to the next step", async () => {
  const { page, complaints } = await visitAgain(site, device);
  await page.close();
  await site.goDown();
  const { page: again, complaints: more } = await visit(site, device);
  await again.locator(".samples button").first().click();
  await again.waitForSelector(".handle");
  await readIt(again);
  expect((await again.locator(".next h1").textContent())!.length).toBeGreaterThan(10);
  await again.locator(".picture-button .drawing").evaluate((img: HTMLImageElement) => img.decode());
  expect(await again.locator(".waits").isVisible()).toBe(false); // a sample is nobody's to send
  await again.getByRole("button", { name: "Another photo" }).click();

  // a sample that was never looked at is not here: said in words, and only what is here is offered from then on
  await again.locator(".samples button").nth(3).click();
  await again.getByRole("alert").filter({ hasText: "does not answer" }).waitFor();
  expect(await again.locator(".samples button").count()).toBe(1);

  await takePhoto(again, await newPhoto());
  await readIt(again);
  expect(await again.getByRole("heading", { name: "Safety" }).count()).toBe(1);
  await again.close();
  await site.comeBack();
  expect([...complaints, ...more]).toEqual([]);
});

it("keeps photo and reading without a network, says what waits, sends each once when the server is back", async () => {
  const { page } = await visitAgain(site, device);
  await site.goDown();
  const photo = await newPhoto();
  await takePhoto(page, photo);
  await page.getByText("1 photo waits here to be sent.").waitFor();
  await readIt(page);
  await page.getByText("1 photo and 1 reading wait here to be sent. The server does not answer yet.").waitFor();
  await page.close(); // as when the phone is put away

  await site.comeBack();
  const asked: string[] = [];
  const { page: later } = await visit(site, device);
  later.on("request", (r) => r.method() !== "GET" && asked.push(`${r.method()} ${new URL(r.url()).pathname}`));
  await later.getByText("On this device").waitFor();
  await nothingWaits(later);
  expect(await onServer([photo.name])).toEqual({ photos: [photo.name], readings: [expect.any(Number)] });
  await expect.poll(() => onServer([photo.name]), READ).toEqual({ photos: [photo.name], readings: [1] });

  // the same photo again, and its reading from the list: nothing new to send
  asked.length = 0;
  await takePhoto(later, photo);
  await readIt(later);
  await later.getByRole("button", { name: "Another photo" }).click();
  await later.locator(".kept-photo").first().click();
  await later.locator(".next h1").waitFor();
  await nothingWaits(later);
  expect(asked).toEqual([]);
  expect(await onServer([photo.name])).toEqual({ photos: [photo.name], readings: [1] });
  await later.close();
});

it("goes on with an upload where the line broke, and asks again when an answer was lost", async () => {
  const plain = await openDevice(site, { serviceWorkers: "block" });
  const { page } = await visit(site, plain);
  const photo = await newPhoto(100, 3000);
  expect(photo.buffer.length).toBeGreaterThan(2.2e6); // more than two parts of a million bytes
  let parts = 0;
  let begun = 0;
  await page.route("**/api/uploads", (route) => {
    if (route.request().method() === "POST") begun++;
    return route.continue();
  });
  await page.route("**/api/uploads/*", async (route) => {
    if (route.request().method() !== "PATCH") return route.continue();
    parts++;
    if (parts === 2) return route.abort(); // the line breaks
    if (parts === 3) {
      await route.fetch(); // it arrives, but the answer is lost
      return route.abort();
    }
    return route.continue();
  });
  await page.setInputFiles("#photo-file", photo);
  await page.waitForSelector(".handle");
  await expect.poll(() => parts).toBe(2);
  for (let i = 0; i < 2; i++) {
    await page.getByText("The server does not answer yet.").waitFor();
    await page.evaluate(() => dispatchEvent(new Event("online")));
    await page.waitForTimeout(500);
  }
  await nothingWaits(page);
  expect(begun).toBe(1);
  expect(parts).toBe(Math.ceil(photo.buffer.length / (1 << 20)) + 1); // the one that broke is the only one sent again
  expect((await onServer([photo.name])).photos).toEqual([photo.name]);
  await plain.close();
});

/** A poor mobile line: 1.6 million bits a second down, 0.75 up, 150 ms there and back. */
const SLOW = { offline: false, latency: 150, downloadThroughput: 1.6e6 / 8, uploadThroughput: 0.75e6 / 8 };

it("on a slow line a photo can be chosen soon, says how far it was sent while one goes on, and is sent once", async () => {
  const plain = await openDevice(site, { serviceWorkers: "block" }); // so that every byte goes by the slow line
  const page = await plain.newPage();
  await (await plain.newCDPSession(page)).send("Network.emulateNetworkConditions", SLOW);
  const start = Date.now();
  await page.goto(site.address, { waitUntil: "commit" });
  await page.locator("#photo-file:not([disabled])").waitFor({ state: "attached" });
  expect(Date.now() - start).toBeLessThan(8000); // the aim is 2 s, on a machine that nobody else uses
  let begun = 0;
  page.on("request", (r) => {
    if (r.method() === "POST" && r.url().endsWith("/api/uploads")) begun++;
  });
  const shares: string[] = [];
  await page.exposeFunction("hear", (words: string) => void shares.push(words));
  await page.evaluate(() => {
    const told = document.querySelector("#waits")!;
    const hear = (globalThis as unknown as { hear: (words: string) => void }).hear;
    new MutationObserver(() => hear(told.textContent ?? "")).observe(told, {
      childList: true,
      subtree: true,
      characterData: true,
    });
  });
  const photo = await newPhoto(92, 1500);
  await takePhoto(page, photo); // corners are there at once: nothing waits for the line
  expect(await page.locator(".handle").count()).toBe(4);
  await page.locator(".handle").first().press("ArrowRight");
  await page
    .locator(".waits")
    .filter({ hasText: /Sending: [1-9]\d?\s%/ })
    .waitFor();
  await readIt(page); // the server reads it as soon as it is there
  expect(new Set(shares.flatMap((words) => words.match(/Sending: \d+/) ?? [])).size).toBeGreaterThan(1);
  await nothingWaits(page);
  expect(begun).toBe(1);
  expect(await onServer([photo.name])).toEqual({ photos: [photo.name], readings: [1] });
  await plain.close();
});

it("sends each photo once from two tabs", async () => {
  const { page: one } = await visitAgain(site, device);
  const { page: two } = await visit(site, device);
  await two.getByText("Ready to work without a network.").waitFor();
  await site.goDown();
  const [first, second] = [await newPhoto(), await newPhoto()];
  await takePhoto(one, first);
  await takePhoto(two, second);
  await readIt(two);
  for (const page of [one, two]) await page.getByText("2 photos and 1 reading wait here to be sent.").waitFor();
  let begun = 0;
  for (const page of [one, two]) {
    page.on("request", (r) => {
      if (r.method() === "POST" && r.url().endsWith("/api/uploads")) begun++;
    });
  }
  await site.comeBack();
  for (const page of [one, two]) await page.evaluate(() => dispatchEvent(new Event("online")));
  for (const page of [one, two]) await nothingWaits(page);
  expect(begun).toBe(2);
  const names = [first.name, second.name].sort();
  await expect.poll(async () => (await onServer(names)).readings.sort(), READ).toEqual([0, 1]);
  expect((await onServer(names)).photos).toEqual(names);
  await one.close();
  await two.close();
});

// tried again where it fails: on a busy machine the browser now and then frees what was thrown away later than any person would wait
it("says so when there is no room to keep a photo, and lets it be read all the same; sent photos make room first", {
  retry: 2,
}, async () => {
  await site.comeBack();
  const origin = new URL(site.address).origin;
  /** The browser's own tools; what they set holds as long as their page is open. */
  const tools = async () => device.newCDPSession(await device.newPage());
  await device.close();
  device = await openDeviceWithDisk();
  await (await visitAgain(site, device)).page.close();
  const { usage: program } = await (await tools()).send("Storage.getUsageAndQuota", { origin });
  await device.close();

  const [sent, unsent, another] = [await newPhoto(100, 1300), await newPhoto(100, 1300), await newPhoto(100, 1300)];
  const size = unsent.buffer.length;
  device = await openDeviceWithDisk();
  const quotaSize = program + 2 * size; // a photo's previews need room too, so that there is none for two of them
  await (await tools()).send("Storage.overrideQuotaForOrigin", { origin, quotaSize });
  const { page } = await visitAgain(site, device);
  await takePhoto(page, sent);
  await nothingWaits(page);
  await site.goDown();
  await page.getByRole("button", { name: "Another photo" }).click();
  await takePhoto(page, unsent);
  expect(await page.getByRole("alert").count()).toBe(0);
  await page.getByRole("button", { name: "Another photo" }).click();
  expect(await page.locator(".kept li").allTextContents()).toEqual([expect.stringContaining(unsent.name)]);

  // what was not sent is never thrown away: now there is no room
  await takePhoto(page, another);
  await page.getByRole("alert").filter({ hasText: "This photo is not kept." }).waitFor();
  await readIt(page);
  await page.getByRole("button", { name: "Another photo" }).click();
  expect(await page.locator(".kept li").allTextContents()).toEqual([expect.stringContaining(unsent.name)]);
  await page.close();
  await site.comeBack();
});

it.each(["when asked", "on the next visit"])(
  "changes over to a newer version %s, while a photo waits, and loses nothing",
  async (way) => {
    const folder = mkdtempSync(join(tmpdir(), "deckbands-page-"));
    cpSync(BUILT, folder, { recursive: true });
    const own = await openSite(`${folder}/`);
    const phone = await openDevice(own);
    const { page } = await visitAgain(own, phone);
    await own.goDown();
    await takePhoto(page, await newPhoto());
    await readIt(page);
    await waits(page).getByText("1 photo and 1 reading wait").waitFor();

    const rewrite = (name: string, change: (text: string) => string) => {
      const text = change(readFileSync(join(folder, name), "utf8"));
      writeFileSync(join(folder, name), text);
      const copies = { br: brotliCompressSync, gz: gzipSync };
      for (const [end, pack] of Object.entries(copies)) {
        if (existsSync(join(folder, `${name}.${end}`))) writeFileSync(join(folder, `${name}.${end}`), pack(text));
      }
    };
    const { version } = JSON.parse(readFileSync(join(folder, "offline-files.json"), "utf8"));
    for (const name of ["offline-files.json", "service-worker.js"]) rewrite(name, (t) => t.replace(version, "newer"));
    rewrite("index.html", (t) => t.replace("<title>deckbands", "<title>deckbands, newer"));
    await page.close();
    await phone.route("**/api/uploads", (route) => route.abort()); // so that it goes on waiting
    await own.comeBack();
    let { page: later } = await visit(own, phone);
    expect(await later.title()).toBe("deckbands");
    await later.getByText("A newer version of this program is here.").waitFor();
    await waits(later).getByText("1 photo and 1 reading wait").waitFor();
    if (way === "when asked") await later.getByRole("button", { name: "Use it now" }).click();
    else {
      await later.close();
      later = (await visit(own, phone)).page;
    }
    await later.waitForFunction(() => document.title === "deckbands, newer");
    await waits(later).getByText("1 photo and 1 reading wait").waitFor();
    expect(await later.locator(".kept li").count()).toBe(1);
    await phone.unroute("**/api/uploads");
    await later.evaluate(() => dispatchEvent(new Event("online")));
    await nothingWaits(later);
    await phone.close();
    await own.close();
    rmSync(folder, { recursive: true });
  },
);
