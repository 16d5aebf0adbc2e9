import { existsSync, mkdtempSync } from "node:fs";
import { rm } from "node:fs/promises";
import { createServer } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { type Browser, type BrowserContext, type BrowserContextOptions, chromium, type Page } from "playwright-core";
import { build } from "vite";
import { createApp } from "../../server/app.ts";
import { type Choices, openParts, type Parts } from "../../server/parts.ts";

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));
/** Where the page is built to. */
export const BUILT = here("../../web/dist/");
const FLAGS =
  "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking --disable-component-update --disable-sync";
const CHROMIUM = { executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: FLAGS.split(" ") };
export const PHONE = { width: 360, height: 740 };
export const DESKTOP = { width: 1280, height: 800 };
const DEVICE: BrowserContextOptions = { viewport: PHONE, hasTouch: true, acceptDownloads: true, locale: "en-GB" };

/** The real server over the built page, and a browser to look at it. */
export interface Site {
  readonly address: string;
  readonly browser: Browser;
  /** What the server keeps, and all it is made of. */
  readonly parts: Parts;
  /** The network goes away, for this server; and comes back. */
  readonly goDown: () => Promise<void>;
  readonly comeBack: () => Promise<void>;
  readonly close: () => Promise<void>;
}

/**
 * @param pageFolder  Another build of the page than the one in web/dist. @param flags  More of Chromium's.
 * @param choices     Of the server, such as that people log in.
 */
export async function openSite(
  pageFolder = BUILT,
  flags: readonly string[] = [],
  choices: Choices = {},
): Promise<Site> {
  if (!existsSync(`${BUILT}index.html`)) await build({ root: here("../../web"), logLevel: "warn" });
  const folder = mkdtempSync(join(tmpdir(), "deckbands-web-"));
  const parts = await openParts(folder, choices);
  const server = createServer(createApp(parts, { page: pageFolder, samples: SAMPLES }));
  const listen = (port: number) => new Promise<void>((resolve) => server.listen(port, "127.0.0.1", resolve));
  const goDown = () =>
    new Promise<void>((resolve) => {
      server.close(() => resolve());
      server.closeAllConnections();
    });
  await listen(0);
  const at = server.address();
  const port = typeof at === "object" && at ? at.port : 0;
  const browser = await chromium.launch({ ...CHROMIUM, args: [...CHROMIUM.args, ...flags] });
  return {
    address: `http://127.0.0.1:${port}/`,
    browser,
    parts,
    goDown,
    comeBack: async () => {
      if (!server.listening) await listen(port);
    },
    close: async () => {
      await browser.close();
      await goDown();
      await parts.close();
      await rm(folder, { recursive: true, force: true });
    },
  };
}
export const SAMPLES = here("../../sample-images/");

/** A browser of its own, in which the page may stay; else the server reads, as on a first visit. */
export const openDevice = (site: Site, options: BrowserContextOptions = {}): Promise<BrowserContext> =>
  site.browser.newContext({ ...DEVICE, ...options });

/** The same, whose store lies on a disk, as a phone's does: a private window (Chromium 150) never frees what was thrown away. */
export async function openDeviceWithDisk(): Promise<BrowserContext> {
  const folder = mkdtempSync(join(tmpdir(), "deckbands-device-"));
  const device = await chromium.launchPersistentContext(folder, { ...CHROMIUM, ...DEVICE });
  device.on("close", () => rm(folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 }));
  return device;
}

/** The page at this size, read by the server, and what it complained of: a broken script, or something its security policy forbids. */
export async function openPage(site: Site, viewport = PHONE): Promise<{ page: Page; complaints: string[] }> {
  const device = await openDevice(site, { viewport, hasTouch: viewport.width < 600, serviceWorkers: "block" });
  const { page, complaints } = await visit(site, device);
  page.on("close", () => device.close().catch(() => {})); // the browser may be closing too
  return { page, complaints };
}

/** One visit to the page on this device. */
export async function visit(site: Site, device: BrowserContext): Promise<{ page: Page; complaints: string[] }> {
  const page = await device.newPage();
  const complaints: string[] = [];
  page.on("pageerror", (error) => complaints.push(error.message));
  page.on("console", (message) => {
    // an answer of 4xx is one that the page puts into words
    if (message.type() === "error" && !message.text().startsWith("Failed to load resource")) {
      complaints.push(message.text());
    }
  });
  await page.goto(site.address);
  return { page, complaints };
}

/** How far the page reaches beyond the screen sideways, px: it must not. */
export const sidewaysPx = (page: Page) =>
  page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);

/** A first visit that lasts until this device can read by itself; then the visit that the test is about. */
export async function visitAgain(site: Site, device: BrowserContext) {
  const first = await visit(site, device);
  await first.page.getByText("Ready to work without a network.").waitFor();
  await first.page.close();
  const again = await visit(site, device);
  await again.page.getByText("Ready to work without a network.").waitFor();
  return again;
}
