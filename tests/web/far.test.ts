import { readFileSync, writeFileSync } from "node:fs";
import type { BrowserContext, Page } from "playwright-core";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { BUILT, DESKTOP, openDevice, openPage, openSite, type Site, visit } from "./browser.ts";
import { isSound } from "./sound.ts";

/**
 * The operator at the table and the expert far away, from sign-in to the operator seeing the answer; a lesson made, taken and
 * printed; a pack carried to a site of its own. Through the real page, server and Chromium, with a log-in for each.
 */

vi.setConfig({ testTimeout: 240_000, hookTimeout: 120_000 });

const PHRASE = "wet sand on a slow deck";
let north: Site;
let south: Site;
let operator: BrowserContext;
let expert: BrowserContext;
const complaints: string[][] = [];

beforeAll(async () => {
  [north, south] = await Promise.all([openSite(BUILT, [], { logIn: true }), openSite()]);
  operator = await openDevice(north, { viewport: { width: 390, height: 844 }, serviceWorkers: "block" });
  expert = await openDevice(north, { viewport: DESKTOP, hasTouch: false, serviceWorkers: "block" });
});
afterAll(async () => {
  await Promise.all([operator.close(), expert.close()]);
  await Promise.all([north.close(), south.close()]);
});

/** Come in by an invitation, log out, and log in with address and pass phrase. */
async function signIn(device: BrowserContext, role: "operator" | "trainer", name: string): Promise<Page> {
  const { members, data } = north.parts;
  const { token } = await members.invite(data.local, role, 1);
  const page = await device.newPage();
  await page.goto(`${north.address}join/${token}`);
  await page.getByLabel("Your name").fill(name);
  await page.getByLabel(/E-mail/).fill(`${name.toLowerCase()}@deck.example`);
  await page.getByLabel(/Pass phrase/).fill(PHRASE);
  await page.getByRole("button", { name: "Come in" }).click();
  await page.locator("#open-review").waitFor();
  await page.goto(`${north.address}account`);
  await page.getByRole("button", { name: "Log out" }).click();
  await page.getByLabel(/E-mail/).fill(`${name.toLowerCase()}@deck.example`);
  await page.getByLabel(/Pass phrase/).fill(PHRASE);
  await page.getByRole("button", { name: "Log in" }).click();
  await page.locator("#open-review").waitFor();
  await page.close();
  const again = await visit(north, device);
  complaints.push(again.complaints);
  return again.page;
}
async function readSample(page: Page) {
  await page.locator(".samples button").first().click();
  await page.waitForSelector(".handle");
  await page.locator(".corners-step .main-button").first().click();
}
async function saved(page: Page, name: string): Promise<Buffer> {
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name }).click()]);
  return readFileSync((await download.path())!);
}

let phone: Page;
let desk: Page;
let pack: Buffer;

it("operator and expert sign in; the operator asks, the expert corrects and answers, the operator sees it on the phone", async () => {
  phone = await signIn(operator, "operator", "Juma");
  desk = await signIn(expert, "trainer", "Rosa");
  await readSample(phone);
  await phone.locator(".next h1").waitFor({ timeout: 120_000 });
  await phone.locator(".review-asked > details summary").first().click();
  await phone.locator("#ask-why").selectOption("looksWrong");
  await phone.locator("#ask-note").fill("Is the edge right?");
  await phone.locator(".review-asked button").first().click();
  await phone.getByText("Asked. The answer will stand here.").waitFor();

  await desk.locator("#open-review").click();
  await desk.getByText("Is the edge right?").waitFor();
  await desk.locator(".review-queue button").first().click();
  await desk.getByText("Correct this reading").click();
  await desk.locator(".desk .flat-handle").first().press("Shift+ArrowDown");
  await desk.locator("#desk-save").click();
  await desk.getByText("Kept beside the reading, with your name.").waitFor();
  await desk
    .getByText(/^Rosa, /)
    .first()
    .waitFor();
  // it becomes a reference of the gallery, with its correction
  await desk.getByText("Take it into the gallery").click();
  await desk.getByRole("button", { name: "Take it in" }).click();
  await desk.getByText("Fill in what it shows").waitFor();
  for (const [field, words] of Object.entries({
    title: "Edge too high",
    dense: "black sand",
    light: "quartz",
    authors: "Juma and Rosa",
  })) {
    await desk.locator(`#reference-${field}`).fill(words);
  }
  await desk.locator("#reference-fault").selectOption("tooHigh");
  await desk.getByRole("button", { name: "Take it in" }).press("Enter");
  await desk.getByText("It stands in the gallery.").waitFor();
  await desk.getByRole("button", { name: "Splitters" }).click();
  await desk.locator(".desk .flat-handle").first().press("ArrowDown");
  await desk.locator(".review-phrases input[value=smallSteps]").check();
  await desk.locator("#review-note").fill("The edge lies a little lower.");
  await desk.getByRole("button", { name: "Send the answer" }).click();
  await desk.getByText("The answer is sent.").waitFor();

  await phone.evaluate(() => localStorage.setItem("deckbands language", "sw"));
  await phone.goto(north.address);
  await readSample(phone);
  await phone.locator(".review-answers").waitFor({ timeout: 120_000 });
  const answered = await phone.locator(".review-answers").textContent();
  expect(answered).toContain("The edge lies a little lower.");
  expect(answered).toContain("Rosa");
  expect(answered).toMatch(/Sogeza kigawanyaji cha juu 5\smm/);
  await isSound(phone, "far-answer-phone");
  await phone.evaluate(() => localStorage.setItem("deckbands language", "en"));
  await phone.goto(north.address);
});

it("an operator cannot do what is the trainer's: it is refused in words", async () => {
  await phone.locator("#open-gallery").click();
  await phone.locator(".gallery-card").first().waitFor();
  await phone.locator("#pack-gallery").click();
  await phone
    .getByText(/may not|not allowed|Ask/i)
    .first()
    .waitFor();
  await phone.goto(north.address);
});

it("the trainer makes a lesson from chosen references, the operator takes it, and the trainer prints it", async () => {
  await desk.goto(north.address);
  await desk.locator("#open-gallery").click();
  await desk.locator("#gallery-fault").selectOption("dry");
  await desk.getByText(/^\d references$/).waitFor();
  for (const n of [0, 1]) await desk.locator(".gallery-pick input").nth(n).check();
  await desk.locator("#gallery-fault").selectOption("");
  await desk.getByText("Find by words, material or deck").click();
  await desk.locator("#gallery-words").fill("edge too high");
  await desk.getByText(/^1 reference$/).waitFor();
  await desk.locator(".gallery-pick input").first().check();
  await desk.locator("#lesson-name").fill("Dry decks");
  await desk.getByRole("button", { name: "Make a lesson of 3 decks" }).click();
  await desk.getByText("“Dry decks” is made").waitFor();

  await phone.locator("#open-lesson").click();
  await phone.getByRole("button", { name: "Dry decks: 3 decks" }).click();
  for (let n = 0; n < 3; n++) {
    await phone.getByText(`Deck ${n + 1} of 3`).waitFor();
    await phone.locator("#lesson-fault").selectOption(n < 2 ? "dry" : "tooHigh");
    await phone.locator(".lesson-task .gallery-pick input").nth(0).check();
    await phone.locator(".lesson-task .gallery-pick input").nth(1).check();
    await phone.getByText("Splitter between dense and middling at").waitFor();
    await phone.locator("#lesson-change").selectOption({ label: "Turn the wash water up a little at a time." });
    if (n === 0) await isSound(phone, "far-task-phone");
    await phone.getByRole("button", { name: "See the truth" }).click();
    await phone.getByText(/^The right step\. What helps: Turn the wash water up/).waitFor();
    await phone.getByText(/^Splitter between dense and middling: best at/).waitFor();
    await phone.getByText(n < 2 ? "Right: Dry patches." : "Right: Bands lie too high.").waitFor();
    await phone.getByRole("button", { name: "Next" }).click();
  }
  await phone.getByText(/Done: on average/).waitFor();
  await phone.getByRole("button", { name: "Other lessons" }).click();
  await phone.getByText(/^3 decks so far/).waitFor();
  await isSound(phone, "far-lessons-phone");

  await desk.goto(north.address);
  await desk.locator("#open-lesson").click();
  await desk.getByRole("button", { name: "Dry decks: 3 decks" }).waitFor();
  await desk.getByText("Everybody's progress").first().click();
  await desk.getByRole("row", { name: /^Juma Dry decks 3 / }).waitFor();
  await isSound(desk, "far-progress-desk");
  const pdf = await saved(desk, "Sheet to print: Dry decks");
  if (process.env.KEEP_PDF) writeFileSync(process.env.KEEP_PDF, pdf);
  const text = pdf.toString("latin1");
  expect(text).toMatch(/^%PDF-1\./);
  const pages = text.match(/\/Type \/Page\b/g)!.length;
  expect(pages).toBeGreaterThanOrEqual(3); // two of decks, then answers on pages of their own
  expect(pages).toBeLessThanOrEqual(4);
  expect(text.match(/\/Subtype \/Image/g)!.length).toBe(6); // photo and bands of each deck
  pack = await saved(desk, "Save as a pack: Dry decks");
});

it("the pack is carried to a site without network: its signer and licences are shown, it is taken in, and the lesson is taken there", async () => {
  const { page, complaints: told } = await openPage(south, DESKTOP);
  complaints.push(told);
  const file = (buffer: Buffer) => ({ name: "dry.pack.zip", mimeType: "application/zip", buffer });
  await page.locator("#open-gallery").click();
  await page.locator(".gallery-card").first().waitFor();
  await page.locator("#pack-file").setInputFiles(file(pack.subarray(0, pack.length - 400)));
  await page.getByText("This is no whole pack: nothing was taken in.").waitFor();
  await page.locator("#pack-file").setInputFiles(file(pack));
  await page.getByText(/made by Rosa/).waitFor();
  await page.getByText(/^Licences: CC-BY-4\.0; CC0-1\.0\. Authors: .*Juma and Rosa/).waitFor();
  expect(await page.locator(".pack-key").textContent()).toMatch(/^[0-9a-f]{4}(-[0-9a-f]{4}){4}$/);
  await isSound(page, "pack-desk");
  await page.locator("#pack-take").press("Enter");
  await page.getByText(/“Dry decks” is in: 1 new reference, 1 new lesson; 2 were here already\./).waitFor();
  await page.getByRole("button", { name: "Back to the photo" }).click();
  await page.locator("#open-lesson").click();
  await page.getByRole("button", { name: "Dry decks: 3 decks" }).click();
  await page.getByText("Deck 1 of 3").waitFor();
  expect(complaints.flat()).toEqual([]);
});
