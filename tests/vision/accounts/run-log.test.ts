import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { entriesOf, entryFault, type RunHead, runOf } from "../../../vision/accounts/run-log.ts";
import { readRunSheet } from "../../../vision/accounts/run-sheet.ts";
import type { RunEntry, RunSample } from "../../../vision/contract/index.ts";

const HEAD: RunHead = { name: "Run", site: "", material: "", startedAt: null, endedAt: null };
const demo = readRunSheet(
  readFileSync(new URL("../../../sample-images/runs/river-tin.run.csv", import.meta.url), "utf8"),
).run!;
const weighed = (sample: string, figures: Record<string, number>, stream = "dense"): RunEntry => ({
  kind: "sample",
  sample: {
    kind: "mass",
    stream,
    sample,
    sizeMm: null,
    figures: Object.fromEntries(Object.entries(figures).map(([name, value]) => [name, { value, error: null }])),
    at: null,
    who: "",
    note: "",
  },
});
const told = (samples: readonly RunSample[]) =>
  samples.map(({ sample, figures }) => [sample, Object.keys(figures).toSorted().join(" ")]);

describe("entries and the run they make", () => {
  it("a run as entries is the same run again", () => {
    expect(runOf(HEAD, entriesOf(demo))).toEqual(demo);
  });

  it("figures of one sample come together, one by one, and those of two samples never do", () => {
    const entries = [
      weighed("1", { wet: 3 }),
      weighed("1", { dry: 1 }),
      weighed("1", { dry: 2 }),
      weighed("1", { wet: 4 }),
    ];
    expect(told(runOf(HEAD, entries).samples)).toEqual([
      ["1", "dry wet"],
      ["2", "dry"],
      ["3", "wet"],
    ]);
    const other = [weighed("1", { dry: 1 }), weighed("1", { dry: 1 }, "light")];
    expect(told(runOf(HEAD, other).samples)).toEqual([
      ["1", "dry"],
      ["1", "dry"],
    ]);
  });

  it("a free number is never one that is taken", () => {
    const entries = [
      weighed("", { dry: 1 }),
      weighed("2", { dry: 2 }),
      weighed("", { dry: 3 }),
      weighed("2", { dry: 4 }),
    ];
    expect(told(runOf(HEAD, entries).samples).map(([sample]) => sample)).toEqual(["", "2", "3", "4"]);
  });

  it("streams that only samples name are there, with a feed", () => {
    const { streams } = runOf(HEAD, [weighed("", { dry: 1 })]);
    expect(streams).toMatchObject([
      { name: "feed", from: null, to: "table" },
      { name: "dense", from: "table", to: null, product: "dense" },
    ]);
  });

  it("the later word counts of what is told once", () => {
    const run = runOf(HEAD, [
      { kind: "about", about: { metal: "Sn", material: "sand" } },
      { kind: "about", about: { metal: "W" } },
      { kind: "price", price: { of: "metal", figure: { value: 1, error: null } } },
      { kind: "price", price: { of: "metal", figure: { value: 2, error: null } } },
    ]);
    expect(run).toMatchObject({ metal: "W", material: "sand", prices: { metal: { value: 2 } } });
  });

  it("nothing given is changed", () => {
    const entries = [weighed("1", { wet: 3 }), weighed("1", { dry: 1 })];
    const before = structuredClone(entries);
    runOf(HEAD, entries);
    expect(entries).toEqual(before);
  });

  it("a fraction is named by its openings", () => {
    const fraction = (sample: string): RunEntry => ({
      kind: "sample",
      sample: {
        ...(weighed(sample, { mass: 1 }) as { sample: RunSample }).sample,
        kind: "fraction",
        sizeMm: [0.1, 0.25],
      },
    });
    expect(entryFault(fraction("0.1-0.25"))).toBeNull();
    expect(entryFault(fraction("coarse"))).toMatch(/named by its openings: 0\.1-0\.25/);
  });
});
