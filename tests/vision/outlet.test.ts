import { describe, expect, it } from "vitest";
import { describeDeck } from "../../vision/deck.ts";
import { readOutlet } from "../../vision/outlet.ts";
import type { Classes, DeckPoint, View } from "../../vision/stages.ts";

const [BARE, DENSE, MIDDLING, LIGHT] = [1, 2, 3, 4];
const LENGTH = 800;
const WIDTH = 400;
// One straight outlet, along the tailings side from the dense end: outlet mm = 800 − x.
const deck = describeDeck({
  schemaVersion: 1,
  lengthMm: LENGTH,
  widthMm: WIDTH,
  outletPath: [
    [LENGTH, WIDTH],
    [0, WIDTH],
  ],
});

const view = (error: number): View => ({
  source: "corners",
  photoToDeck: [1, 0, 0, 0, 1, 0, 0, 0, 1],
  lens: 0,
  errorMm: error,
  orientationConfidence: 1,
  cornersPx: [],
  errorAt: (_at: DeckPoint) => [error, 0],
});

type Mix = readonly [number, number, number, number, number];
const only = (label: number, sure = 0.96): Mix =>
  [1, 2, 3, 4, 5].map((k) => (k === label ? sure : (1 - sure) / 4)) as unknown as Mix;

/** Evidence that depends on outlet mm alone; null: unseen. */
function classesOf(at: (outletMm: number) => Mix | null): Classes {
  const grid = { mmPerCell: 2, columns: LENGTH / 2, rows: WIDTH / 2 };
  const evidenceGrid = { mmPerCell: 4, columns: LENGTH / 4, rows: WIDTH / 4 };
  const plane = evidenceGrid.columns * evidenceGrid.rows;
  const evidence = new Float32Array(5 * plane);
  for (let i = 0; i < plane; i++) {
    const mix = at(LENGTH - ((i % evidenceGrid.columns) + 0.5) * 4);
    mix?.forEach((share, k) => {
      evidence[k * plane + i] = share;
    });
  }
  const cells = grid.columns * grid.rows;
  return { grid, labels: new Uint8Array(cells), confidence: new Uint8Array(cells), evidenceGrid, evidence };
}

/** Classes by the outlet mm where each ends. */
const steps = (...ends: readonly (readonly [label: number, toMm: number])[]) =>
  classesOf((mm) => only(ends.find(([, to]) => mm < to)![0]));

const noise = (mm: number) => {
  const value = Math.sin(mm * 12.9898) * 43758.5453;
  return value - Math.floor(value);
};

describe("outlet", () => {
  it("finds known edges within 2 mm, and no error at the path's ends", () => {
    const read = readOutlet(steps([DENSE, 140], [MIDDLING, 316], [BARE, 400], [LIGHT, 800]), deck, view(1));
    expect(read.lengthMm).toBe(LENGTH);
    expect(read.stretches.map((s) => s.class)).toEqual(["dense", "middling", "bare", "light"]);
    [140, 316, 400].forEach((edge, i) => {
      const [left, right] = [read.stretches[i]!, read.stretches[i + 1]!];
      expect(Math.abs(left.toMm - edge)).toBeLessThan(2);
      expect(right.fromMm).toBe(left.toMm);
      expect(left.toErrorMm).toBeGreaterThan(1);
      expect(left.toErrorMm).toBeLessThan(15);
    });
    expect(read.stretches[0]!.fromErrorMm).toBeNull();
    expect(read.stretches.at(-1)!.toErrorMm).toBeNull();
    expect(read.unseenMm).toEqual([]);
    for (const { confidence } of read.stretches) expect(confidence).toBeGreaterThan(0.6);
  });

  it("counts the view's error along the path only", () => {
    const picture = steps([DENSE, 200], [LIGHT, 800]);
    const [sharp, loose] = [readOutlet(picture, deck, view(0)), readOutlet(picture, deck, view(9))];
    const error = sharp.stretches[0]!.toErrorMm!;
    expect(loose.stretches[0]!.toErrorMm).toBeCloseTo(Math.hypot(error, 9), 6);
    const across: View = { ...view(0), errorAt: () => [0, 9] };
    expect(readOutlet(picture, deck, across).stretches[0]!.toErrorMm).toBeCloseTo(error, 6);
  });

  it("calls solids over a third of the deck by the largest, and thinner ones bare", () => {
    const covered = (solids: number): Mix => [1 - solids, solids * 0.55, solids * 0.45, 0, 0];
    const read = readOutlet(
      classesOf((mm) => covered(mm < 400 ? 0.5 : 0.2)),
      deck,
      view(1),
    );
    expect(read.stretches.map((s) => s.class)).toEqual(["dense", "bare"]);
  });

  it("lets solids come back out of order on strong evidence, also after bare, but not on weak", () => {
    const back = (widthMm: number, sure: number) =>
      classesOf((mm) => {
        if (mm < 300) return only(LIGHT);
        if (mm < 320) return only(BARE);
        return mm < 320 + widthMm ? only(DENSE, sure) : only(BARE);
      });
    const names = (picture: Classes) => readOutlet(picture, deck, view(1)).stretches.map((s) => s.class);
    expect(names(back(100, 0.96))).toEqual(["light", "bare", "dense", "bare"]);
    expect(names(back(24, 0.9))).not.toContain("dense");
    const inOrder = classesOf((mm) => {
      if (mm < 300) return only(DENSE);
      return mm >= 320 && mm < 348 ? only(LIGHT) : only(BARE);
    });
    expect(names(inOrder)).toContain("light");
  });

  it("reports unseen stretches and gives no error beside them", () => {
    const read = readOutlet(
      classesOf((mm) => (mm > 200 && mm < 260 ? null : only(mm < 230 ? DENSE : LIGHT))),
      deck,
      view(1),
    );
    expect(read.unseenMm).toEqual([[200, 260]]);
    expect(read.stretches.map((s) => [s.class, s.fromMm, s.toMm])).toEqual([
      ["dense", 0, 200],
      ["light", 260, 800],
    ]);
    expect(read.stretches[0]!.toErrorMm).toBeNull();
    expect(read.stretches[1]!.fromErrorMm).toBeNull();
  });

  it("is less sure of an edge when the evidence is noisy", () => {
    const picture = (amount: number) =>
      classesOf((mm) => {
        const dense = Math.min(0.98, Math.max(0.02, (mm < 300 ? 0.9 : 0.1) + amount * (noise(mm) - 0.5)));
        return [0, dense, 0, 1 - dense, 0];
      });
    const error = (amount: number) => {
      const { stretches } = readOutlet(picture(amount), deck, view(0));
      expect(stretches.map((s) => s.class)).toEqual(["dense", "light"]);
      return stretches[0]!.toErrorMm!;
    };
    expect(error(1.4)).toBeGreaterThan(error(0));
  });

  it("measures the blur of a ramp and none for a sharp edge", () => {
    const ramp = (widthMm: number) =>
      classesOf((mm) => {
        const light = Math.min(1, Math.max(0, (mm - 300) / widthMm));
        return [0, 1 - light, 0, light, 0];
      });
    const blur = readOutlet(ramp(60), deck, view(1)).stretches[0]!.toBlurMm;
    expect(blur).toBeGreaterThan(38);
    expect(blur).toBeLessThan(58);
    expect(readOutlet(steps([DENSE, 300], [LIGHT, 800]), deck, view(1)).stretches[0]!.toBlurMm).toBeNull();
  });
});
