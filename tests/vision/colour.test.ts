import { expect, it } from "vitest";
import {
  deltaE2000,
  labPlanes,
  labToSrgb,
  linearToSrgb,
  linearToXyz,
  srgbToLab,
  srgbToLinear,
  xyzToLab,
} from "../../vision/colour.ts";
import { SHARMA_2005 } from "../published/ciede2000.ts";
import { SRGB_TO_LAB } from "../published/colour-conversion.ts";

// SHARMA_2005 is table 1 of Sharma, Wu & Dalal (2005), Color Res. Appl. 30 (1), 21–30.
it.each(SHARMA_2005)("ΔE00 agrees with pair %i, either way round", (_pair, a, b, expected) => {
  expect(deltaE2000(a, b)).toBeCloseTo(expected, 4);
  expect(deltaE2000(b, a)).toBeCloseTo(expected, 4);
});

it("finds no difference between a colour and itself", () => {
  for (const [, a] of SHARMA_2005) expect(deltaE2000(a, a)).toBe(0);
});

// SRGB_TO_LAB follows IEC 61966-2-1 and CIE 15; see its head for the tolerance.
it.each(SRGB_TO_LAB)("sRGB %j goes through linear light and XYZ to CIELAB and back", (srgb, linear, xyz, lab) => {
  const light = srgb.map(srgbToLinear) as [number, number, number];
  light.forEach((value, i) => {
    expect(value).toBeCloseTo(linear[i]!, 6);
  });
  linearToXyz(light).forEach((value, i) => {
    expect(value).toBeCloseTo(xyz[i]!, 5);
  });
  xyzToLab(xyz).forEach((value, i) => {
    expect(Math.abs(value - lab[i]!)).toBeLessThan(0.02);
  });
  srgbToLab(srgb).forEach((value, i) => {
    expect(Math.abs(value - lab[i]!)).toBeLessThan(0.02);
  });
  labToSrgb(srgbToLab(srgb)).forEach((value, i) => {
    expect(Math.abs(value - srgb[i]!)).toBeLessThan(0.01);
  });
});

it("puts 18 % grey at code 117.646", () => {
  // IEC 61966-2-1, worked out.
  expect(linearToSrgb(0.18)).toBeCloseTo(117.646, 3);
});

it("undoes each of the 256 codes, both sides of the straight piece of the curve", () => {
  for (let code = 0; code < 256; code++) expect(linearToSrgb(srgbToLinear(code))).toBeCloseTo(code, 4);
});

const GAIN = [1.190476, 1, 0.819672] as const; // a grey card seen as 0.42, 0.50, 0.61 in linear light

it.each([[[1, 1, 1]], [GAIN], [[3, 1, 0.5]], [[0.2, 0.2, 0.2]]] as const)(
  "planes agree with one colour at a time under gains %j",
  (gain) => {
    const rgba = colours(4096);
    const kept = rgba.slice();
    const { L, a, b } = labPlanes(rgba, gain);
    let worst = 0;
    for (let i = 0; i < L.length; i++) {
      const light = [0, 1, 2].map((c) => gain[c]! * srgbToLinear(rgba[4 * i + c]!)) as [number, number, number];
      const lab = xyzToLab(linearToXyz(light));
      worst = Math.max(worst, Math.abs(L[i]! - lab[0]), Math.abs(a[i]! - lab[1]), Math.abs(b[i]! - lab[2]));
    }
    expect(worst).toBeLessThan(0.02);
    expect(rgba).toEqual(kept);
  },
);

it("turns the grey card grey", () => {
  // Gains of the card above; codes rounded to whole numbers, so not exactly.
  const card = [0.42, 0.5, 0.61].map(linearToSrgb);
  const { a, b } = labPlanes(Uint8ClampedArray.from([...card, 255]), GAIN);
  expect(Math.abs(a[0]!)).toBeLessThan(0.5);
  expect(Math.abs(b[0]!)).toBeLessThan(0.5);
});

it("answers an empty picture with empty planes", () => {
  expect(labPlanes(new Uint8ClampedArray(0), [1, 1, 1]).L).toHaveLength(0);
});

/** Codes spread over the whole cube, black and white among them. */
function colours(count: number): Uint8ClampedArray {
  const rgba = new Uint8ClampedArray(4 * count);
  for (let i = 0; i < count; i++)
    rgba.set([(i * 73) % 256, (i * 151 + (i >> 8)) % 256, (i * 199 + (i >> 4)) % 256, 255], 4 * i);
  rgba.set([255, 255, 255, 255], 4);
  return rgba;
}
