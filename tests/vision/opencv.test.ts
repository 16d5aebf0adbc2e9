import { beforeAll, describe, expect, it } from "vitest";
import { EngineError } from "../../vision/errors.ts";
import { connectedBlobs, kMeans, loadOpenCv, type OpenCv, outlinesOf, withMats } from "../../vision/opencv.ts";
import { BLOCK, COMPONENTS } from "../published/components.ts";
import { K_MEANS_SEVEN_POINTS, K_MEANS_TWO_COLUMNS } from "../published/k-means.ts";

let cv: OpenCv;
beforeAll(async () => {
  ({ cv } = await loadOpenCv());
});

describe("k-means", () => {
  const byFirst = (a: readonly number[], b: readonly number[]) => a[0]! - b[0]!;

  it.each([
    ["seven points in two groups", K_MEANS_SEVEN_POINTS],
    ["six points in two columns", K_MEANS_TWO_COLUMNS],
  ])("finds the published centres and inertia of %s", (_, { points, centres, inertia }) => {
    const found = kMeans(cv, Float32Array.from(points.flat()), 2, 2);
    const rows = [0, 1].map((k) => [...found.centres.subarray(2 * k, 2 * k + 2)]);
    rows.toSorted(byFirst).forEach((row, k) => {
      row.forEach((value, i) => {
        expect(value).toBeCloseTo(centres.toSorted(byFirst)[k]![i]!, 5);
      });
    });
    const off = points.reduce((sum, [x, y], i) => {
      const [cx, cy] = rows[found.labels[i]!]!;
      return sum + (x - cx!) ** 2 + (y - cy!) ** 2;
    }, 0);
    expect(off).toBeCloseTo(inertia, 4);
  });

  it("puts the seven points into the published groups, and gives the same answer again", () => {
    const { points, labels } = K_MEANS_SEVEN_POINTS;
    const once = kMeans(cv, Float32Array.from(points.flat()), 2, 2);
    expect([...once.labels].map((label) => (label === once.labels[0] ? 0 : 1))).toEqual(labels);
    expect(kMeans(cv, Float32Array.from(points.flat()), 2, 2)).toEqual(once);
  });
});

describe("connected regions", () => {
  it("are the published ones when cells join by sides and corners", () => {
    const { width, height, mask, labels, areas } = COMPONENTS;
    const found = connectedBlobs(cv, Uint8Array.from(mask), width, height);
    expect(found.blobs.map(({ cells }) => cells).toSorted()).toEqual(areas);
    // The same regions under whatever numbers: every published label meets one label of ours, and the other way round.
    const pairs = new Set(labels.map((label, i) => `${label} ${found.labels[i]}`));
    expect(pairs.size).toBe(areas.length + 1);
  });

  it("give a block's place, size and outline", () => {
    const { row, column, rows, columns, area } = BLOCK;
    const mask = new Uint8Array(30 * 20);
    for (let y = row; y < row + rows; y++) mask.fill(1, y * 30 + column, y * 30 + column + columns);
    const { blobs } = connectedBlobs(cv, mask, 30, 20);
    expect(blobs).toEqual([{ label: 1, cells: area, left: column, top: row, width: columns, height: rows }]);
    const [outline, ...more] = outlinesOf(cv, mask, 30, 20, 0.5);
    expect(more).toEqual([]);
    expect(outline!.toSorted((a, b) => a[1] - b[1] || a[0] - b[0])).toEqual([
      [column, row],
      [column + columns - 1, row],
      [column, row + rows - 1],
      [column + columns - 1, row + rows - 1],
    ]);
  });

  it("are none on an empty mask", () => {
    expect(connectedBlobs(cv, new Uint8Array(12), 4, 3).blobs).toEqual([]);
  });
});

describe("borrowed memory", () => {
  it("is given back when the work throws, and a bare number becomes words", () => {
    const freed: string[] = [];
    const thing = (name: string) => ({ delete: () => freed.push(name) });
    expect(() =>
      withMats(cv, (own) => {
        own(thing("first"));
        own(thing("second"));
        throw new Error("midway");
      }),
    ).toThrow("midway");
    expect(freed).toEqual(["second", "first"]);
    expect(() => withMats(cv, (own) => cv.invert(own(new cv.Mat(2, 3, cv.CV_64F)), own(new cv.Mat())))).toThrow(
      EngineError,
    );
  });

  it("refuses to hand out a Mat or a promise", () => {
    expect(() => withMats(cv, (own) => own(new cv.Mat()))).toThrow(TypeError);
    expect(() => withMats(cv, async () => 1)).toThrow(TypeError);
  });
});
