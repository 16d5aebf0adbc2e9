import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import axe from "axe-core";
import type { BrowserContext, Page } from "playwright-core";
import sharp from "sharp";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { decode } from "../../server/decode.ts";
import { DESKTOP, openDevice, openSite, SAMPLES, type Site, sidewaysPx, visit, visitAgain } from "./browser.ts";

/** The camera: guidance before the shutter, a burst as one photo, and what the page does without a camera. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

const PHONE = { width: 390, height: 844 };
/** The frames that the camera shows, over and over: a sample, shaken a little between them. */
const SHAKES = [
  [0, 0],
  [5, -3],
  [-4, 4],
  [3, 5],
  [-6, -2],
] as const;
const [WIDTH, HEIGHT] = [1280, 960];

let folder: string;
let site: Site;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "deckbands-camera-"));
  const wide = await sharp(`${SAMPLES}black-sand.jpg`)
    .resize(WIDTH + 24, HEIGHT + 24)
    .toBuffer();
  const frames = await Promise.all(
    SHAKES.map(([x, y]) => {
      const part = { left: 12 + x, top: 12 + y, width: WIDTH, height: HEIGHT };
      return sharp(wide).extract(part).jpeg({ quality: 90, chromaSubsampling: "4:2:0" }).toBuffer();
    }),
  );
  const film = join(folder, "film.mjpeg");
  await writeFile(film, Buffer.concat(frames));
  site = await openSite(undefined, ["--use-fake-device-for-media-stream", `--use-file-for-fake-video-capture=${film}`]);
});
afterAll(async () => {
  await site.close();
  await rm(folder, { recursive: true, force: true });
});

const openCamera = async (page: Page) => {
  await page.getByRole("button", { name: "Photo with help from the camera" }).click();
  await page.locator(".camera-step").waitFor();
};
const allowed = (viewport: typeof PHONE): Promise<BrowserContext> =>
  openDevice(site, { viewport, permissions: ["camera"] });
const shot = async (page: Page, name: string) => {
  if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/camera-${name}.png` });
};
/** The file that was kept last on this device. */
const keptFile = (page: Page) =>
  page.evaluate(
    () =>
      new Promise<number[]>((resolve, reject) => {
        const opening = indexedDB.open("deckbands");
        opening.onerror = () => reject(opening.error);
        opening.onsuccess = () => {
          const asked = opening.result.transaction("files").objectStore("files").getAll();
          asked.onsuccess = () => resolve([...new Uint8Array(asked.result.at(-1).file)]);
        };
      }),
  );

it.each([
  ["phone", PHONE],
  ["desktop", DESKTOP],
])(
  "shows the deck's outline, says when it is good, and makes a burst into one photo, on a %s",
  async (name, viewport) => {
    const device = await allowed(viewport);
    const { page, complaints } = await visitAgain(site, device);
    await openCamera(page);
    const outline = page.locator(".camera-outline polygon").first();
    await outline.waitFor({ state: "attached" });
    await page.locator(".camera-told.good, .camera-told.mend").waitFor();
    await shot(page, name);
    const every = await page.evaluate(
      () =>
        new Promise<number>((resolve) => {
          const times: number[] = [];
          new MutationObserver((_, seen) => {
            times.push(performance.now());
            if (times.length < 5) return;
            seen.disconnect();
            resolve((times.at(-1)! - times[0]!) / (times.length - 1));
          }).observe(document.querySelector(".camera-outline")!, { childList: true });
        }),
    );
    console.info(`a look at a frame every ${Math.round(every)} ms`);
    // where the deck truly is in the film, as shares of the picture
    const { corners } = JSON.parse((await import("node:fs")).readFileSync(`${SAMPLES}black-sand.corners.json`, "utf8"));
    const { width = 1, height = 1 } = await sharp(`${SAMPLES}black-sand.jpg`).metadata();
    const truth = (corners as [number, number][]).map(([x, y]) => [x / width, y / height] as const);
    const drawn = (await outline.getAttribute("points"))!
      .split(" ")
      .map((p) => p.split(",").map(Number) as [number, number]);
    for (const [x, y] of truth) {
      expect(Math.min(...drawn.map(([u, v]) => Math.hypot(u - x, v - y)))).toBeLessThan(0.06);
    }
    await page.evaluate(axe.source);
    const wrong = await page.evaluate(async () =>
      (
        await (globalThis as unknown as { axe: typeof axe }).axe.run(document, { resultTypes: ["violations"] })
      ).violations.map(({ id, nodes }) => `${id}: ${nodes[0]?.html}`),
    );
    expect(wrong).toEqual([]);
    expect(await sidewaysPx(page)).toBe(0);
    const shutter = page.getByRole("button", { name: "Take the photo" });
    const box = (await shutter.boundingBox())!;
    expect(Math.min(box.width, box.height)).toBeGreaterThanOrEqual(80);

    const pressed = new Date();
    await shutter.click();
    await page.waitForSelector(".handle");
    // the camera is given back
    await expect.poll(() => page.locator("video").count()).toBe(0);
    const jpeg = Buffer.from(await keptFile(page));
    const { photo, takenAt } = await decode(jpeg);
    expect([photo.width, photo.height]).toEqual([WIDTH, HEIGHT]);
    expect(Math.abs(Date.parse(`${takenAt}Z`) - pressed.getTime() + pressed.getTimezoneOffset() * 60_000)).toBeLessThan(
      60_000,
    );
    expect(jpeg.toString("latin1")).toMatch(/Median of [4-7] frames, laid on each other/);
    await page.locator(".corners-step .main-button").click();
    await page.locator(".next h1").waitFor();
    await page.getByRole("button", { name: "Another photo" }).click();
    await page.locator(".kept-photo", { hasText: /deck-\d{4}-\d\d-\d\d-\d{6}-median-of-[4-7]\.jpg/ }).waitFor();
    expect(complaints).toEqual([]);
    await device.close();
  },
);

/** A camera that shows the sample so small, and so bright. */
const otherCamera = (page: Page, picture: string, [size, brightness]: readonly [number, number]) =>
  page.addInitScript(
    ({ picture, size, brightness }) => {
      navigator.mediaDevices.getUserMedia = async () => {
        const canvas = document.createElement("canvas");
        Object.assign(canvas, { width: 1280, height: 960 });
        const pen = canvas.getContext("2d")!;
        const image = new Image();
        image.src = picture;
        await image.decode();
        const draw = () => {
          pen.fillStyle = "#4b4238";
          pen.fillRect(0, 0, canvas.width, canvas.height);
          pen.filter = `brightness(${brightness})`;
          const [width, height] = [size * canvas.width, size * canvas.height];
          pen.drawImage(image, (canvas.width - width) / 2, (canvas.height - height) / 2, width, height);
        };
        setInterval(draw, 100);
        draw();
        return canvas.captureStream(10);
      };
    },
    { picture, size, brightness },
  );

it.each([
  ["Too far", [0.5, 1]],
  ["Too near", [1.3, 1]],
  ["Too dark", [1, 0.1]],
] as const)("says “%s” before the shutter", async (words, look) => {
  const device = await allowed(PHONE);
  const first = await visitAgain(site, device);
  await first.page.close();
  const page = await device.newPage();
  const small = await sharp(`${SAMPLES}black-sand.jpg`).resize(1280, 960).jpeg().toBuffer();
  await otherCamera(page, `data:image/jpeg;base64,${small.toString("base64")}`, look);
  await page.goto(site.address);
  await page.getByText("Ready to work without a network.").waitFor();
  await openCamera(page);
  await page.locator(".camera-told.mend", { hasText: words }).waitFor({ timeout: 60_000 });
  await shot(page, words.replace(" ", "-"));
  await device.close();
});

it("takes one frame where the device has nothing to help with, and says so", async () => {
  const device = await openDevice(site, { viewport: PHONE, permissions: ["camera"], serviceWorkers: "block" });
  const { page } = await visit(site, device);
  await openCamera(page);
  await page.getByText("No help before the photo yet").waitFor();
  await page.waitForFunction(() => (document.querySelector("video")?.videoWidth ?? 0) > 0);
  await page.getByRole("button", { name: "Take the photo" }).click();
  await page.waitForSelector(".handle");
  expect(Buffer.from(await keptFile(page)).toString("latin1")).toContain("One frame");
  await device.close();
});

it("says what to do when the camera is denied; the other ways to a photo stay", async () => {
  const device = await openDevice(site, { viewport: PHONE });
  const { page, complaints } = await visitAgain(site, device);
  await page.getByRole("button", { name: "Photo with help from the camera" }).click();
  await page.getByRole("alert").getByText("This page may not use the camera.").waitFor();
  await shot(page, "denied");
  await page.setInputFiles("#photo-file", `${SAMPLES}garnet-rill.jpg`);
  await page.waitForSelector(".handle");
  expect(complaints).toEqual([]);
  await device.close();
});

it("goes back to the photo step and gives the camera back", async () => {
  const device = await allowed(PHONE);
  const { page } = await visitAgain(site, device);
  await openCamera(page);
  await page.evaluate(() => {
    const stream = document.querySelector("video")!.srcObject as MediaStream;
    (globalThis as unknown as { track: MediaStreamTrack }).track = stream.getVideoTracks()[0]!;
  });
  await page.getByLabel("Language").selectOption("es"); // the screen is made anew, the camera stays on
  await page.getByRole("heading", { name: "Muestre todo el tablero" }).waitFor();
  const state = () => page.evaluate(() => (globalThis as unknown as { track: MediaStreamTrack }).track.readyState);
  expect(await state()).toBe("live");
  await page.getByRole("button", { name: "Volver a la foto" }).click();
  await page.locator("#open-camera").waitFor();
  expect(await state()).toBe("ended");
  await device.close();
});
