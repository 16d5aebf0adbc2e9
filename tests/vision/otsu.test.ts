import { expect, it } from "vitest";
import { otsuThreshold } from "../../vision/otsu.ts";
import { OTSU_LAB_BOOK, OTSU_THREE_HEAPS } from "../published/otsu.ts";

// OTSU_LAB_BOOK is the 6 × 6 teaching picture of Greensted's Lab Book Pages; method of Otsu (1979).
it("splits the worked picture as published", () => {
  const { histogram, threshold, separability } = OTSU_LAB_BOOK;
  const split = otsuThreshold(histogram);
  expect(split?.threshold).toBe(threshold);
  expect(split?.separability).toBeCloseTo(separability, 6);
});

it("finds the published variance between the sides for each threshold of the picture", () => {
  const { histogram, between, totalVariance, separability } = OTSU_LAB_BOOK;
  expect(Math.max(...between) / totalVariance).toBeCloseTo(separability, 4);
  const total = histogram.reduce((sum, n) => sum + n, 0);
  between.forEach((expected, threshold) => {
    const low = histogram.slice(0, threshold + 1);
    const weight = low.reduce((sum, n) => sum + n, 0) / total;
    const below = low.reduce((sum, n, level) => sum + n * level, 0) / total;
    const mean = histogram.reduce((sum, n, level) => sum + n * level, 0) / total;
    expect((mean * weight - below) ** 2 / (weight * (1 - weight))).toBeCloseTo(expected, 4);
  });
});

it("splits three heaps between the second and the third, the higher of two equal splits", () => {
  // scikit-image 0.19.3.
  const histogram = new Array<number>(256).fill(0);
  for (const level of OTSU_THREE_HEAPS.levels) histogram[level]! += 1;
  expect(otsuThreshold(histogram)?.threshold).toBe(OTSU_THREE_HEAPS.threshold);
});

it("does not mind how many cells there are", () => {
  const tenth = OTSU_LAB_BOOK.histogram.map((n) => n / 10);
  expect(otsuThreshold(tenth)?.separability).toBeCloseTo(OTSU_LAB_BOOK.separability, 6);
});

it("refuses a flat image, which has no split", () => {
  expect(otsuThreshold([0, 0, 36, 0])).toBeNull();
  expect(otsuThreshold([0, 0, 0.1 + 0.2, 0])).toBeNull();
  expect(otsuThreshold([0, 0, 0])).toBeNull();
  expect(otsuThreshold([])).toBeNull();
  expect(otsuThreshold([1, 0, 0, 1])).toEqual({ threshold: 0, separability: 1 });
});
