import axe from "axe-core";
import type { Page } from "playwright-core";
import { expect } from "vitest";
import { sidewaysPx } from "./browser.ts";

/** Smallest side of what is pressed, px. */
const LEAST_PX = 48;

/** No screen has a fault that axe-core knows, runs out sideways, or has something too small to press. */
export async function isSound(page: Page, name: string) {
  if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/${name}.png`, fullPage: true });
  await page.evaluate(axe.source);
  const { violations } = await page.evaluate(async () =>
    (globalThis as unknown as { axe: typeof axe }).axe.run(document, { resultTypes: ["violations"] }),
  );
  expect(
    violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 160)).join(" | ")}`),
    name,
  ).toEqual([]);
  expect(await sidewaysPx(page), name).toBe(0);
  const small = await page.evaluate((least) => {
    const pressed = document.querySelectorAll<HTMLElement>(
      "main button, main select, main summary, main label.gallery-pick",
    );
    return [...pressed]
      .filter((one) => one.offsetParent !== null)
      .filter((one) => Math.min(one.offsetHeight, one.offsetWidth) < least)
      .map((one) => one.outerHTML.slice(0, 120));
  }, LEAST_PX);
  expect(small, name).toEqual([]);
}
