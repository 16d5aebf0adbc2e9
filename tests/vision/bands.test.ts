import { beforeAll, describe, expect, it } from "vitest";
import { findBands } from "../../vision/bands.ts";
import { describeDeck } from "../../vision/deck.ts";
import { loadOpenCv, type OpenCv } from "../../vision/opencv.ts";
import { findDryPatches, findRills } from "../../vision/patches.ts";
import type { Classes, Outlet } from "../../vision/stages.ts";

const [BARE, DENSE, LIGHT, DRY] = [1, 2, 4, 5];
const deck = describeDeck({ schemaVersion: 1, lengthMm: 800, widthMm: 400 });
let cv: OpenCv;
beforeAll(async () => {
  ({ cv } = await loadOpenCv());
});

function classesOf(labelAt: (x: number, y: number) => number): Classes {
  const grid = { mmPerCell: 2, columns: 400, rows: 200 };
  const labels = Uint8Array.from({ length: 400 * 200 }, (_, i) =>
    labelAt(((i % 400) + 0.5) * 2, (Math.floor(i / 400) + 0.5) * 2),
  );
  const evidenceGrid = { mmPerCell: 4, columns: 200, rows: 100 };
  const confidence = new Uint8Array(labels.length).fill(204);
  return { grid, labels, confidence, evidenceGrid, evidence: new Float32Array(5 * 200 * 100) };
}

const outlet: Outlet = {
  lengthMm: 1200,
  stretches: [
    {
      class: "dense",
      fromMm: 100,
      toMm: 140,
      fromErrorMm: 2,
      toErrorMm: 3,
      fromBlurMm: 10,
      toBlurMm: 20,
      confidence: 0.9,
    },
  ],
  unseenMm: [],
  shares: new Float32Array(5 * 1200),
};

describe("bands", () => {
  it("measures a band along the deck, and leaves out specks and absent products", () => {
    const picture = classesOf((x, y) => {
      if (x > 100 && y > 100 && y < 140) return DENSE;
      return x < 20 && y < 18 ? LIGHT : BARE;
    });
    const bands = findBands(cv, picture, outlet, deck);
    expect(bands.map((band) => band.kind)).toEqual(["dense"]);
    const [band] = bands;
    expect(band!.areaMm2).toBe(700 * 40);
    expect(band!.meanWidthMm).toBeCloseTo(40, 0);
    expect(band!.outlet).toEqual([{ fromMm: 100, toMm: 140, fromErrorMm: 2, toErrorMm: 3 }]);
    expect(band!.edgeBlurMm).toBe(15);
    expect(band!.confidence).toBeCloseTo(0.8, 6);
    expect(band!.centreLine.length).toBe(12);
    expect(band!.centreLine[0]![0]).toBeLessThan(band!.centreLine.at(-1)![0]);
    for (const [, y] of band!.centreLine) expect(y).toBeCloseTo(120, 6);
  });

  it("follows a band that runs down the slope from the feed", () => {
    const picture = classesOf((x, y) => (Math.abs(x - 200 - y / 2) < 30 ? LIGHT : BARE));
    const [band] = findBands(cv, picture, { ...outlet, stretches: [] }, deck);
    expect(band!.kind).toBe("light");
    expect(band!.edgeBlurMm).toBeNull();
    expect(band!.centreLine[0]![1]).toBeLessThan(40);
    expect(band!.centreLine.at(-1)![1]).toBeGreaterThan(360);
  });
});

describe("dry patches", () => {
  it("finds one, with its area, centre and outline, and passes over a speck", () => {
    const picture = classesOf((x, y) => {
      if (Math.hypot(x - 500, y - 200) < 30) return DRY;
      return Math.abs(x - 100) < 8 && Math.abs(y - 100) < 8 ? DRY : BARE;
    });
    const patches = findDryPatches(cv, picture);
    expect(patches).toHaveLength(1);
    const [patch] = patches;
    expect(patch!.areaMm2 / (Math.PI * 900)).toBeCloseTo(1, 1);
    expect(patch!.centre[0]).toBeCloseTo(500, 0);
    expect(patch!.centre[1]).toBeCloseTo(200, 0);
    expect(patch!.confidence).toBeCloseTo(0.8, 6);
    for (const [x, y] of patch!.outline) expect(Math.abs(Math.hypot(x - 500, y - 200) - 30)).toBeLessThan(5);
  });
});

describe("rills", () => {
  const fan = (x: number, y: number) => (x > 100 && x < 700 && y > 60 ? LIGHT : BARE);

  it("finds one thread of bare deck down the slope", () => {
    const picture = classesOf((x, y) => (Math.abs(x - 300 - y / 5) < 8 && y < 340 ? BARE : fan(x, y)));
    const rills = findRills(cv, picture, deck);
    expect(rills).toHaveLength(1);
    expect(rills[0]!.widthMm).toBeGreaterThan(13);
    expect(rills[0]!.widthMm).toBeLessThan(19);
    for (const [x, y] of rills[0]!.path) expect(Math.abs(x - 300 - y / 5)).toBeLessThan(4);
    expect(rills[0]!.path[0]![1]).toBeLessThan(rills[0]!.path.at(-1)![1]);
  });

  it("finds none in a whole fan, a short gap, a wide gap or a gap along the deck", () => {
    expect(findRills(cv, classesOf(fan), deck)).toEqual([]);
    const shapes: ((x: number, y: number) => boolean)[] = [
      (x, y) => Math.abs(x - 300) < 8 && y > 150 && y < 220,
      (x) => Math.abs(x - 300) < 45,
      (x, y) => Math.abs(y - 200) < 8 && x > 150 && x < 600,
    ];
    for (const shape of shapes) {
      expect(
        findRills(
          cv,
          classesOf((x, y) => (shape(x, y) ? BARE : fan(x, y))),
          deck,
        ),
      ).toEqual([]);
    }
  });
});
