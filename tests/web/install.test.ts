import { readFileSync } from "node:fs";
import { brotliDecompressSync } from "node:zlib";
import type { BrowserContext } from "playwright-core";
import sharp from "sharp";
import { afterAll, afterEach, beforeAll, beforeEach, expect, it, vi } from "vitest";
import type { OfflineFiles } from "../../web/service-worker.ts";
import { BUILT, openDevice, openSite, SAMPLES, type Site, visit } from "./browser.ts";

/** The page as it comes to a device for the first time, and stays there. */

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

const list = (): OfflineFiles => JSON.parse(readFileSync(`${BUILT}offline-files.json`, "utf8"));
const get = (path: string, accept: string) =>
  fetch(new URL(path, site.address), { headers: { "accept-encoding": accept }, cache: "no-store" });
/** Bytes that travel for a file. */
const sent = async (path: string) => {
  const answer = await get(path, "br");
  expect(answer.status, path).toBe(200);
  return Number(answer.headers.get("content-length"));
};

it("is small: 200 kB of script before anything is read, 8 MB with all that reading on the device needs", async () => {
  const { shell, reading } = list();
  const first = /src="\.\/(assets\/[^"]+\.js)"/.exec(readFileSync(`${BUILT}index.html`, "utf8"))![1]!;
  expect(await sent(first)).toBeLessThan(200_000);
  let all = 0;
  for (const path of [...shell, ...reading.map((file) => file.path), "samples/black-sand.jpg"]) all += await sent(path);
  expect(all).toBeGreaterThan(3e6); // the networks' weights alone: nothing was forgotten
  expect(all).toBeLessThan(8e6);
});

it("sends the Brotli or gzip copies of its files, which unpack to what they stand for, and says how long they hold", async () => {
  const wasm = list().reading.find(({ path }) => path.endsWith(".wasm") && path.includes("opencv"))!;
  for (const [accept, encoding] of [
    ["br, gzip", "br"],
    ["gzip", "gzip"],
    ["identity", null],
  ] as const) {
    const answer = await get(wasm.path, accept);
    expect(answer.headers.get("content-encoding")).toBe(encoding);
    expect(answer.headers.get("content-type")).toBe("application/wasm"); // else it is not compiled as it comes
    expect(answer.headers.get("cache-control")).toContain("immutable");
    expect((await answer.arrayBuffer()).byteLength).toBe(wasm.bytes);
  }
  const copy = readFileSync(`${BUILT}${wasm.path}.br`);
  expect(brotliDecompressSync(copy).equals(readFileSync(`${BUILT}${wasm.path}`))).toBe(true);
  for (const path of ["", "service-worker.js", "offline-files.json", "manifest.webmanifest"]) {
    expect((await get(path, "br")).headers.get("cache-control"), path).toBe("no-cache");
  }
});

it("can be installed: nothing is missing that a browser asks of an app", async () => {
  const { page, complaints } = await visit(site, device);
  await page.getByText("Ready to work without a network.").waitFor();
  const session = await device.newCDPSession(page);
  const { installabilityErrors } = await session.send("Page.getInstallabilityErrors");
  // a window of its own kind, as tests have, is never offered an installation
  expect(installabilityErrors.map(({ errorId }) => errorId).filter((id) => id !== "in-incognito")).toEqual([]);
  for (const { sizes, src } of JSON.parse(readFileSync(`${BUILT}manifest.webmanifest`, "utf8")).icons) {
    if (sizes === "any") continue;
    const { width, height } = await sharp(Buffer.from(await (await get(src, "identity")).arrayBuffer())).metadata();
    expect(`${width}x${height}`).toBe(sizes);
  }
  expect(complaints).toEqual([]);
});

it("reads at once on the first visit, by the server, while the files for reading here still come", async () => {
  await device.route("**/reading/*", async (route) => {
    await new Promise((resolve) => setTimeout(resolve, 20_000)); // a slow line
    await route.continue().catch(() => {});
  });
  const { page } = await visit(site, device);
  await page.locator(".readiness progress").waitFor();
  await page.locator(".samples button").first().click();
  await page.waitForSelector(".handle");
  const asked = page.waitForRequest((r) => r.method() === "POST" && r.url().endsWith("/api/readings"));
  await page.getByRole("button", { name: "Read the photo" }).click();
  await asked;
  await page.locator(".next h1").waitFor();
  await page.close();
});

it("stops getting ready when told to, goes on when asked, and fetches nothing twice", async () => {
  const fetched: string[] = [];
  // what is under way when it stops has to come again
  device.on("requestfinished", (r) => r.url().includes("/reading/") && !r.serviceWorker() && fetched.push(r.url()));
  let slow = true;
  await device.route("**/reading/opencv*", async (route) => {
    while (slow) await new Promise((resolve) => setTimeout(resolve, 100));
    await route.continue().catch(() => {});
  });
  const { page } = await visit(site, device);
  await page.getByRole("button", { name: "Not now" }).click();
  const offer = page.getByRole("button", { name: /Get ready to work without a network \(\d+\.\d MB\)/ });
  await offer.waitFor();
  slow = false;
  await offer.click();
  await page.getByText("Ready to work without a network.").waitFor();
  const twice = fetched.filter((url, i) => fetched.indexOf(url) !== i && !url.includes("opencv"));
  expect(twice).toEqual([]);
});

it("does not fetch them by itself where the device is to save data", async () => {
  await device.addInitScript(() => Object.defineProperty(navigator, "connection", { value: { saveData: true } }));
  const { page } = await visit(site, device);
  await page.getByRole("button", { name: "Get ready to work without a network" }).waitFor();
  await page.waitForTimeout(500);
  expect(await page.locator(".readiness progress").isVisible()).toBe(false);
});

it("lets the server open a photo that this browser does not know; without it, keeps the photo and says so", async () => {
  const plain = await openDevice(site, { serviceWorkers: "block" });
  const { page } = await visit(site, plain);
  const tiff = await sharp(`${SAMPLES}black-sand.jpg`).resize(1000).tiff().toBuffer();
  const photo = { name: "table.tif", mimeType: "image/tiff", buffer: tiff };
  await page.waitForSelector(".samples button"); // all is here
  await site.goDown();
  await page.setInputFiles("#photo-file", photo);
  await page.getByRole("alert").filter({ hasText: "cannot open this kind of photo by itself" }).waitFor();
  await page.getByText("1 photo waits here to be sent.").waitFor();
  await site.comeBack();
  await page.evaluate(() => dispatchEvent(new Event("online")));
  await page.locator(".waits").waitFor({ state: "hidden" });
  await page.locator(".kept-photo").click(); // now the server shows it
  await page.waitForSelector(".handle");
  await page.locator(".stage-photo").evaluate((img: HTMLImageElement) => img.decode());
  await page.getByRole("button", { name: "Read the photo" }).click();
  await page.locator(".next h1").waitFor();
  await plain.close();
});

it("says that one must log in for photos to be sent, and where", async () => {
  const plain = await openDevice(site, { serviceWorkers: "block" });
  const { page } = await visit(site, plain);
  const body = { type: "about:blank", title: "Unauthorized", status: 401, detail: "Log in first.", code: "log-in" };
  await page.route("**/api/photos/*", (route) => route.fulfill({ status: 401, json: body }));
  await page.setInputFiles("#photo-file", `${SAMPLES}black-sand.jpg`);
  await page.locator(".waits").filter({ hasText: "1 photo waits here to be sent. Log in first." }).waitFor();
  expect(await page.getByRole("link", { name: "Log in" }).getAttribute("href")).toBe("log-in");
  expect(await page.locator(".handle").count()).toBe(4); // the work goes on all the same
  await plain.close();
});
