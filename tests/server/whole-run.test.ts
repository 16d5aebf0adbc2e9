import { readFileSync } from "node:fs";
import { strFromU8, unzipSync } from "fflate";
import { levenbergMarquardt } from "ml-levenberg-marquardt";
import sharp from "sharp";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { Reader } from "../../server/reader.ts";
import * as contract from "../../vision/contract/index.ts";
import { randomFrom } from "../../vision/scene/random.ts";
import { gaussFrom } from "../vision/accounts/gauss.ts";
import { type Serving, serving, until } from "./serving.ts";

/**
 * One run from photos and sample sheet to report: photos are sent and read, a sheet is taken in, and what the report's data say
 * is reckoned again from the raw figures of the sheet by a general-purpose least-squares program, and from the truth that the
 * photo was made from. Nothing of `vision/accounts` is used here.
 */

vi.setConfig({ testTimeout: 120_000, hookTimeout: 180_000 });
const samples = (name: string) => new URL(`../../sample-images/${name}`, import.meta.url);
// the demo sheet, with the misweighed middling weighed again
const SHEET = `${readFileSync(samples("runs/river-tin.run.csv"), "utf8").replace("dry,87,0.5,kg", "dry,57.4,0.5,kg")}
price,,,treatment,400,,per t,,,
price,,,hours a day,16,,h,,,
`;
const PRODUCTS = ["dense", "middling", "light", "clean-up"] as const;

let app: Serving;
let files: Record<string, string>;
let page: string;
beforeAll(async () => {
  app = await serving({ reader: new Reader({ readers: 1 }) });
  const json = async (answer: Promise<Response>) => (await answer).json();
  const { id: run } = await json(
    app.ask("POST", "/api/runs", { name: "Whole", startedAt: "2031-05-04T08:00:00.000Z" }),
  );
  const headers = { "Content-Type": "text/csv", "If-Match": '"0"' };
  const taken = await fetch(`${app.at}/api/runs/${run}/sheet.csv`, { method: "PUT", body: SHEET, headers });
  expect(taken.status).toBe(200);
  const { id: photo } = await json(app.send(new Uint8Array(readFileSync(samples("black-sand.jpg")))));
  expect((await app.ask("PATCH", `/api/photos/${photo}`, { run })).status).toBe(200);
  const beside = (name: string) => JSON.parse(readFileSync(samples(name), "utf8"));
  const request = { photo, deck: beside("black-sand.deck.json"), corners: beside("black-sand.corners.json") };
  const { id: reading } = await json(app.ask("POST", "/api/readings", request));
  await until(async () => (await app.get(`/api/readings/${reading}`)).status === 200, 90);
  const { id } = await json(app.ask("POST", `/api/runs/${run}/reports?language=en`));
  const job = await until(async () => {
    const told = contract.Job.parse(await json(app.get(`/api/jobs/${id}`)));
    return ["done", "given-up"].includes(told.state) && told;
  }, 60);
  expect(job.problem).toBeNull();
  page = await (await app.get(`/api/reports/${id}`)).text();
  const zip = unzipSync(new Uint8Array(await (await app.get(`/api/reports/${id}/data.zip`)).arrayBuffer()));
  files = Object.fromEntries(Object.entries(zip).map(([name, bytes]) => [name, strFromU8(bytes)]));
});
afterAll(() => app.close());

const rowsOf = (csv: string) =>
  csv
    .trim()
    .split("\n")
    .slice(1)
    .map((line) => line.trim().split(","));
const told = () =>
  rowsOf(files["balance.csv"]!).map(([stream, item, , given, givenError, balanced, balancedError]) => {
    return {
      stream,
      item,
      given: Number(given),
      givenError: Number(givenError),
      balanced: Number(balanced),
      balancedError: Number(balancedError),
    };
  });

/** The raw figures of the sheet, by stream and item, in kg, s and %. */
function figures(kind: string, stream: string, item: string): { value: number; error: number }[] {
  return SHEET.split("\n")
    .map((line) => line.split(","))
    .filter(([k, s, , i]) => k === kind && s === stream && i === item)
    .map(([, , , , value, error, unit]) => {
      const times = unit === "g/t" ? 1e-4 : 1;
      return { value: times * Number(value), error: times * Number(error) };
    });
}
const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / values.length;
/** Mass over 3.5 h of what was caught in timed cuts, with the spread of the cuts as its error. */
function timed(stream: string) {
  const [dry, seconds] = [figures("cut", stream, "dry"), figures("cut", stream, "time")];
  const total = (all: typeof dry) => all.reduce((sum, { value }) => sum + value, 0);
  const each = dry.map(({ value }, i) => (3.5 * 3600 * value) / seconds[i]!.value);
  const value = (3.5 * 3600 * total(dry)) / total(seconds);
  const spread = Math.sqrt(each.reduce((sum, v) => sum + (v - mean(each)) ** 2, 0) / (each.length - 1) / each.length);
  const tools = Math.hypot(
    Math.hypot(...dry.map(({ error }) => error)) / total(dry),
    Math.hypot(...seconds.map(({ error }) => error)) / total(seconds),
  );
  return { value, error: value * Math.hypot(Math.max(tools, spread / value), 0.02 / 3.5) };
}
function assay(stream: string, metal: string) {
  const all = figures("assay", stream, metal);
  return {
    value: mean(all.map(({ value }) => value)),
    error: Math.hypot(...all.map(({ error }) => error)) / all.length,
  };
}

it("what was given is what the raw figures of the sheet come to: cuts over the run, means of replicates", () => {
  for (const stream of ["feed", "light"]) {
    const row = told().find((one) => one.stream === stream && one.item === "dry mass")!;
    expect(row.given / timed(stream).value).toBeCloseTo(1, 5);
    expect(row.givenError / timed(stream).error).toBeCloseTo(1, 1);
  }
  for (const stream of ["feed", ...PRODUCTS]) {
    const row = told().find((one) => one.stream === stream && one.item === "Sn")!;
    expect(row.given).toBeCloseTo(assay(stream, "Sn").value, 6);
  }
});

it("masses, grades and recovery are those that a general-purpose solver finds from the same figures", () => {
  const mass = Object.fromEntries(
    ["feed", ...PRODUCTS].map((name) => {
      const [dry] = figures("mass", name, "dry");
      return [name, dry ?? timed(name)];
    }),
  );
  // each product's mass and two grades are free; the feed is their sum
  const start = PRODUCTS.flatMap((name) => [mass[name]!.value, assay(name, "Sn").value, assay(name, "Fe").value]);
  const made = (free: readonly number[]) => {
    const of = (k: number) => PRODUCTS.map((_, i) => free[3 * i + k]!);
    const fed = of(0).reduce((sum, m) => sum + m, 0);
    const grade = (k: number) => of(0).reduce((sum, m, i) => sum + m * of(k)[i]!, 0) / fed;
    return [fed, grade(1), grade(2), ...free];
  };
  const seen = ["feed", ...PRODUCTS].flatMap((name) => [mass[name]!, assay(name, "Sn"), assay(name, "Fe")]);
  const solve = (values: readonly number[]) => {
    const fit = levenbergMarquardt(
      { x: values.map((_, i) => i), y: values.map((value, i) => value / seen[i]!.error) },
      (shares: number[]) => {
        const all = made(shares.map((share, i) => share * start[i]!));
        return (i: number) => all[i]! / seen[i]!.error;
      },
      {
        initialValues: start.map(() => 1),
        maxIterations: 300,
        errorTolerance: 1e-14,
        gradientDifference: 1e-6,
        centralDifference: true,
      },
    );
    return made(fit.parameterValues.map((share, i) => share * start[i]!));
  };
  const found = solve(seen.map(({ value }) => value));
  ["feed", ...PRODUCTS].forEach((stream, s) => {
    ["dry mass", "Sn", "Fe"].forEach((item, k) => {
      const row = told().find((one) => one.stream === stream && one.item === item)!;
      expect(Math.abs(row.balanced / found[3 * s + k]! - 1), `${stream} ${item}`).toBeLessThan(2e-4);
    });
  });
  const recoveryOf = (all: readonly number[]) => (100 * all[3]! * all[4]!) / (all[0]! * all[1]!);
  const row = told().find((one) => one.stream === "dense" && one.item === "Sn recovery")!;
  expect(Math.abs(row.balanced - recoveryOf(found))).toBeLessThan(0.02);
  // its error, by drawing all figures anew and solving each time
  const gauss = gaussFrom(randomFrom(41));
  const drawn = Array.from({ length: 120 }, () =>
    recoveryOf(solve(found.map((value, i) => value + seen[i]!.error * gauss()))),
  );
  const sd = Math.sqrt(drawn.reduce((sum, v) => sum + (v - mean(drawn)) ** 2, 0) / (drawn.length - 1));
  expect(Math.abs(row.balancedError / sd - 1)).toBeLessThan(0.25);
  expect(page).toContain("All figures fit together");
});

it("where the dense band leaves is where the photo was made to have it", async () => {
  const { data, info } = await sharp(readFileSync(samples("black-sand.truth.png")))
    .raw()
    .toBuffer({ resolveWithObject: true });
  // the outlet begins down the product end: rows of 2 mm; class 2 is dense
  const isDense = (mm: number) => data[(Math.floor(mm / 2) * info.width + info.width - 5) * info.channels] === 2;
  const truth = Array.from({ length: info.height * 2 }, (_, mm) => mm).filter(isDense);
  const stretches = rowsOf(files["readings.csv"]!)
    .filter((row) => row[5] === "dense")
    .map((row) => ({ from: Number(row[6]), to: Number(row[8]) }));
  const inside = truth.filter((mm) => stretches.some(({ from, to }) => mm >= from && mm <= to));
  expect(inside.length / truth.length).toBeGreaterThan(0.7);
  const [from, to] = [Math.min(...stretches.map((s) => s.from)), Math.max(...stretches.map((s) => s.to))];
  expect(Math.abs(from - truth[0]!)).toBeLessThan(80);
  expect(Math.abs(to - truth.at(-1)!)).toBeLessThan(80);
});

it("the same places are what the money part stands on; it says how few photos that is", () => {
  expect(page).toContain("Splitters for money");
  expect(page).toContain("It rests on 1 photo, 3 weighed products");
  expect(page).toContain("One photo only");
});
