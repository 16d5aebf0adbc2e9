import { expect, it } from "vitest";
import { bordersOf, divideOf } from "../../../vision/twin/as-seen.ts";
import { bandsOf, readingOf } from "../advice/scene.ts";

it("halves a bare gap between bands, and counts its width as doubt: a uniform spread, width / √12", () => {
  const [dense, middling, light] = bandsOf([0, 240, 640, 2600], 6);
  const gap = { ...middling!, outlet: [{ ...middling!.outlet[0]!, fromMm: 300 }] };
  const [border, next] = bordersOf(readingOf([dense!, gap, light!]));
  expect(border).toMatchObject({ between: ["dense", "middling"], blurMm: 90, confidence: 0.9 });
  expect(border!.atMm.value).toBe(270);
  expect(border!.atMm.error).toBeCloseTo(Math.hypot(Math.hypot(6, 6) / 2, 60 / Math.sqrt(12)), 9);
  expect(next!.atMm).toEqual({ value: 640, error: 6 }); // one shared edge has one error
});

it("lets dense divide from light where middling is not seen, and knows no border of one band", () => {
  const [dense, , light] = bandsOf([0, 240, 240, 2600]);
  expect(bordersOf(readingOf([dense!, light!])).map(({ between }) => between)).toEqual([["dense", "light"]]);
  expect(bordersOf(readingOf([dense!]))).toEqual([]);
});

/** Two bells of one mass, 100 mm of deviation, 200 mm apart, in bins of 10 mm. */
const bell = (mean: number) =>
  Float64Array.from({ length: 100 }, (_, i) => Math.exp(-((((i + 0.5) * 10 - mean) / 100) ** 2) / 2));
const curves = { mmPerBin: 10, dense: bell(400), middling: new Float64Array(100), light: bell(600) };

// For equal bells the log of one over the other is straight, (m2 − m1)(x − middle) / s²: arithmetic of the Gaussian.
it("divides two like bells half way, over 2 ln 9 s² / (m2 − m1)", () => {
  const divide = divideOf(curves, ["dense", "light"])!;
  expect(divide.atMm).toBeCloseTo(500, 1);
  expect(divide.blurMm).toBeCloseTo((2 * Math.log(9) * 100 ** 2) / 200, 0);
  expect(divideOf(curves, ["light", "dense"])).toBeNull();
});
