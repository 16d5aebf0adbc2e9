import { readFileSync, writeFileSync } from "node:fs";
import { inflateSync } from "node:zlib";
import { strFromU8, unzipSync } from "fflate";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { tellCase } from "../../server/jobs/report.ts";
import { Reader } from "../../server/reader.ts";
import { speechIn } from "../../server/speech.ts";
import * as contract from "../../vision/contract/index.ts";
import { randomFrom } from "../../vision/scene/random.ts";
import { quietDeck, readingOf } from "../vision/accounts/deck-readings.ts";
import { gaussFrom } from "../vision/accounts/gauss.ts";
import { keepRows } from "./kept-readings.ts";
import { denseBetween } from "./readings.ts";
import { MOODY, problemOf, type Serving, serving, until } from "./serving.ts";

let app: Serving;
let run: string;
const at = (i: number) => new Date(Date.UTC(2031, 4, 4, 8, 5 * i)).toISOString().slice(0, 19);
const name = (i: number) => i.toString(16).padStart(64, "0");
const SHEET = new URL("../../sample-images/runs/river-tin.run.csv", import.meta.url);
const json = async (answer: Promise<Response>) => (await answer).json();

beforeAll(async () => {
  app = await serving({ reader: new Reader({ entry: MOODY }) });
  ({ id: run } = await json(app.ask("POST", "/api/runs", { name: "Morning", startedAt: "2031-05-04T08:00:00.000Z" })));
  const body = readFileSync(SHEET);
  const headers = { "Content-Type": "text/csv", "If-Match": '"0"' };
  expect((await fetch(`${app.at}/api/runs/${run}/sheet.csv`, { method: "PUT", body, headers })).status).toBe(200);
  const settings = {
    washWaterLitresPerMinute: 12,
    seen: ["feed surges"],
    reach: { strokeMm: { least: 8, most: 16 } },
    edgeCounts: [{ atMm: 240, grains: { dense: 30, middling: 5, light: 15 } }],
  };
  expect((await app.ask("POST", `/api/runs/${run}/settings`, { settings })).status).toBe(201);
  await keepReadings();
});
afterAll(() => app.close());

/** Photos and readings as the server makes them, but for the photos' bytes; two with a drawn picture. */
async function keepReadings(): Promise<void> {
  const quiet = quietDeck(gaussFrom(randomFrom(8)));
  const drawn = await sharp({ create: { width: 1600, height: 1200, channels: 3, background: "#886644" } })
    .jpeg()
    .toBuffer();
  const overlay = await app.parts.data.blobs.keep(new Uint8Array(drawn));
  const plane = sharp(new Uint8Array(915 * 455).fill(2), { raw: { width: 915, height: 455, channels: 1 } });
  const png = await plane.toColourspace("b-w").png().toBuffer();
  const pictures = { overlay, classes: await app.parts.data.blobs.keep(new Uint8Array(png)) };
  for (let i = 0; i < 40; i++) {
    const photo = { id: name(i + 1), name: `deck-${i}.jpg`, takenAt: at(i), run, preview: overlay };
    const reading = readingOf(quiet(i, (n) => (n >= 25 ? 70 : 0)));
    await keepRows(app.parts, photo, { id: name(1000 + i), reading, ...(i < 2 && { drawn: pictures }) });
  }
}

async function report(query = ""): Promise<string> {
  const asked = await app.ask("POST", `/api/runs/${run}/reports${query}`);
  const { id } = contract.ReportReceipt.parse(await asked.json());
  const job = await until(async () => {
    const told = contract.Job.parse(await json(app.get(`/api/jobs/${id}`)));
    return ["done", "given-up"].includes(told.state) && told;
  });
  expect(job.problem).toBeNull();
  return id;
}
const bytes = async (path: string) => new Uint8Array(await (await app.get(path)).arrayBuffer());

describe("a case told to people outside", () => {
  it.each([
    ["en", "<h3>Move the upper splitter 18 mm toward the wash-water corner, to 222 mm.</h3>", "Stop and lock out"],
    ["pt", "<h3>Mova o divisor superior", "Pare e bloqueie"],
  ])("in %s: the order, why, what to see next, its source, cautions", (code, order, care) => {
    const speech = speechIn(code);
    const page = tellCase(speech, denseBetween(10, 222, 4), "picture.jpg").replaceAll("\u00a0", " ");
    expect(page).toContain(`<html lang="${code}">`);
    for (const said of [
      order,
      care,
      `invented for this test (${speech.say("basis.computed")})`,
      speech.say("next.expect"),
      '<img src="picture.jpg"',
    ])
      expect(page, said).toContain(said);
  });
});

describe("a run told", () => {
  it("as a page: balance with errors and verdict, charts with what they say in words, photos, changes, cautions", async () => {
    const id = await report();
    const answer = await app.get(`/api/reports/${id}`);
    expect(answer.headers.get("Content-Security-Policy")).toMatch(
      /^sandbox; default-src 'none'; style-src 'sha256-[\w+/]+='; img-src data:$/,
    );
    const page = (await answer.text()).replaceAll("\u00a0", " ");
    if (process.env.SHOTS) writeFileSync(`${process.env.SHOTS}/report.html`, page);
    for (const said of [
      "The middling mass does not fit; weigh it again.",
      "87.00 ± 0.50",
      "<td>Wash water: 12 L/min; The feed surges; counted at 240 mm: 30 dense, 5 middling, 15 light grains</td>",
      "Wash water: 14.00 ± 0.40 L/min",
      "Splitter upper changed to 255.0 ± 2.0 mm",
      "feed pump stopped for two minutes",
      "Run the middling again.",
      "dense, ends: 40 photos",
      "1 alarm (triangle)",
      "wash water or a steeper cross slope",
      "deck-39.jpg",
      "Stop and lock out the drive",
    ]) {
      expect(page, said).toContain(said);
    }
    // 423.9 kg fed / 18.302 kg; 32.97 % Sn / 1.946 %; what is won of cassiterite less what is of gangue
    const figures = String.raw`<t[dh][^>]*>Sn</t[dh]><td>23\.16 ± 0\.\d+</td><td>16\.9\d ± 0\.\d+</td><td>70\.\d+ ± 0\.\d+ %</td>`;
    expect(page).toMatch(new RegExp(figures));
    expect(page.match(/<img src="data:image\/jpeg;base64,/g)).toHaveLength(2);
    expect(page.match(/<style/g)).toHaveLength(1);
    expect(page).not.toMatch(/<script|style=/);
  });

  it("as PDF with the same words, its letters in it, and pictures", async () => {
    const id = await report();
    const answer = await app.get(`/api/reports/${id}/report.pdf`);
    expect(answer.headers.get("Content-Type")).toBe("application/pdf");
    const pdf = new Uint8Array(await answer.arrayBuffer());
    if (process.env.SHOTS) writeFileSync(`${process.env.SHOTS}/report.pdf`, pdf);
    const raw = Buffer.from(pdf).toString("latin1");
    // header, trailer and cross references (ISO 32000-1, section 7.5)
    expect(raw).toMatch(/^%PDF-1\.\d/);
    expect(raw.trimEnd()).toMatch(/startxref\s+\d+\s+%%EOF$/);
    expect(raw).toContain("/Subtype /Image");
    expect(raw).toContain("/FontFile2");
    expect(raw.match(/\/Type \/Page\b/g)!.length).toBeGreaterThan(3);
    expect(glyphsOf(pdf)).toBeGreaterThan(3000);
  });

  it("with the data beside it, as CSV", async () => {
    const id = await report();
    const files = unzipSync(await bytes(`/api/reports/${id}/data.zip`));
    expect(Object.keys(files).toSorted()).toEqual(["balance.csv", "charts.csv", "readings.csv", "run.csv"]);
    const lines = (file: string) => strFromU8(files[file]!).trim().split("\n");
    expect(lines("charts.csv")).toHaveLength(41);
    expect(lines("readings.csv")).toHaveLength(1 + 3 * 40);
    expect(lines("readings.csv")[1]).toMatch(
      /^deck-0\.jpg,2031-05-04T08:00:00,\w{64},true,deck file,dense,0,,[\d.]+,4$/,
    );
    expect(lines("charts.csv")[0]).toMatch(/^when,reading,"dense, ends, mm","dense, ends ±, mm"/);
    expect(lines("balance.csv").some((line) => line.startsWith("middling,dry mass,kg,87,0.5"))).toBe(true);
    expect(lines("run.csv")[0]).toBe("kind,stream,sample,item,value,error,unit,time,who,note");
  });

  it("its figures close, recounted from the CSV alone: masses, metals, chi-square, recovery", async () => {
    const id = await report();
    const files = unzipSync(await bytes(`/api/reports/${id}/data.zip`));
    const rows = strFromU8(files["balance.csv"]!)
      .trim()
      .split("\n")
      .slice(1)
      .map((line) => {
        const [stream, item, , given, givenError, balanced, , , misfit] = line.split(",");
        return { stream, item, given: Number(given), error: Number(givenError), balanced: Number(balanced), misfit };
      });
    const of = (stream: string, item: string) => rows.find((row) => row.stream === stream && row.item === item)!;
    const products = ["dense", "middling", "light", "clean-up"];
    const mass = (stream: string) => of(stream, "dry mass").balanced;
    const closes = (a: number, b: number) => expect(Math.abs(a / b - 1)).toBeLessThan(1e-6);
    closes(
      products.reduce((sum, one) => sum + mass(one), 0),
      mass("feed"),
    );
    for (const one of products) closes(of(one, "ratio of concentration").balanced, mass("feed") / mass(one));
    for (const metal of ["Sn", "Fe"]) {
      const metalIn = (stream: string) => mass(stream) * of(stream, metal).balanced;
      closes(
        products.reduce((sum, one) => sum + metalIn(one), 0),
        metalIn("feed"),
      );
      for (const one of products) closes(of(one, `${metal} recovery`).balanced, (100 * metalIn(one)) / metalIn("feed"));
    }
    const used = rows.filter(
      ({ item, given, misfit }) => ["dry mass", "Sn", "Fe"].includes(item!) && given > 0 && misfit === "no",
    );
    const chiSquare = used.reduce((sum, { given, balanced, error }) => sum + ((balanced - given) / error) ** 2, 0);
    const told = contract.RunBalance.parse(await json(app.get(`/api/runs/${run}/balance`)));
    expect(chiSquare).toBeCloseTo(told.chiSquare, 3);
    // the two-product formula on assays alone (Wills & Finch 2016, ch. 3) cannot be far from it: nearly all tin leaves by two ways
    const [f, c, t] = ["feed", "dense", "light"].map((one) => of(one, "Sn").given) as [number, number, number];
    const split = (c * (f - t)) / (f * (c - t));
    const other = (of("middling", "Sn recovery").balanced + of("clean-up", "Sn recovery").balanced) / 100;
    expect(split - of("dense", "Sn recovery").balanced / 100).toBeLessThan(other + 0.03);
    expect(split).toBeGreaterThan(of("dense", "Sn recovery").balanced / 100);
  });

  it("a shift is its part of the run", async () => {
    const id = await report("?from=2031-05-04T09:00&to=2031-05-04T10:00");
    const page = await (await app.get(`/api/reports/${id}`)).text();
    expect(page).toContain("Photos (12)");
    expect(page).toContain("deck-12.jpg");
    expect(page).not.toContain("deck-11.jpg");
    expect(page).not.toContain("deck-24.jpg");
    expect(page).toContain("Splitter upper changed to 255");
    expect(page).not.toContain("Wash water: 14");
    await problemOf(await app.ask("POST", `/api/runs/${run}/reports?from=yesterday`), 400, "body-wrong");
  });

  it.each([
    [
      "es",
      "Balance",
      "No encaja: masa de mixto. Péselo otra vez.",
      "Pase el mixto otra vez.",
      "agua de lavado",
      "cuándo,lectura",
    ],
    ["fr", "Bilan", "Ne va pas", "Repassez le mixte.", "eau de lavage", "quand,lecture"],
    ["pt", "Balanço", "Não bate", "Passe o misto de novo.", "água de lavagem", "quando,leitura"],
    ["sw", "Mizania", "Haiendani", "Pitisha zao la kati tena.", "maji ya kuoshea", "lini,usomaji"],
    ["id", "Neraca", "Tidak cocok", "Jalankan lagi produk tengah.", "air pencuci", "kapan,pembacaan"],
  ])("in the person's language, page, PDF and headings of its data: %s", async (code, ...words) => {
    const [, misfit, middling, water, heads] = words;
    const id = await report(`?language=${code}`);
    const page = (await (await app.get(`/api/reports/${id}`)).text()).replaceAll("\u00a0", " ");
    if (process.env.SHOTS) {
      writeFileSync(`${process.env.SHOTS}/report-${code}.html`, page);
      writeFileSync(`${process.env.SHOTS}/report-${code}.pdf`, await bytes(`/api/reports/${id}/report.pdf`));
    }
    expect(page).toContain(`<html lang="${code}">`);
    for (const said of [misfit, middling]) expect(page).toContain(said);
    expect(page.toLowerCase()).toContain(water);
    // sources, names and what people typed stay as they are; no sentence of the report's own does
    for (const english of ["does not fit", "Stop and lock out", "standard error", "No alarm", "wash water or a"]) {
      expect(page, english).not.toContain(english);
    }
    const pdf = Buffer.from(await bytes(`/api/reports/${id}/report.pdf`)).toString("latin1");
    expect(pdf).toMatch(new RegExp(`/Lang \\(${code}\\)`));
    const files = unzipSync(await bytes(`/api/reports/${id}/data.zip`));
    expect(strFromU8(files["charts.csv"]!)).toMatch(new RegExp(`^${heads}`));
    expect(strFromU8(files["balance.csv"]!).split("\n")[0]).not.toContain("given");
    // the sheet is one that is taken in again: its columns are fixed
    expect(strFromU8(files["run.csv"]!)).toMatch(/^kind,stream,sample,item/);
  });

  it("asked for without a language, in that which the browser asks for", async () => {
    const asked = await app.ask("POST", `/api/runs/${run}/reports`, undefined, {
      "Accept-Language": "de, pt-BR;q=0.8, en;q=0.5",
    });
    const { id } = contract.ReportReceipt.parse(await asked.json());
    await until(async () => contract.Job.parse(await json(app.get(`/api/jobs/${id}`))).state === "done");
    expect(await (await app.get(`/api/reports/${id}`)).text()).toContain('<html lang="pt">');
    await problemOf(await app.ask("POST", `/api/runs/${run}/reports?language=xx`), 400, "body-wrong");
  });

  it("goes with its photos: one that is deleted, or put into another run, takes the reports that told of it", async () => {
    const id = await report();
    const { id: other } = await json(app.ask("POST", "/api/runs", { name: "Other" }));
    expect((await app.ask("PATCH", `/api/photos/${name(40)}`, { run: other })).status).toBe(200);
    for (const path of ["", "/report.pdf", "/data.zip"]) {
      await problemOf(await app.get(`/api/reports/${id}${path}`), 404, "not-found");
    }
  });
});

/** How many glyphs a PDF's text shows: two bytes each, in hexadecimal (ISO 32000-1, section 9.4.3). */
function glyphsOf(pdf: Uint8Array): number {
  const raw = Buffer.from(pdf).toString("latin1");
  let glyphs = 0;
  for (const { index, 0: start } of raw.matchAll(/stream\r?\n/g)) {
    const from = index + start.length;
    const end = raw.indexOf("endstream", from);
    try {
      const text = inflateSync(pdf.subarray(from, end)).toString("latin1");
      for (const [, hex] of text.matchAll(/<([0-9a-f]+)>/g)) glyphs += hex!.length / 4;
    } catch {
      // a picture or a font
    }
  }
  return glyphs;
}
