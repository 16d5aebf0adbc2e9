import { cpus, loadavg } from "node:os";
import { openPage, openSite } from "../web/browser.ts";

/** Pictures that the practice deck draws a second in headless Chromium: at rest, and while a control is dragged all the time. */

const SECONDS = 8;
const say = (what: string, value: string) => process.stdout.write(`${what.padEnd(58)} ${value}\n`);

const site = await openSite();
for (const viewport of [
  { width: 390, height: 844 },
  { width: 1280, height: 800 },
]) {
  const { page } = await openPage(site, viewport);
  await page.locator("#open-practice").click();
  await page.locator(".practice-picture").waitFor();
  await page.waitForTimeout(1500);
  for (const isDragged of [false, true]) {
    const { frames, longestMs } = await page.evaluate(
      async ([seconds, dragged]) => {
        const picture = document.querySelector<HTMLElement>(".practice-picture")!;
        const slider = document.querySelector<HTMLInputElement>("#practice-washWaterLitresPerMinute")!;
        const [first, start] = [Number(picture.dataset.frames), performance.now()];
        let [last, longestMs, seen] = [start, 0, first];
        while (performance.now() - start < 1000 * seconds!) {
          await new Promise((resolve) => requestAnimationFrame(resolve));
          const now = performance.now();
          const drawn = Number(picture.dataset.frames);
          if (drawn > seen) {
            longestMs = Math.max(longestMs, now - last);
            [seen, last] = [drawn, now];
          }
          if (!dragged) continue;
          slider.value = String(5 + 30 * (0.5 + 0.5 * Math.sin(now / 400)));
          slider.dispatchEvent(new Event("input"));
        }
        return { frames: (seen - first) / ((performance.now() - start) / 1000), longestMs };
      },
      [SECONDS, isDragged ? 1 : 0],
    );
    const what = `${viewport.width} × ${viewport.height}, ${isDragged ? "wash water dragged all the time" : "at rest"}`;
    say(what, `${frames.toFixed(1)} pictures a second, longest gap ${Math.round(longestMs)} ms`);
  }
  await page.close();
}
await site.close();
say("Processors, load over the last minute", `${cpus().length}, ${loadavg()[0]!.toFixed(1)}`);
