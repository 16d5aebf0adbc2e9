import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { labelPage } from "../../server/labels.ts";
import { Reader } from "../../server/reader.ts";
import { samplingOfRun } from "../../vision/accounts/sampling-of-run.ts";
import { SamplingAim, SamplingPlans } from "../../vision/contract/index.ts";
import { MOODY, problemOf, serving } from "./serving.ts";

const folder = mkdtempSync(join(tmpdir(), "deckbands-sampling-"));
afterAll(() => rmSync(folder, { recursive: true }));
const DEMO = "sample-images/runs/river-tin.sampling.json";
const aim = SamplingAim.parse(JSON.parse(readFileSync(DEMO, "utf8")));
const run = (...args: string[]) =>
  spawnSync(process.execPath, ["server/deckbands.mjs", "sampling", ...args], { encoding: "utf8" });

describe("a sampling plan", () => {
  it("is Gy's formula, worked out by hand for the feed", () => {
    // 1.95 % Sn in cassiterite of 78.77 % Sn (IUPAC 2021): a = 0.02476; m = (1 − a) / a · ((1 − a) 6.9 + a 2.65) = 267.6;
    // l = √(0.03 / 0.06) = 0.7071; C = 0.5 · 0.25 · 0.7071 · 267.6 = 23.65; C d³ = 23.65 · 0.06³ = 0.005109 g;
    // 5 % at 1.96 standard errors: s = 0.02551; 0.005109 / s² = 7.850 g, doubled 15.7 g (Gy 1979, as in Wills, ch. 3)
    const [feed] = samplingOfRun(aim).plans;
    expect(feed!.grams).toBeGreaterThan(15.65);
    expect(feed!.grams).toBeLessThan(15.75);
    expect(feed!.cuts).toBe(6); // (1.96 · 6 / 5)² = 5.53
    expect(feed!.minutesBetweenCuts).toBeCloseTo(35, 9);
    expect(feed!.leastOpeningMm).toBe(10);
  });

  it("asks more of a poorer stream, and four times as much for half the error", () => {
    const [feed, dense, light] = samplingOfRun(aim).plans;
    expect(light!.grams).toBeGreaterThan(feed!.grams);
    expect(dense!.grams).toBeLessThan(feed!.grams);
    const [half] = samplingOfRun({ ...aim, errorPercent: 2.5 }).plans;
    expect(half!.grams / feed!.grams).toBeCloseTo(4, 6);
  });

  it("is told by the command, with labels to print for each cut", () => {
    const { status, stdout, stderr } = run(DEMO, "--out", folder);
    expect(stderr).toBe("");
    expect(status).toBe(0);
    expect(stdout).toMatch(/feed: 16 g dry in 6 cuts of 2\.7 g, one every 35 min/);
    expect(stdout).toContain("Stop and lock out the drive");
    const page = readFileSync(join(folder, "labels.html"), "utf8");
    expect(page.match(/<li>/g)).toHaveLength(18);
    expect(page).toContain("cut 6 of 6, about 2.7 g");
    const told = SamplingPlans.parse(JSON.parse(run(DEMO, "--json").stdout));
    expect(told.plans).toHaveLength(3);
  });

  it("refuses a grade that no such mineral has, in words; labels show what was typed as text", () => {
    const path = join(folder, "wrong.json");
    writeFileSync(path, JSON.stringify({ ...aim, streams: [{ name: "dense", gradePercent: 80 }] }));
    const { status, stderr } = run(path);
    expect(status).toBe(2);
    expect(stderr).toContain("no less than pure cassiterite (78.8 %)");
    expect(labelPage([{ run: "<b>", stream: "x", cut: 1, cuts: 1, grams: 1 }])).toContain("&lt;b&gt;");
  });
});

it("labels of a plan come over HTTP too, in the language asked for", async () => {
  const app = await serving({ reader: new Reader({ entry: MOODY }) });
  try {
    const asked = (body: object, language: string) =>
      app.ask("POST", "/api/sampling-plan/labels.html", body, { "Accept-Language": language });
    const answer = await asked(aim, "fr-CA, en;q=0.5");
    expect(answer.headers.get("Content-Disposition")).toContain("attachment");
    const page = await answer.text();
    expect(page).toContain('<html lang="fr">');
    expect(page.match(/<li>/g)).toHaveLength(18);
    expect(page).toContain("prise 6 sur 6, environ 2,7 g");
    const wrong = { ...aim, streams: [{ name: "dense", gradePercent: 80 }] };
    await problemOf(await asked(wrong, "en"), 400, "body-wrong");
  } finally {
    await app.close();
  }
});
