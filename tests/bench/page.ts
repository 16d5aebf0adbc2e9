import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { cpus, loadavg, tmpdir } from "node:os";
import { join } from "node:path";
import { brotliCompressSync } from "node:zlib";
import type { BrowserContext, Page } from "playwright-core";
import sharp from "sharp";
import { BUILT, openDevice, openSite, SAMPLES, type Site, visit, visitAgain } from "../web/browser.ts";

/** The page in a real browser: how large it is, how soon it can be used, how long a 12 MP photo takes to its next step. */

const RUNS = 7;
/** A poor mobile line: 1.6 million bits a second, 150 ms there and back. */
const SLOW = { offline: false, latency: 150, downloadThroughput: 1.6e6 / 8, uploadThroughput: 0.75e6 / 8 };

const say = (what: string, value: string) => process.stdout.write(`${what.padEnd(58)} ${value}\n`);
const median = (values: number[]) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)]!;
const spread = (values: number[]) =>
  `${Math.round(median(values))} ms (${Math.round(Math.min(...values))} to ${Math.round(Math.max(...values))})`;

function sizes(): void {
  const { shell, reading } = JSON.parse(readFileSync(`${BUILT}offline-files.json`, "utf8"));
  const kB = (bytes: number) => `${Math.round(bytes / 100) / 10} kB`;
  const packed = (path: string) => {
    try {
      return readFileSync(`${BUILT}${path}.br`).length;
    } catch {
      return readFileSync(`${BUILT}${path}`).length;
    }
  };
  const first = /src="\.\/(assets\/[^"]+\.js)"/.exec(readFileSync(`${BUILT}index.html`, "utf8"))![1]!;
  say("First script, as sent (Brotli 9)", kB(packed(first)));
  const shellBytes = shell.reduce((sum: number, path: string) => sum + packed(path), 0);
  const readingBytes = reading.reduce((sum: number, { sentBytes }: { sentBytes: number }) => sum + sentBytes, 0);
  const sample = readFileSync(`${SAMPLES}black-sand.jpg`).length;
  say("Page with worker, icons, six languages", kB(shellBytes));
  say("Files for reading on the device", kB(readingBytes));
  say("One sample photo", kB(sample));
  say("Whole install", kB(shellBytes + readingBytes + sample));
  const best = reading.reduce(
    (sum: number, { path }: { path: string }) => sum + brotliCompressSync(readFileSync(`${BUILT}${path}`)).length,
    0,
  );
  say("Files for reading, were they packed with Brotli 11", kB(best));
}

/** From asking for the page until a photo can be chosen, ms. */
async function interactive(site: Site, line?: typeof SLOW): Promise<number> {
  const device = await openDevice(site);
  const page = await device.newPage();
  if (line) await (await device.newCDPSession(page)).send("Network.emulateNetworkConditions", line);
  const start = Date.now();
  await page.goto(site.address, { waitUntil: "commit" });
  await page.locator("#photo-file:not([disabled])").waitFor({ state: "attached" });
  const took = Date.now() - start;
  await device.close();
  return took;
}

/**
 * From a photo being chosen until its corners can be set, and from asking until the next step is on the screen, ms, by the
 * page's own clock; the same again after one tap; and the longest task of its main thread in that time.
 */
async function read(page: Page, path: string): Promise<{ open: number; read: number; again: number; longest: number }> {
  await page.evaluate(() => {
    const marks: Record<string, number> = { longest: 0 };
    Object.assign(window, { marks });
    new PerformanceObserver((list) => {
      for (const { duration } of list.getEntries()) marks.longest = Math.max(marks.longest!, duration);
    }).observe({ type: "longtask" });
    document.addEventListener("change", () => (marks.chosen ??= performance.now()), true);
    document.addEventListener("click", () => (marks.asked ??= performance.now()), true);
    new MutationObserver(() => {
      if (document.querySelector(".corners-step")) marks.corners ??= performance.now();
      if (document.querySelector(".next h1")) marks.step ??= performance.now();
    }).observe(document.body, { childList: true, subtree: true });
  });
  await page.setInputFiles("#photo-file", path);
  await page.waitForSelector(".handle");
  await page.waitForTimeout(1500); // the engines get ready while a person looks at the photo
  await page.locator(".corners-step .main-button").click();
  await page.locator(".next h1").waitFor();
  await page.waitForTimeout(300);
  const marks = await page.evaluate(() => (window as unknown as { marks: Record<string, number> }).marks);
  await page.locator(".result-right .choices button").first().click();
  await page.locator(".tap-stage").click();
  await page.waitForTimeout(700); // its quick look is there
  await page.evaluate(() => {
    const { marks } = window as unknown as { marks: Record<string, number> };
    delete marks.asked;
    delete marks.step;
  });
  await page.locator(".go .main-button").click();
  await page.locator(".next h1").waitFor();
  const again = await page.evaluate(() => (window as unknown as { marks: Record<string, number> }).marks);
  await page.locator(".result-right .choices button").nth(2).click();
  const [took, tookAgain] = [marks, again].map(({ step, asked }) => step! - asked!);
  return { open: marks.corners! - marks.chosen!, read: took!, again: tookAgain!, longest: again.longest! };
}

async function reading(site: Site, device: BrowserContext): Promise<void> {
  const { page } = await visitAgain(site, device);
  await site.goDown();
  const runs: Awaited<ReturnType<typeof read>>[] = [];
  const folder = mkdtempSync(join(tmpdir(), "deckbands-bench-"));
  for (let i = 0; i <= RUNS; i++) {
    // another file each time, so that nothing is remembered
    const photo = sharp(`${SAMPLES}black-sand.jpg`)
      .resize(4000, 3000)
      .modulate({ brightness: 1 - i / 200 });
    const path = join(folder, `${i}.jpg`);
    await photo.jpeg({ quality: 90 }).toFile(path);
    runs.push(await read(page, path));
  }
  rmSync(folder, { recursive: true });
  await site.comeBack();
  const [cold, ...warm] = runs;
  say("12 MP photo: opened and kept, first time", `${Math.round(cold!.open)} ms`);
  say("12 MP photo: opened and kept, later", spread(warm.map(({ open }) => open)));
  say("12 MP photo: asked to next step, first time", `${Math.round(cold!.read)} ms`);
  say("12 MP photo: asked to next step, later", spread(warm.map(({ read }) => read)));
  say("12 MP photo: read again after a tap", spread(warm.map(({ again }) => again)));
  say("Longest task of the main thread meanwhile", `${Math.max(...runs.map(({ longest }) => longest))} ms`);
}

const site = await openSite();
say("Processors, load", `${cpus().length} × ${cpus()[0]?.model}, ${loadavg()[0]!.toFixed(1)}`);
sizes();
const loads: number[] = [];
for (let i = 0; i < RUNS; i++) loads.push(await interactive(site));
say("First visit: a photo can be chosen after", spread(loads));
say("First visit on a slow line: after", spread([await interactive(site, SLOW), await interactive(site, SLOW)]));
const device = await openDevice(site);
const { page } = await visit(site, device);
const start = Date.now();
await page.getByText("Ready to work without a network.").waitFor();
say("First visit: ready without a network after", `${Date.now() - start} ms`);
await page.close();
await reading(site, device);
await device.close();
await site.close();
process.exit(0);
