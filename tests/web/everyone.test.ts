import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import axe from "axe-core";
import type { BrowserContext, Page } from "playwright-core";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { DESKTOP, openDevice, openSite, PHONE, SAMPLES, type Site, sidewaysPx, visitAgain } from "./browser.ts";

/** Everyone can use every screen: by the rules that axe-core knows, by size of what is pressed, enlarged, in each language. */

// a browser that shares two processors with other work takes its time
vi.setConfig({ testTimeout: 120_000 });

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

/** Smallest side of what is pressed, px. */
const LEAST_PX = 48;
const PHOTO = `${SAMPLES}garnet-rill.jpg`;
const DECK = `${SAMPLES}garnet-rill.deck.json`;

/** Every screen of the page, one after the other; `look` is called on each. */
async function walk(page: Page, look: (name: string) => Promise<void>) {
  await look("photo");
  await page.locator("#open-set-up").click();
  await page.locator(".set-up").waitFor();
  const folded = page.locator(".set-up details:not([open]) > summary");
  while ((await folded.count()) > 0) await folded.first().click();
  await page.locator("#units").selectOption("us");
  await page.locator("#set-up-shim").fill("0.5");
  await page.locator(".set-up .sum dl").first().waitFor();
  await look("set-up");
  await page.locator(".set-up > .choices button").click();
  await page.setInputFiles("#photo-file", {
    name: "notes.jpg",
    mimeType: "image/jpeg",
    buffer: Buffer.from("no photo"),
  });
  await page.getByRole("alert").waitFor();
  await look("a photo that is none");
  await page.setInputFiles("#photo-file", PHOTO);
  await page.waitForSelector(".handle");
  await page.locator("#size-known").check();
  await page.locator(".settings summary").click();
  await look("corners");
  await page.setInputFiles("#deck-file", DECK);
  await page.locator(".loaded").waitFor();
  await page.locator(".side .go button").first().click();
  await page.locator(".tap-stage").waitFor();
  await look("taps");
  await page.locator(".go .main-button").click();
  await page.locator(".stages .now").waitFor();
  await look("reading");
  await page.locator(".next h1").waitFor();
  for (const summary of await page.locator(".result summary").all()) await summary.click();
  await look("result");
  await page.locator(".picture-button").click();
  await look("large picture");
  await page.keyboard.press("Escape");
  await page.locator(".view-choices button").nth(1).click();
  await page.locator(".flat-launders tbody tr").first().waitFor();
  await page.locator(".flat-handle").first().press("PageDown");
  await page.locator(".flat-told.is-try").waitFor();
  await look("flat deck");
  await page.locator(".result-right .choices button").nth(2).click();
  await page.locator(".kept li").first().waitFor();
  await look("photo, with what is kept");
  await page.locator("#open-history").click();
  await page.locator(".history tbody tr").first().waitFor();
  await look("a deck in time");
}

/** What axe-core finds wrong, in short. */
async function faults(page: Page) {
  const { violations } = await page.evaluate(async () =>
    (globalThis as unknown as { axe: typeof axe }).axe.run(document, { resultTypes: ["violations"] }),
  );
  return violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 120)).join(" | ")}`);
}

it.each([
  ["phone", PHONE, "light"],
  ["desktop", DESKTOP, "dark"],
] as const)("axe-core finds nothing wrong on any screen of a %s", async (_name, viewport, colorScheme) => {
  const device = await openDevice(site, { viewport, colorScheme });
  const { page, complaints } = await visitAgain(site, device);
  await page.evaluate(axe.source);
  const found: Record<string, string[]> = {};
  await walk(page, async (screen) => {
    const wrong = await faults(page);
    if (wrong.length > 0) found[screen] = wrong;
  });
  expect(found).toEqual({});
  expect(complaints).toEqual([]);
  await device.close();
});

/** What can be pressed and is smaller than a wet thumb needs. A link within a sentence may be; there is none. */
const tooSmall = (page: Page) =>
  page.evaluate((least) => {
    const visible = (box: DOMRect) => box.width > 0 && box.height > 0;
    return [
      ...document.querySelectorAll<HTMLElement>(
        "button, a[href], summary, select, label.button, .check label, input[type=number], input[type=text], [role=slider]",
      ),
    ]
      .filter((e) => !e.closest("[hidden]") && !e.closest(".corner-list"))
      .map((e) => ({ e, box: e.getBoundingClientRect() }))
      .filter(({ box }) => visible(box) && Math.min(box.width, box.height) < least)
      .map(({ e, box }) => `${e.outerHTML.slice(0, 90)} ${Math.round(box.width)} × ${Math.round(box.height)}`);
  }, LEAST_PX);

it.each([
  ["phone", PHONE],
  ["desktop", DESKTOP],
])(
  "nothing to press is smaller than 48 px on a %s, and nothing runs off the screen sideways",
  async (_name, viewport) => {
    const device = await openDevice(site, { viewport });
    const { page } = await visitAgain(site, device);
    const found: Record<string, unknown> = {};
    await walk(page, async (screen) => {
      const [small, sideways] = [await tooSmall(page), await sidewaysPx(page)];
      if (small.length > 0 || sideways !== 0) found[screen] = { small, sideways };
    });
    expect(found).toEqual({});
    await device.close();
  },
);

it("reads from right to left as well: every screen fits, what can be pressed keeps its size, pictures keep their sides", async () => {
  const device = await openDevice(site, { viewport: { width: 390, height: 844 } });
  await device.addInitScript(() => {
    // as a file with language.direction rtl would have it; the letters stay English
    const turn = () => {
      if (document.documentElement.dir !== "rtl") document.documentElement.dir = "rtl";
    };
    new MutationObserver(turn).observe(document, { attributes: true, attributeFilter: ["dir"], subtree: true });
  });
  const { page, complaints } = await visitAgain(site, device);
  const found: Record<string, unknown> = {};
  await walk(page, async (screen) => {
    expect(await page.locator("html").getAttribute("dir")).toBe("rtl");
    // what is cut off at the left can never be scrolled to in a page that reads from the right
    const [small, sideways, cut] = [await tooSmall(page), await sidewaysPx(page), await cutAtLeft(page)];
    if (small.length > 0 || sideways !== 0 || cut.length > 0) found[screen] = { small, sideways, cut };
    if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/rtl-${screen}.png`, fullPage: true });
  });
  expect(found).toEqual({});
  const card = page.locator(".history .card, .card").first();
  const [outer, words] = [(await card.boundingBox())!, (await card.locator("h1, h2").first().boundingBox())!];
  expect(outer.x + outer.width - (words.x + words.width)).toBeLessThan(32); // begins at the right
  expect(complaints).toEqual([]);
  await device.close();
});

/** What reaches beyond the left edge, but for what scrolls in a frame of its own or is told to screen readers only. */
const cutAtLeft = (page: Page) =>
  page.evaluate(() =>
    [...document.querySelectorAll<HTMLElement>("main *, header *")]
      .filter(
        (e) => e.getClientRects().length > 0 && !e.closest("svg, dialog, .table-wrap, .stage, .flat-stage, .swipe"),
      )
      .filter((e) => e.getBoundingClientRect().width > 1 && e.getBoundingClientRect().left < -1)
      .map((e) => e.outerHTML.slice(0, 90)),
  );

it("lays out by start and end, never by left and right, but for what lies on a picture", () => {
  const css = readFileSync(fileURLToPath(new URL("../../web/style.css", import.meta.url)), "utf8");
  const onPictures = /\.(stage-photo|handle span|glass|glass\.at-right|corner-stage \.quick-look|swipe-line)\b/;
  const rules = [...css.replace(/\/\*[\s\S]*?\*\//g, "").matchAll(/([^{}]+)\{([^{}]*)\}/g)];
  const sided = rules.filter(
    ([, name = "", body = ""]) =>
      /(?:^|[\s;])(?:left|right|(?:margin|padding|border)-(?:left|right)[\w-]*|float|text-align:\s*(?:left|right))\b\s*:?/m.test(
        body,
      ) && !onPictures.test(name),
  );
  expect(rules.length).toBeGreaterThan(200);
  expect(sided.map(([rule]) => rule.trim())).toEqual([]);
});

it("can be read with letters twice as large, and on a screen 320 px wide", async () => {
  for (const [viewport, letters] of [
    [PHONE, "200%"],
    [{ width: 320, height: 568 }, "100%"],
  ] as const) {
    const device = await openDevice(site, { viewport });
    const { page } = await visitAgain(site, device);
    await page.evaluate((size) => {
      document.documentElement.style.fontSize = size;
    }, letters);
    const found: Record<string, number> = {};
    await walk(page, async (screen) => {
      const sideways = await sidewaysPx(page);
      if (sideways > 0) found[`${screen}, ${viewport.width} px, ${letters}`] = sideways;
    });
    expect(found).toEqual({});
    await device.close();
  }
});

/** The page in this language from the browser's own settings. */
const speaking = async (locale: string) => {
  const device = await openDevice(site, { locale });
  return { device, ...(await visitReady(device)) };
};
async function visitReady(device: BrowserContext) {
  const page = await device.newPage();
  const complaints: string[] = [];
  page.on("pageerror", (error) => complaints.push(error.message));
  await page.goto(site.address);
  await page.waitForSelector(".samples button");
  await page.waitForFunction(
    () =>
      (document.querySelector(".readiness:not([hidden])")?.querySelectorAll("button:not([hidden])").length ?? 1) === 0,
  );
  return { page, complaints };
}

it.each([
  ["es-PE", "Próximo paso", "Foto de la mesa en marcha"],
  ["pt-BR", "Próximo passo", "Foto da mesa em funcionamento"],
  ["fr-FR", "Prochaine étape", "Photo de la table en marche"],
  ["sw-KE", "Hatua inayofuata", "Picha ya meza inayofanya kazi"],
  ["id-ID", "Langkah berikutnya", "Foto meja yang sedang berjalan"],
])("speaks the browser's language, %s, on every screen, and fits it on a phone", async (locale, next, title) => {
  const { device, page, complaints } = await speaking(locale);
  expect(await page.locator("html").getAttribute("lang")).toBe(locale.split("-")[0]);
  expect(await page.locator("h1").textContent()).toBe(title);
  const found: Record<string, unknown> = {};
  await walk(page, async (screen) => {
    const [small, sideways] = [await tooSmall(page), await sidewaysPx(page)];
    if (small.length > 0 || sideways !== 0) found[screen] = { small, sideways };
    if (screen !== "result") return;
    expect(await page.locator(".eyebrow").textContent()).toBe(next);
    expect(await page.locator(":is(.next, .hint, .caution-card, .numbers) [lang=en]").count()).toBe(0); // sources too
    const cell = await page.locator(".numbers tbody td").first().textContent();
    // no marks between thousands in any language; inches beside, since US units were chosen
    expect(cell).toMatch(/^\d+ \(\d+[.,]\d\d\)( ±\s\d+ \(\d+[.,]\d\d\))?$/);
  });
  expect(found).toEqual({});
  expect(complaints).toEqual([]);
  await device.close();
});

it("changes the language when another is picked, keeps photo and step, and remembers it", async () => {
  const device = await openDevice(site, { locale: "de-DE" }); // not here: English
  const { page } = await visitReady(device);
  expect(await page.locator("html").getAttribute("lang")).toBe("en");
  await page.setInputFiles("#photo-file", PHOTO);
  await page.waitForSelector(".handle");
  const picker = page.getByLabel("Language");
  expect(await picker.locator("option").allTextContents()).toEqual(
    expect.arrayContaining(["English", "español", "français", "Indonesia", "Kiswahili", "português"]),
  );
  await picker.selectOption("sw");
  await page.getByRole("heading", { name: "Uso wa meza uko wapi?" }).waitFor();
  expect(await page.locator(".handle").count()).toBe(4);
  await page.reload();
  await page.getByRole("heading", { name: "Picha ya meza inayofanya kazi" }).waitFor();
  await device.close();
});

it("writes numbers as the language does", async () => {
  const { device, page } = await speaking("es-ES");
  await page.setInputFiles("#photo-file", PHOTO);
  await page.waitForSelector(".handle");
  await page.locator(".corners-step .main-button").click();
  await page.locator(".next h1").waitFor();
  expect(await page.locator(".numbers tbody td").first().textContent()).toMatch(/^\d+,\d/); // per cent of the outlet
  await device.close();
});

it("may run from right to left", async () => {
  const device = await openDevice(site);
  const { page } = await visitReady(device);
  await page.evaluate(() => {
    document.documentElement.dir = "rtl";
  });
  const found: Record<string, number> = {};
  await walk(page, async (screen) => {
    const sideways = await sidewaysPx(page);
    if (sideways !== 0) found[screen] = sideways;
    if (screen !== "result") return;
    const [card, heading] = [
      await page.locator(".next").boundingBox(),
      await page.locator(".next h2").first().boundingBox(),
    ];
    expect(card!.x + card!.width - (heading!.x + heading!.width)).toBeLessThan(40); // words begin at the right
  });
  expect(found).toEqual({});
  await device.close();
});
