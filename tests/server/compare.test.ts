import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { edgeMoves } from "../../server/commands/compare.ts";
import { TwinBelief } from "../../vision/contract/index.ts";
import { denseBetween } from "./readings.ts";

it("adds the errors of two photos as squares: 3 and 4 make 5", () => {
  const moves = edgeMoves(denseBetween(100, 240, 3), denseBetween(112, 229, 4));
  expect(moves).toEqual([
    { kind: "dense", edge: "from", beforeMm: 100, afterMm: 112, movedMm: 12, errorMm: 5, withinNoise: false },
    { kind: "dense", edge: "to", beforeMm: 240, afterMm: 229, movedMm: -11, errorMm: 5, withinNoise: false },
  ]);
});

it.each([
  [109.9, true],
  [110, false],
])("calls a move to %d mm within noise: %s; the limit is two standard errors", (afterMm, withinNoise) => {
  const [first] = edgeMoves(denseBetween(100, 240, 3), denseBetween(afterMm, 240, 4));
  expect(first?.withinNoise).toBe(withinNoise);
});

it("leaves out an end of the path, which is no edge, and bands seen once only", () => {
  const moves = edgeMoves(denseBetween(0, 240, 3, null), denseBetween(0, 250, 3, null));
  expect(moves.map(({ edge }) => edge)).toEqual(["to"]);
  expect(edgeMoves(denseBetween(0, 240, 3), { ...denseBetween(0, 240, 3), bands: [] })).toEqual([]);
});

describe("on the command line", () => {
  const folder = mkdtempSync(join(tmpdir(), "deckbands-compare-"));
  afterAll(() => rmSync(folder, { recursive: true }));
  const keep = (name: string, value: unknown) => {
    writeFileSync(join(folder, name), JSON.stringify(value));
    return join(folder, name);
  };
  const run = (...args: string[]) =>
    execFileSync(process.execPath, ["server/deckbands.mjs", ...args], { encoding: "utf8" });
  const light = { ...denseBetween(0, 1, 4).bands[0]!, kind: "light" as const };
  const withLight = (atMm: number) => {
    const reading = denseBetween(0, atMm, 4, null);
    const outlet = [{ fromMm: atMm, toMm: 2700, fromErrorMm: 4, toErrorMm: null }];
    return { ...reading, bands: [...reading.bands, { ...light, outlet }] };
  };
  const before = keep("before.reading.json", withLight(240));

  it("says whether the change helped and what next; a hint will do as the change", () => {
    const change = keep("change.json", {
      ...denseBetween(0, 1, 4).advice[0],
      control: "washWater",
      direction: "raise",
    });
    const moved = run("compare", before, keep("after.reading.json", withLight(290)), "--change", change);
    expect(moved).toContain("Did it help");
    expect(moved).toContain("It did what it should");
    const back = run("compare", before, keep("back.reading.json", withLight(150)), "--change", change, "--json");
    expect(JSON.parse(back).helped).toMatchObject({ next: "back", twin: null });
  });

  it("hands on what the transport model learned where settings and material are known", () => {
    const settings = keep("settings.json", { washWaterLitresPerMinute: 14, crossSlopeMmPerM: 24 });
    const material = (densityKgPerM3: number) => ({ densityKgPerM3, sizeMm: [0.1, 0.25] });
    const profile = keep("profile.json", { dense: material(6950), light: material(2650) });
    const change = keep("slope.json", {
      control: "crossSlope",
      direction: "raise",
      amount: { value: 3, unit: "mm/m" },
    });
    const files = ["--change", change, "--settings", settings, "--profile", profile, "--json"];
    const { helped } = JSON.parse(run("compare", before, keep("steeper.reading.json", withLight(270)), ...files));
    expect(helped.borders[0].expectedMm).toBeGreaterThan(0);
    expect(TwinBelief.parse(helped.twin).parameters.drift).toBeGreaterThan(0);
    keep("settings.json", { washWaterLitresPerMinute: 14, crossSlopeMmPerM: 27, twin: helped.twin });
    expect(run("advise", before, "--settings", settings, "--profile", profile)).toContain("Rests on");
  });

  it("prints the steps of setting up, with this deck's own set points", () => {
    const deck = keep("own.deck.json", {
      schemaVersion: 1,
      lengthMm: 1830,
      widthMm: 910,
      setPoints: { crossSlopeMmPerM: 30 },
    });
    expect(run("setup", "--deck", deck)).toContain("Check cross slope: 29 to 31 mm/m");
    expect(JSON.parse(run("setup", "--json"))).toHaveLength(10);
  });
});
