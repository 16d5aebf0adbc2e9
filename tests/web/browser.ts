import { existsSync, mkdtempSync } from "node:fs";
import { rm } from "node:fs/promises";
import { createServer } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { type Browser, chromium, type Page } from "playwright-core";
import { build } from "vite";
import { createApp } from "../../server/app.ts";
import { openParts } from "../../server/parts.ts";

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));
const FLAGS =
  "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking --disable-component-update --disable-sync";

/** The real server over the built page, and a browser to look at it. */
export interface Site {
  readonly address: string;
  readonly browser: Browser;
  readonly close: () => Promise<void>;
}

export async function openSite(): Promise<Site> {
  if (!existsSync(here("../../web/dist/index.html"))) await build({ root: here("../../web"), logLevel: "warn" });
  const folder = mkdtempSync(join(tmpdir(), "deckbands-web-"));
  const parts = await openParts(folder);
  const app = createApp(parts, { page: here("../../web/dist/"), samples: SAMPLES });
  const server = createServer(app);
  await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
  const at = server.address();
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: FLAGS.split(" "),
  });
  return {
    address: `http://127.0.0.1:${typeof at === "object" && at ? at.port : 0}/`,
    browser,
    close: async () => {
      await browser.close();
      server.close();
      server.closeAllConnections();
      await parts.close();
      await rm(folder, { recursive: true, force: true });
    },
  };
}
export const SAMPLES = here("../../sample-images/");

export const PHONE = { width: 390, height: 844 };
export const DESKTOP = { width: 1280, height: 900 };

/** The page at this size, and what it complained of: a broken script, or something its security policy forbids. */
export async function openPage(site: Site, viewport = PHONE): Promise<{ page: Page; complaints: string[] }> {
  const page = await site.browser.newPage({ viewport, hasTouch: viewport.width < 600, acceptDownloads: true });
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
