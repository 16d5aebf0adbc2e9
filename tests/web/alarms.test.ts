import axe from "axe-core";
import type { BrowserContext, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, expect, it, vi } from "vitest";
import { randomFrom } from "../../vision/scene/random.ts";
import { keepRows } from "../server/kept-readings.ts";
import { quietDeck, readingOf } from "../vision/accounts/deck-readings.ts";
import { gaussFrom } from "../vision/accounts/gauss.ts";
import { DESKTOP, openDevice, openSite, PHONE, type Site, sidewaysPx, visit } from "./browser.ts";

/** Alarms reach the open page, and the closed one through its service worker; and no more once they are withdrawn. */

vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });
let site: Site;
let device: BrowserContext;
let deck: string;
let photos = 0;
beforeAll(async () => {
  site = await openSite(process.env.PAGE);
  const file = { schemaVersion: 1, lengthMm: 1830, widthMm: 910 };
  const headers = { "Content-Type": "application/json" };
  const body = JSON.stringify({ name: "North", file });
  ({ id: deck } = await (await fetch(`${site.address}api/decks`, { method: "POST", body, headers })).json());
  for (let i = 0; i < 64; i++) await keep();
});
afterAll(() => site.close());
afterEach(() => device.close());

const quiet = quietDeck(gaussFrom(randomFrom(33)));
const name = (i: number) => i.toString(16).padStart(64, "0");
async function keep() {
  const i = photos++;
  const at = new Date(Date.UTC(2031, 4, 4, 6, 10 * i)).toISOString().slice(0, 19);
  const photo = { id: name(i + 1), name: `${i}.jpg`, takenAt: at };
  const reading = readingOf(quiet(i, (k) => (k >= 60 ? 70 : 0)));
  await keepRows(site.parts, photo, { id: name(1000 + i), deck, reading });
}
/** The deck's newest photo has just been read; what was told before counts no more. */
async function alarm() {
  await site.parts.data.db.deleteFrom("alarms_told").execute();
  site.parts.watcher.heard(site.parts.data.local.site, name(1000 + photos - 1));
}
const shot = async (page: Page, file: string) => {
  if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/${file}.png` });
};
async function openChoice(page: Page) {
  await page.locator("#open-runs").click();
  await page.getByRole("heading", { level: 1, name: "Runs" }).waitFor();
  if (!(await page.locator("#run-name").isVisible())) await page.getByText("Start a new run").click();
  await page.locator("#run-name").fill("Watched");
  await page.locator("#start-run").click();
  await page.locator("#run-charts > summary").click();
}

it("a browser that cannot push has the open page told, on any screen and after a reload, until it is withdrawn", async () => {
  device = await openDevice(site, { viewport: PHONE, serviceWorkers: "block" });
  const { page, complaints } = await visit(site, device);
  await openChoice(page);
  await page.locator("#want-alarms").press("Enter");
  await page.locator("#withdraw-alarms").waitFor();
  expect(await page.locator("#alarm-choice [role=status]").textContent()).toMatch(
    /Leave the page open|Notifications are blocked/,
  );
  await shot(page, "alarm-choice-phone");
  await page.reload();
  await page.locator("#open-runs").waitFor();
  await vi.waitFor(
    async () => {
      await alarm();
      await page.locator(".alarm-notice h2").waitFor({ timeout: 3000 });
    },
    { timeout: 40_000 },
  );
  expect(await page.locator(".alarm-notice h2").textContent()).toMatch(/^North: Step, since/);
  expect(await page.locator(".alarm-notice").textContent()).toContain(
    "Most likely more wash water or a steeper cross slope",
  );
  for (const [size, file] of [
    [PHONE, "phone"],
    [DESKTOP, "desktop"],
  ] as const) {
    await page.setViewportSize(size);
    expect(await sidewaysPx(page)).toBe(0);
    await shot(page, `alarm-notice-${file}`);
  }
  await page.evaluate(axe.source);
  const { violations } = await page.evaluate(() => (window as never as { axe: typeof axe }).axe.run());
  expect(violations.map(({ id }) => id)).toEqual([]);
  await page.getByRole("button", { name: "Look at the charts" }).press("Enter");
  await page.getByRole("heading", { level: 1, name: "Runs" }).waitFor();
  expect(await page.locator(".alarm-notice").isVisible()).toBe(false);
  await page.locator("#run-charts > summary").click();
  await page.locator("#withdraw-alarms").click();
  await page.locator("#want-alarms").waitFor();
  await alarm();
  await new Promise((later) => setTimeout(later, 2500));
  expect(await page.locator(".alarm-notice").count()).toBe(0);
  expect(complaints).toEqual([]);
});

it("the service worker shows a pushed alarm in the language it comes in; pressed, it opens the runs", async () => {
  device = await openDevice(site, { viewport: PHONE });
  await device.grantPermissions(["notifications"], { origin: new URL(site.address).origin });
  const { page } = await visit(site, device);
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => {}));
  const wire = await device.newCDPSession(page);
  const registered = new Promise<string>((found) => {
    wire.on("ServiceWorker.workerRegistrationUpdated", ({ registrations }) => {
      if (registrations[0]) found(registrations[0].registrationId);
    });
  });
  await wire.send("ServiceWorker.enable");
  const message = { title: "North: Salto, desde las 10:00", body: "denso, final +70 mm.", language: "es", deck };
  const push = {
    origin: new URL(site.address).origin,
    registrationId: await registered,
    data: JSON.stringify(message),
  };
  // a message that comes while the worker still starts is lost here; a second one takes the first one's place
  const shown = await vi.waitFor(
    async () => {
      await wire.send("ServiceWorker.deliverPushMessage", push);
      const all = await page.evaluate(async () => {
        const registration = await navigator.serviceWorker.ready;
        return (await registration.getNotifications()).map(({ title, body, lang, tag }) => ({
          title,
          body,
          lang,
          tag,
        }));
      });
      expect(all).toHaveLength(1);
      return all[0]!;
    },
    { timeout: 30_000, interval: 1000 },
  );
  expect(shown).toEqual({ title: message.title, body: message.body, lang: "es", tag: deck });
  // what a press on it sends to the page that is open
  await page.evaluate(() => navigator.serviceWorker.dispatchEvent(new MessageEvent("message", { data: "open runs" })));
  await page.getByRole("heading", { level: 1, name: "Runs" }).waitFor();
});

it("who logs out on a shared phone is told no more, whoever comes next", async () => {
  device = await openDevice(site, { viewport: PHONE });
  const first = await visit(site, device);
  await first.page.evaluate(() => navigator.serviceWorker.ready.then(() => {}));
  await first.page.close();
  const { page } = await visit(site, device);
  await openChoice(page);
  await page.locator("#want-alarms").press("Enter");
  await page.locator("#withdraw-alarms").waitFor();
  await page.reload();
  await openChoice(page);
  await page.locator("#withdraw-alarms").waitFor(); // until then it holds
  await page.evaluate(() => {
    const form = Object.assign(document.createElement("form"), { method: "post", action: "log-out" });
    document.body.append(form);
    form.submit();
  });
  await page.waitForURL(/log-out/);
  await page.goto(site.address);
  await openChoice(page);
  await page.locator("#want-alarms").waitFor();
});
