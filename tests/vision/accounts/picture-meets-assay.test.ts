import { describe, expect, it } from "vitest";
import { type LinePoint, lineThrough, predict, yorkLine } from "../../../vision/accounts/line-with-errors.ts";
import { launderSharesOf } from "../../../vision/accounts/photo-shares.ts";
import { expectFrom, type Meeting, relate } from "../../../vision/accounts/picture-meets-assay.ts";
import { Reading } from "../../../vision/contract/index.ts";
import { inEnglish } from "../../../vision/said.ts";
import { randomFrom } from "../../../vision/scene/random.ts";
import { PEARSON_YORK } from "../../published/line-with-errors.ts";
import { denseBetween } from "../../server/readings.ts";
import { expectAgree } from "../process/agree.ts";
import { gaussFrom } from "./gauss.ts";

const measured = (value: number, error: number) => ({ value, error });
const tooFew = expect.objectContaining({ code: "too-few" });

describe("a line through points that are off both ways", () => {
  it("Pearson's points with York's weights", () => {
    const points = PEARSON_YORK.points.map(([x, wx, y, wy]) => ({
      x: measured(x, wx ** -0.5),
      y: measured(y, wy ** -0.5),
    }));
    const line = yorkLine(points);
    expectAgree(line.slope.value, PEARSON_YORK.slope, 1e-8);
    expectAgree(line.slope.error, PEARSON_YORK.slopeError, 1e-6);
    expectAgree(line.at0.value, PEARSON_YORK.at0, 1e-8);
    expectAgree(line.at0.error, PEARSON_YORK.at0Error, 1e-6);
    expectAgree(line.chiSquare / line.freedom, PEARSON_YORK.chiSquarePerFreedom, 1e-4);
    const scattered = lineThrough(points);
    expectAgree(scattered.chiSquare, scattered.freedom, 1e-6);
    expect(scattered.scatter).toBeGreaterThan(0);
  });

  it("with errors in y alone it is weighted least squares, worked out by its normal equations", () => {
    const rows = [
      [0.1, 12, 1],
      [0.3, 21, 2],
      [0.5, 31, 1],
      [0.8, 41, 0.5],
    ] as const;
    const line = yorkLine(rows.map(([x, y, e]) => ({ x: measured(x, 0), y: measured(y, e) })));
    const sums = (of: (x: number, y: number) => number) => rows.reduce((s, [x, y, e]) => s + of(x, y) / e ** 2, 0);
    const [S, Sx, Sy, Sxx, Sxy] = [
      sums(() => 1),
      sums((x) => x),
      sums((_, y) => y),
      sums((x) => x * x),
      sums((x, y) => x * y),
    ];
    const d = S * Sxx - Sx ** 2;
    expectAgree(line.slope.value, (S * Sxy - Sx * Sy) / d, 1e-9);
    expectAgree(line.at0.value, (Sxx * Sy - Sx * Sxy) / d, 1e-9);
    expectAgree(line.slope.error, Math.sqrt(S / d), 1e-9);
    expectAgree(line.covariance, -Sx / d, 1e-9);
  });

  const straight = (n: number): LinePoint[] =>
    Array.from({ length: n }, (_, i) => ({ x: measured(0.2 * i, 0.01), y: measured(10 + 8 * i, 1) }));
  it.each([
    [3, 12.706],
    [4, 4.303],
    [5, 3.182],
  ])("%i points: the interval is %f errors wide (Student)", (n, t) => {
    const { value, error, from, to } = predict(lineThrough(straight(n)), measured(0.3, 0.01));
    expectAgree((to - value) / error, t, 1e-3);
    expect(value - from).toBeCloseTo(to - value, 9);
  });

  it("refuses two points, points that look alike, and assays without errors", () => {
    expect(() => lineThrough(straight(2))).toThrow("2 of 3 runs");
    expect(() => lineThrough(straight(4).map((p) => ({ ...p, x: measured(0.3, 0.01) })))).toThrow("set otherwise");
    expect(() => yorkLine(straight(3).map(({ x, y }) => ({ x, y: measured(y.value, 0) })))).toThrow(tooFew);
  });

  it.each([3, 4, 5, 8])("over seeded draws of %i runs the truth lies within in 92 of 100 at least", (n) => {
    const random = randomFrom(40 + n);
    const gauss = gaussFrom(random);
    let [within, drawn] = [0, 0];
    for (let i = 0; i < 400; i++) {
      const truth = () => {
        const x = 0.2 + 0.6 * random();
        return { x, y: 10 + 40 * x + 2 * gauss() }; // materials differ from run to run by more than the assays' error
      };
      const points = Array.from({ length: n }, () => {
        const { x, y } = truth();
        return { x: measured(x + 0.02 * gauss(), 0.02), y: measured(y + gauss(), 1) };
      });
      try {
        const line = lineThrough(points);
        const next = truth();
        const { from, to } = predict(line, measured(next.x + 0.02 * gauss(), 0.02));
        within += Number(next.y >= from && next.y <= to);
        drawn += 1;
      } catch (error) {
        expect(error).toEqual(tooFew); // all runs alike
      }
    }
    expect(drawn).toBeGreaterThan(350);
    expect(within / drawn).toBeGreaterThanOrEqual(0.92);
  });
});

describe("what a photo says of a launder", () => {
  const launders = [
    { name: "A", product: "dense" as const, fromMm: 0, toMm: 240, carried: { dense: 0.8, middling: 0, light: 0 } },
    { name: "B", product: "light" as const, fromMm: 240, toMm: 2740, carried: { dense: 0.2, middling: 0, light: 1 } },
  ];
  const reading = denseBetween(100, 300, 10);
  const light = {
    ...reading.bands[0]!,
    kind: "light" as const,
    outlet: [{ fromMm: 200, toMm: 1200, fromErrorMm: 0, toErrorMm: null }],
  };
  it("shares by outlet length, with the edges' errors", () => {
    const [a, b] = launderSharesOf(Reading.parse({ ...reading, bands: [...reading.bands, light], launders }));
    expect(a!.denseCarried!.value).toBeCloseTo(140 / 200, 9);
    expect(b!.denseCarried!.value).toBeCloseTo(60 / 200, 9);
    // (240 − f) / (t − f): slopes −60 / 200² by the first edge, −140 / 200² by the last
    expectAgree(a!.denseCarried!.error, Math.hypot(60, 140) * (10 / 200 ** 2), 1e-4);
    expect(a!.denseShare!.value).toBeCloseTo(140 / 180, 9);
    expectAgree(a!.denseShare!.error, (40 * 10) / 180 ** 2, 1e-4);
  });
  it("nothing where nothing falls", () => {
    const [a] = launderSharesOf({ ...reading, bands: [], launders });
    expect(a).toEqual({ launder: "A", denseShare: null, denseCarried: null });
    expect(launderSharesOf(reading)).toEqual([]);
  });
});

describe("picture meets assay", () => {
  const meeting = (run: string, share: number, grade: number, more: Partial<Meeting> = {}): Meeting => ({
    run,
    site: "North shed",
    material: "tin sand",
    launder: "A",
    photosSay: [measured(share, 0.02), measured(share + 0.02, 0.02), measured(share - 0.02, 0.02)],
    assaySays: measured(grade, 1),
    ...more,
  });
  const four = [meeting("1", 0.4, 26), meeting("2", 0.5, 31), meeting("3", 0.65, 37), meeting("4", 0.8, 45)];

  it("keeps sites, materials and launders apart", () => {
    const relations = relate([
      ...four,
      meeting("5", 0.5, 12, { material: "tungsten sand" }),
      meeting("6", 0.5, 3, { launder: "B" }),
    ]);
    expect(relations.map(({ material, launder, runs }) => [material, launder, runs])).toEqual([
      ["tin sand", "A", 4],
      ["tungsten sand", "A", 1],
      ["tin sand", "B", 1],
    ]);
    expect(relations[1]).toMatchObject({ line: null, leftOut: [], leftOutError: null });
    expect(inEnglish(relations[1]!.refusal!)).toBe("1 of 3 runs are there: a line needs three at least.");
    expect(() => expectFrom(relations[1]!, [measured(0.5, 0.02)], [0, 100])).toThrow("1 of 3 runs");
  });

  it("foretells a grade with its interval, within what can be, and says when it looks beyond its runs", () => {
    const [relation] = relate(four);
    const grade = expectFrom(relation!, [measured(0.6, 0.02)], [0, 78.8]);
    expectAgree(grade.value, 35.5, 0.02);
    expect(grade.from).toBeGreaterThan(0);
    expect(grade.outside).toBe(false);
    const beyond = expectFrom(relation!, [measured(0.98, 0.02)], [0, 50]);
    expect(beyond).toMatchObject({ outside: true, to: 50 });
  });

  it("leaves out one run at a time: each is foretold by the others alone", () => {
    const [relation] = relate(four);
    expect(relation!.leftOut.map(({ run }) => run)).toEqual(["1", "2", "3", "4"]);
    const [without] = relate(four.slice(1));
    expect(relation!.leftOut[0]!.foretold.value).toBeCloseTo(
      expectFrom(without!, four[0]!.photosSay, [0, 100]).value,
      9,
    );
    const misses = relation!.leftOut.map(({ foretold, assaySays }) => foretold.value - assaySays.value);
    expect(relation!.leftOutError).toBeCloseTo(Math.hypot(...misses) / 2, 9);
    expect(relate(four.slice(1))[0]!.leftOut).toEqual([]);
  });

  it("ten photos of one run are one run", () => {
    const ten = meeting("1", 0.4, 26, { photosSay: new Array(10).fill(measured(0.4, 0.02)) });
    const [one, many] = [relate([meeting("1", 0.4, 26), ...four.slice(1)])[0]!, relate([ten, ...four.slice(1)])[0]!];
    expect(many.runs).toBe(4);
    expect(many.line!.freedom).toBe(one.line!.freedom);
    expect(() => relate([meeting("1", 0.4, 26, { photosSay: [] })])).toThrow("without a photo");
  });
});
