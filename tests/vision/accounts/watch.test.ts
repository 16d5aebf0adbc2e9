import { describe, expect, it } from "vitest";
import { kindOfChange } from "../../../vision/accounts/kind-of-change.ts";
import { OwnScale } from "../../../vision/accounts/own-scale.ts";
import { cusumRunLength, ewmaRunLength, limitsFor, singleRunLength } from "../../../vision/accounts/run-lengths.ts";
import { relatedness, watch } from "../../../vision/accounts/watch.ts";
import { randomFrom } from "../../../vision/scene/random.ts";
import * as published from "../../published/control-charts.ts";
import { expectAgree } from "../process/agree.ts";
import { gaussFrom } from "./gauss.ts";

/** Half a unit of the last of three digits, and of the only decimal where fewer are printed. */
const printed = (value: number) => (value < 10 && Math.round(value * 10) / 10 === value ? 0.051 / value : 0.006);

describe("run lengths", () => {
  it.each(published.EWMA_LENGTHS)("EWMA, λ %f, L %f", (weight, width, lengths) => {
    lengths.forEach((length, i) => {
      expectAgree(ewmaRunLength(weight, width, published.SHIFTS[i]!), length, printed(length));
    });
  });
  it.each(published.CUSUM_LENGTHS)("CUSUM, k 0.5, h %f", (limit, lengths) => {
    lengths.forEach((length, i) => {
      expectAgree(cusumRunLength(0.5, limit, published.SHIFTS[i]!), length, 0.006);
    });
  });
  it.each(published.CUSUM_370)("CUSUM, k %f, h %f: 370, as near as two places of h let it", (slack, limit) =>
    expectAgree(cusumRunLength(slack, limit), 370.4, 0.02),
  );
  it.each(published.SINGLE_LENGTHS)("single values beyond 3 sd, shifted by %f", (shift, length) =>
    expectAgree(singleRunLength(3, shift), length, 2e-3),
  );
  it("an EWMA that forgets everything is a chart of single values", () =>
    expectAgree(ewmaRunLength(1, 3), singleRunLength(3), 1e-4));

  it("limits give back the length they were sought for", () => {
    const { ewma, cusum, single } = limitsFor(500);
    expectAgree(ewma.width, 2.814, 5e-4); // the published width for λ = 0.1
    expectAgree(cusumRunLength(cusum.slack, cusum.limit), 500, 1e-3);
    expectAgree(singleRunLength(single), 500, 1e-3);
    expect(() => limitsFor(1)).toThrow(expect.objectContaining({ code: "out-of-range" }));
  });
});

describe("a run's own scale", () => {
  it("gives independent normal values from the third on, whatever the level and spread", () => {
    const gauss = gaussFrom(randomFrom(11));
    const placed = Array.from({ length: 4000 }, () => {
      const scale = new OwnScale();
      const out: number[] = [];
      for (let i = 0; i < 6; i++) {
        const value = 240 + 15 * gauss();
        const z = scale.place(value);
        if (z !== null) out.push(z);
        scale.learn(value);
      }
      return out;
    });
    expect(placed.every((row) => row.length === 4)).toBe(true);
    const columns = [0, 1, 2, 3].map((k) => placed.map((row) => row[k]!));
    const mean = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / values.length;
    for (const column of columns) {
      expect(Math.abs(mean(column))).toBeLessThan(0.05);
      expect(Math.abs(mean(column.map((z) => z * z)) - 1)).toBeLessThan(0.08);
      expect(Math.abs(column.filter((z) => Math.abs(z) > 1.96).length / 4000 - 0.05)).toBeLessThan(0.012);
    }
    expect(Math.abs(mean(columns[0]!.map((z, i) => z * columns[1]![i]!)))).toBeLessThan(0.05);
  });
});

describe("kinds of change, drawn without noise worth speaking of", () => {
  const still = [0.1, -0.1, 0.05, -0.05, 0.1, -0.1, 0.05, -0.05, 0.1, -0.1];
  const add = (values: readonly number[]) => values.map((v, i) => 100 + v + still[i % 10]!);
  it("a step", () => {
    const fit = kindOfChange(add([...new Array(10).fill(0), ...new Array(6).fill(5)]));
    expect(fit).toMatchObject({ kind: "step", since: 10, perValue: null });
    expectAgree(fit.size, 5, 0.05);
  });
  it("a drift", () => {
    const fit = kindOfChange(add([...new Array(10).fill(0), 1, 2, 3, 4, 5, 6, 7, 8]));
    expect(fit).toMatchObject({ kind: "drift", since: 10 });
    expectAgree(fit.perValue!, 1, 0.05);
    expectAgree(fit.size, 8, 0.05);
  });
  it("a surge", () => {
    const fit = kindOfChange(add([...new Array(10).fill(0), 4, 4, 4, ...new Array(6).fill(0)]));
    expect(fit).toMatchObject({ kind: "surge", since: 10 });
    expectAgree(fit.size, 4, 0.05);
  });
  it("one value off and nothing after it: no kind yet", () => {
    expect(kindOfChange(add([...new Array(10).fill(0), 5])).kind).toBeNull();
  });
});

describe("watching", () => {
  it("alarms falsely on less than 1 in 500 photos, over 80 000 of them", () => {
    const gauss = gaussFrom(randomFrom(1));
    const [series, photos] = [400, 200];
    let alarms = 0;
    for (let i = 0; i < series; i++) alarms += watch(Array.from({ length: photos }, gauss)).alarms.length;
    expect(alarms).toBeGreaterThan(0);
    expect(alarms / (series * photos)).toBeLessThanOrEqual(1 / 500);
  });

  /** After 50 quiet photos: how many photos until the alarm in half of the cases, and what it is called, of 100. */
  function found(off: (photo: number) => number, seed: number) {
    const gauss = gaussFrom(randomFrom(seed));
    const firsts = Array.from({ length: 100 }, () => {
      const values = Array.from({ length: 120 }, (_, i) => gauss() + (i >= 50 ? off(i - 49) : 0));
      return watch(values).alarms.find(({ at }) => at >= 50);
    });
    const delays = firsts.map((alarm) => (alarm ? alarm.at - 49 : Infinity)).toSorted((a, b) => a - b);
    const kinds = (kind: string | null) => firsts.filter((alarm) => alarm?.kind === kind).length;
    return { median: delays[50]!, most: delays[90]!, kinds };
  }
  it("a step of two sd: within 6 photos in half of all cases, 12 in nine of ten; mostly called a step", () => {
    const { median, most, kinds } = found(() => 2, 2);
    expect(median).toBeLessThanOrEqual(6);
    expect(most).toBeLessThanOrEqual(12);
    expect(kinds("step")).toBeGreaterThanOrEqual(70);
    expect(kinds("drift") + kinds("surge")).toBeLessThanOrEqual(10);
  });
  it("a step of one sd: within 20 in half of all cases", () =>
    expect(found(() => 1, 3).median).toBeLessThanOrEqual(20));
  it("a drift of a tenth sd a photo: within 20 in half of all cases, 25 in nine of ten; mostly called a drift", () => {
    const { median, most, kinds } = found((photo) => photo / 10, 4);
    expect(median).toBeLessThanOrEqual(20);
    expect(most).toBeLessThanOrEqual(25);
    expect(kinds("drift")).toBeGreaterThanOrEqual(65);
    expect(kinds("step") + kinds("surge")).toBeLessThanOrEqual(15);
  });
  it("a surge of three sd over four photos: mostly called a surge", () => {
    const { median, kinds } = found((photo) => (photo <= 4 ? 3 : 0), 5);
    expect(median).toBeLessThanOrEqual(4);
    expect(kinds("surge")).toBeGreaterThanOrEqual(80);
  });

  const gauss = gaussFrom(randomFrom(9));
  const quiet = Array.from({ length: 40 }, () => 240 + 5 * gauss());
  it("speaks in the series' own places and units, gaps left out", () => {
    const values = [...quiet.slice(0, 20), null, ...quiet.slice(20), ...quiet.slice(0, 12).map((v) => v + 40)];
    const [alarm, ...others] = watch(values).alarms;
    expect(others).toEqual([]);
    expect(alarm).toMatchObject({ at: 41, since: 41, by: "single value", kind: "step", open: true });
    expectAgree(alarm!.size, 40, 0.1);
  });
  it("an alarm at the last photo is open, without a kind", () => {
    const [alarm] = watch([...quiet, 290]).alarms;
    expect(alarm).toMatchObject({ at: 40, kind: null, open: true });
  });
  it("after a step the new level is learned, and is quiet", () => {
    const values = [...quiet, ...quiet.map((v) => v + 40)];
    const { alarms, level } = watch(values);
    expect(alarms).toHaveLength(1);
    expectAgree(level!, 280, 0.02);
  });
  it("more quantities share the false alarms, so that each has wider limits", () => {
    expect(watch(quiet, { quantities: 5 }).limits.single).toBeGreaterThan(watch(quiet).limits.single);
  });
  it("refuses values that are no numbers or never differ; a few teach nothing", () => {
    expect(() => watch([1, Number.NaN])).toThrow(expect.objectContaining({ code: "out-of-range" }));
    expect(() => watch(new Array(20).fill(5))).toThrow("measure more finely");
    expect(watch([1, 2])).toMatchObject({ alarms: [], level: null, sd: null });
  });
});

describe("photos that are related", () => {
  const related = (phi: number, count: number, seed: number) => {
    const gauss = gaussFrom(randomFrom(seed));
    let last = 0;
    return Array.from({ length: count }, () => {
      last = phi * last + Math.sqrt(1 - phi ** 2) * gauss();
      return last;
    });
  };
  it("tells how much, and nothing where they are not", () => {
    const mean = (phi: number) =>
      Array.from({ length: 40 }, (_, i) => relatedness(related(phi, 200, 70 + i), [])).reduce((a, b) => a + b, 0) / 40;
    expectAgree(mean(0.5), 0.5, 0.06);
    expect(mean(0)).toBeLessThan(0.02);
    expect(relatedness(related(0.7, 30, 3), [])).toBe(0); // too few to tell
  });
  it("a drift does not look like it, nor does a step that was found", () => {
    const gauss = gaussFrom(randomFrom(6));
    const drift = Array.from({ length: 150 }, (_, i) => gauss() + i / 10);
    expect(relatedness(drift, [])).toBeLessThan(0.2);
    const step = Array.from({ length: 150 }, (_, i) => gauss() + (i >= 80 ? 6 : 0));
    expect(relatedness(step, [])).toBeGreaterThan(0.4);
    expect(relatedness(step, [{ at: 81, since: 80 }])).toBeLessThan(0.2);
  });
  it("widens the mean's limit by how much more such a mean varies, counted out over 400 000 values", () => {
    const [phi, weight] = [0.5, 0.1];
    const variance = (values: readonly number[]) => {
      let [mean, squares] = [0, 0];
      for (const value of values) {
        mean = (1 - weight) * mean + weight * value;
        squares += mean ** 2;
      }
      return squares / values.length;
    };
    const wider = Math.sqrt(variance(related(phi, 400_000, 8)) / variance(related(0, 400_000, 9)));
    const [plain, wide] = [watch([]).limits, watch([], { related: phi }).limits];
    expectAgree(wide.ewma.width / plain.ewma.width, wider, 0.02);
    expectAgree(wide.cusum.limit / plain.cusum.limit, 3, 1e-9); // (1 + φ) / (1 − φ)
    expect(wide.single).toBe(plain.single);
    expect(() => watch([], { related: 0.9 })).toThrow(expect.objectContaining({ code: "out-of-range" }));
  });
});
