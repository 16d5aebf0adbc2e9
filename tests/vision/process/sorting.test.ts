import { describe, expect, it } from "vitest";
import { canBeTabled } from "../../../vision/process/can-be-tabled.ts";
import { concentrationCriterion } from "../../../vision/process/concentration-criterion.ts";
import { MATERIALS, materialNamed } from "../../../vision/process/materials.ts";
import { CRITERION_TABLE } from "../../published/concentration-criterion.ts";
import { expectAgree } from "./agree.ts";

const BANDS = {
  B1: ["easy", 75],
  B2: ["effective", 150],
  B3: ["difficult", 1700],
  B4: ["very difficult", 6350],
  B5: ["not practicable", null],
  B6: ["floats", null],
} as const;

describe("concentration criterion", () => {
  it.each(CRITERION_TABLE)("%s %f / %s %f", (_dense, dense, _light, light, value, band, slurry) => {
    const inWater = concentrationCriterion(1000 * dense, 1000 * light);
    if (value === null) expect(inWater.value).toBeNull();
    else expectAgree(inWater.value!, value, 1e-4);
    expect([inWater.ease, inWater.downToUm]).toEqual(BANDS[band]);
    const inSlurry = concentrationCriterion(1000 * dense, 1000 * light, 1100);
    if (slurry === null) expect(inSlurry.value).toBeNull();
    else expectAgree(inSlurry.value!, slurry, 1e-4);
  });

  it("does not mind which is named first", () => {
    expect(concentrationCriterion(2650, 7500)).toEqual(concentrationCriterion(7500, 2650));
  });
});

describe("materials", () => {
  it("lie in their ranges, once each", () => {
    for (const { densityKgPerM3, rangeKgPerM3 } of MATERIALS) {
      expect(densityKgPerM3).toBeGreaterThanOrEqual(rangeKgPerM3[0]);
      expect(densityKgPerM3).toBeLessThanOrEqual(rangeKgPerM3[1]);
    }
    expect(new Set(MATERIALS.map(({ name }) => name)).size).toBe(MATERIALS.length);
  });
  it("are found in any case", () => {
    expect(materialNamed(" Cassiterite ")?.densityKgPerM3).toBe(6950);
    expect(materialNamed("moonstone dust")).toBeNull();
  });
});

describe("can it be tabled", () => {
  const of = (name: string, from: number, to: number) => ({
    name,
    densityKgPerM3: materialNamed(name)!.densityKgPerM3,
    sizeUm: [from, to] as const,
  });
  const kinds = (feed: Parameters<typeof canBeTabled>[0]) => canBeTabled(feed)[0]!.difficulties.map(({ kind }) => kind);

  it("cassiterite and quartz in one narrow sand: yes", () => {
    const [pair] = canBeTabled([of("quartz", 150, 300), of("cassiterite", 150, 300)]);
    expect(pair).toMatchObject({ dense: "cassiterite", light: "quartz", verdict: "yes", workableUm: [150, 300] });
    expect(pair!.difficulties).toEqual([]);
  });

  it("the same in a wide feed: coarse quartz lies with fine cassiterite", () => {
    expect(kinds([of("quartz", 100, 1000), of("cassiterite", 100, 1000)])).toEqual(["wide-sizes"]);
  });

  it("the size limit of the feed is the equal-settling ratio: 2.0274 at 100 µm (worked out)", () => {
    const [pair] = canBeTabled([of("quartz", 100, 200), of("cassiterite", 100, 200)]);
    expectAgree(pair!.sizeRatioLimit!, 2.0274, 1e-3);
    expect(kinds([of("quartz", 100, 202), of("cassiterite", 100, 200)])).toEqual([]);
    expect(kinds([of("quartz", 100, 204), of("cassiterite", 100, 200)])).toEqual(["wide-sizes"]);
  });

  it("copper from high-density PE: no, it floats", () => {
    const [pair] = canBeTabled([of("copper", 500, 2000), of("PE, high density", 500, 2000)]);
    expect(pair).toMatchObject({ verdict: "no", workableUm: null });
    expect(pair!.difficulties[0]!.kind).toBe("floats");
  });

  it("wolframite from cassiterite: no, too alike", () => {
    expect(canBeTabled([of("wolframite", 200, 400), of("cassiterite", 200, 400)])[0]!.verdict).toBe("no");
  });

  it("fluorite from quartz: only coarser than a table takes, so no", () => {
    const [pair] = canBeTabled([of("fluorite", 200, 2000), of("quartz", 200, 2000)]);
    expect(pair!.verdict).toBe("no");
    expect(pair!.difficulties.map(({ kind }) => kind)).toContain("close-densities");
  });

  it("PET from PS: the criterion promises too much (Carvalho, Agante & Durão, 2007)", () => {
    expect(kinds([of("PET", 1000, 2000), of("PS", 1000, 2000)])).toContain("near-water");
  });

  it("fines and lumps are named", () => {
    const both = kinds([of("galena", 5, 3500), of("quartz", 100, 3500)]);
    expect(both).toContain("too-fine");
    expect(both).toContain("too-coarse");
  });

  it("takes three materials as two pairs, densest first", () => {
    const pairs = canBeTabled([of("quartz", 150, 300), of("galena", 150, 300), of("pyrite", 150, 300)]);
    expect(pairs.map(({ dense, light }) => [dense, light])).toEqual([
      ["galena", "pyrite"],
      ["pyrite", "quartz"],
    ]);
  });

  it("refuses one material, and sizes the wrong way round", () => {
    expect(() => canBeTabled([of("quartz", 1, 2)])).toThrow(expect.objectContaining({ code: "too-few-readings" }));
    expect(() => canBeTabled([of("quartz", 3, 2), of("galena", 1, 2)])).toThrow(
      expect.objectContaining({ code: "out-of-range" }),
    );
  });
});
