import { describe, expect, it } from "vitest";
import {
  floatSeconds,
  flowFromFloat,
  roughnessFromFloat,
  wettedLengthFromFloat,
} from "../../../vision/process/float-test.ts";
import { mmPerMFromInPerFt } from "../../../vision/process/slope-units.ts";
import { FLOW_FOR_FLOAT, WETTED_FOR_FLOAT } from "../../published/film.ts";
import { expectAgree } from "./agree.ts";

const slope = mmPerMFromInPerFt(0.25);
const test = {
  distanceMm: 1219.2,
  slopeMmPerM: { value: slope, error: 0.5 },
  temperatureC: { value: 20, error: 1 },
  wettedLengthMm: 2438.4,
};

it.each(FLOW_FOR_FLOAT)("a float of %f s speaks of the flow in the table", (seconds, flow) => {
  expectAgree(flowFromFloat({ ...test, seconds: [seconds] }).value, flow, 1e-3);
});

it.each(WETTED_FOR_FLOAT)("%i L/min and %f s: part of the length carries the water", (flow, seconds, metres) => {
  const { value } = wettedLengthFromFloat({ ...test, seconds: [seconds] }, { value: flow, error: 0 });
  expectAgree(value / 1000, metres, 1e-3);
});

it("finds again the roughness that a float time was made with", () => {
  for (const frictionK of [24, 60, 108]) {
    const seconds = floatSeconds({
      litresPerMinute: 22,
      wettedLengthMm: 2438.4,
      slopeMmPerM: slope,
      distanceMm: 1219.2,
      temperatureC: 20,
      frictionK,
    });
    expectAgree(roughnessFromFloat({ ...test, seconds: [seconds] }, { value: 22, error: 0 }).value, frictionK, 1e-9);
  }
});

it("calls practice faster than a smooth film: 5 to 6 s at 18.9 to 26.5 L/min (common practice) gives K below 24", () => {
  for (const [flow, seconds] of [
    [18.9, 6],
    [26.5, 5],
  ] as const) {
    expect(roughnessFromFloat({ ...test, seconds: [seconds] }, { value: flow, error: 0 }).value).toBeLessThan(24);
  }
});

describe("errors", () => {
  it("agree with the spread of tests drawn at random", () => {
    const draw = gaussians(7);
    const flows = Array.from({ length: 4000 }, () => {
      const drawn = {
        ...test,
        seconds: [5.5 + (0.2 / Math.sqrt(3)) * draw()],
        slopeMmPerM: { value: slope + 0.5 * draw(), error: 0.5 },
        temperatureC: { value: 20 + draw(), error: 1 },
      };
      return flowFromFloat(drawn).value;
    });
    const mean = flows.reduce((a, b) => a + b, 0) / flows.length;
    const spread = Math.sqrt(flows.reduce((a, b) => a + (b - mean) ** 2, 0) / flows.length);
    expectAgree(flowFromFloat({ ...test, seconds: [5.5, 5.5, 5.5] }).error, spread, 0.05);
  });

  it("shrink with more crossings, and like times by luck are no proof", () => {
    const one = flowFromFloat({ ...test, seconds: [5.5] });
    const four = flowFromFloat({ ...test, seconds: [5.5, 5.5, 5.5, 5.5] });
    expect(four.error).toBeLessThan(one.error);
    expect(four.error).toBeGreaterThan(one.error / 3);
  });
});

it("refuses no crossing, and a time of 0", () => {
  expect(() => flowFromFloat({ ...test, seconds: [] })).toThrow(expect.objectContaining({ code: "too-few-readings" }));
  expect(() => flowFromFloat({ ...test, seconds: [0] })).toThrow(expect.objectContaining({ code: "out-of-range" }));
});

/** Seeded normal deviates: Lehmer's generator and Box & Muller. */
function gaussians(seed: number) {
  let state = seed;
  const next = () => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647;
  };
  return () => Math.sqrt(-2 * Math.log(next())) * Math.cos(2 * Math.PI * next());
}
