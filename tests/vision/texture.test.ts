import { describe, expect, it } from "vitest";
import { boxMean, cooccurrenceTexture, localBinaryPatterns } from "../../vision/texture.ts";
import { HARALICK_1973 } from "../published/glcm.ts";
import { LBP_ONE_CELL, LBP_UNIFORM } from "../published/lbp.ts";

describe("window mean", () => {
  const width = 13;
  const height = 9;
  const plane = Float32Array.from({ length: width * height }, (_, i) => ((i * 37) % 101) - 40);

  it.each([0, 1, 3, 8, 20])("of radius %i is the mean counted cell by cell", (radius) => {
    expectClose(boxMean(plane, width, height, radius), slowMean(plane, width, height, radius));
  });

  it.each([0, 2, 5])("of radius %i passes over masked cells, whatever they hold", (radius) => {
    const mask = Uint8Array.from(plane, (_, i) => (i % 5 === 0 || i > 90 ? 0 : 1));
    const holed = plane.map((value, i) => (mask[i] ? value : Number.NaN));
    expectClose(boxMean(holed, width, height, radius, mask), slowMean(plane, width, height, radius, mask));
  });

  it("is 0 where no cell counts", () => {
    expect([...boxMean(Float32Array.of(5, 6), 2, 1, 1, Uint8Array.of(0, 0))]).toEqual([0, 0]);
  });

  it("does not drift along a large picture", () => {
    expect(boxMean(new Float32Array(600 * 300).fill(0.1), 600, 300, 7).every((m) => Math.abs(m - 0.1) < 1e-7)).toBe(
      true,
    );
  });
});

describe("local binary patterns", () => {
  // scikit-image 0.19.3 on the picture of its own test; method of Ojala, Pietikäinen & Mäenpää (2002).
  it("agree with the worked 6 × 6 picture", () => {
    const { width, height, grey, codes } = LBP_UNIFORM;
    expect([...localBinaryPatterns(Float32Array.from(grey), width, height)]).toEqual([...codes]);
  });

  it("agree at the centre of one cell and its neighbours", () => {
    expect(localBinaryPatterns(Float32Array.from(LBP_ONE_CELL.grey), 3, 3)[4]).toBe(LBP_ONE_CELL.code);
  });

  it("stay the same when the inside is turned by a quarter", () => {
    const { grey, width, height } = LBP_UNIFORM;
    const turned = Float32Array.from(grey, (_, i) => grey[(width - 1 - (i % width)) * width + Math.floor(i / width)]!);
    const codes = localBinaryPatterns(Float32Array.from(grey), width, height);
    const after = localBinaryPatterns(turned, width, height);
    const back = Array.from(after, (_, i) => codes[(width - 1 - (i % width)) * width + Math.floor(i / width)]!);
    expect([...after]).toEqual(back);
  });

  it.each([0.1, 1 / 3, 77.7])("call a surface of %f everywhere flat: rounding breaks no tie", (value) => {
    const codes = localBinaryPatterns(new Float32Array(25).fill(value), 5, 5);
    for (const i of [6, 7, 8, 11, 12, 13, 16, 17, 18]) expect(codes[i]).toBe(8);
  });
});

describe("co-occurrence", () => {
  // HARALICK_1973 is the picture of figure 3 in Haralick, Shanmugam & Dinstein (1973).
  it("agrees with the published picture when the window covers it", () => {
    const { width, height, levels, meanContrast } = HARALICK_1973;
    const { contrast } = cooccurrenceTexture(Uint8Array.from(levels), width, height, 3);
    for (let i = 0; i < 16; i++) expect(contrast[i]).toBeCloseTo(meanContrast, 6);
  });

  it.each(HARALICK_1973.directions)("counts of direction $step as printed give the table's contrast", (direction) => {
    const counts: readonly number[] = direction.counts;
    const total = counts.reduce((sum, n) => sum + n, 0);
    const contrast = counts.reduce((sum, n, k) => sum + (n * ((k % 4) - (k >> 2)) ** 2) / total, 0);
    expect(contrast).toBeCloseTo(direction.contrast, 6);
  });

  it.each([1, 2, 4])("in windows of radius %i is what matrices built window by window give", (radius) => {
    const width = 11;
    const height = 7;
    const levels = Uint8Array.from({ length: width * height }, (_, i) => (i * i * 7 + i * 3) % 16);
    const { contrast } = cooccurrenceTexture(levels, width, height, radius);
    expectClose(contrast, slowContrast(levels, width, height, radius));
  });

  it("finds nothing rough in one cell, and takes what directions a single row has", () => {
    expect([...cooccurrenceTexture(Uint8Array.of(9), 1, 1, 2).contrast]).toEqual([0]);
    expect([...cooccurrenceTexture(Uint8Array.of(0, 2, 2), 3, 1, 1).contrast]).toEqual([4, 2, 0]);
  });
});

function expectClose(seen: Float32Array, expected: readonly number[]) {
  expect(seen).toHaveLength(expected.length);
  for (let i = 0; i < expected.length; i++) expect(seen[i]).toBeCloseTo(expected[i]!, 4);
}

function slowMean(plane: Float32Array, width: number, height: number, radius: number, mask?: Uint8Array): number[] {
  return Array.from(plane, (_, i) => {
    let sum = 0;
    let count = 0;
    forWindow(i, width, height, radius, (x, y) => {
      if (mask && !mask[y * width + x]) return;
      sum += plane[y * width + x]!;
      count++;
    });
    return count ? sum / count : 0;
  });
}

/** The matrix of each window and direction, 16 levels, built and summed as Haralick describes. */
function slowContrast(levels: Uint8Array, width: number, height: number, radius: number): number[] {
  const contrast: number[] = [];
  for (let i = 0; i < levels.length; i++) {
    const found: number[] = [];
    for (const [dx, dy] of [
      [1, 0],
      [1, 1],
      [0, 1],
      [-1, 1],
    ] as const) {
      const inside = new Set<number>();
      forWindow(i, width, height, radius, (x, y) => inside.add(y * width + x));
      const matrix = new Float64Array(16 * 16);
      let total = 0;
      for (const from of inside) {
        const x = (from % width) + dx;
        const to = from + dy * width + dx;
        if (x < 0 || x >= width || !inside.has(to)) continue;
        matrix[16 * levels[from]! + levels[to]!]! += 1;
        matrix[16 * levels[to]! + levels[from]!]! += 1;
        total += 2;
      }
      let c = 0;
      for (let k = 0; k < matrix.length; k++) {
        const gap = (k & 15) - (k >> 4);
        c += (matrix[k]! / total) * gap * gap;
      }
      found.push(c);
    }
    contrast.push(found.reduce((sum, c) => sum + c / 4, 0));
  }
  return contrast;
}

function forWindow(i: number, width: number, height: number, radius: number, visit: (x: number, y: number) => void) {
  const cx = i % width;
  const cy = Math.floor(i / width);
  for (let y = Math.max(0, cy - radius); y <= Math.min(height - 1, cy + radius); y++) {
    for (let x = Math.max(0, cx - radius); x <= Math.min(width - 1, cx + radius); x++) visit(x, y);
  }
}
