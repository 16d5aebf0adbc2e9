import { levenbergMarquardt } from "ml-levenberg-marquardt";
import { describe, expect, it } from "vitest";
import type { Item, Stream } from "../../../vision/accounts/balances.ts";
import { figureOf, reconcileAndJudge } from "../../../vision/accounts/gross-errors.ts";
import { chiSquareLimit } from "../../../vision/accounts/odds.ts";
import { type Reconciled, reconcile } from "../../../vision/accounts/reconcile.ts";
import { sayMeasured, verdictOf } from "../../../vision/accounts/verdict.ts";
import { waterBalance, waterWith } from "../../../vision/accounts/water-balance.ts";
import { waterBudget } from "../../../vision/process/water-budget.ts";
import { randomFrom } from "../../../vision/scene/random.ts";
import { inEnglish } from "../../english.ts";
import * as published from "../../published/reconciliation.ts";
import { expectAgree } from "../process/agree.ts";
import { gaussFrom } from "./gauss.ts";

const measured = (value: number, error: number) => ({ value, error });
const way = (name: string, from: string | null, to: string | null) => ({ name, from, to });

const SIX: Stream[] = [
  ["1", null, "a"],
  ["2", "a", "b"],
  ["3", "a", "c"],
  ["4", "b", "d"],
  ["5", "c", "d"],
  ["6", "d", null],
].map(([name, from = null, to = null], i) => ({
  ...way(name!, from, to),
  mass: measured(published.SIX_FLOWS.measured[i]!, 1),
  assays: {},
}));

type Tin = keyof typeof published.TIN_ASSAYS;
const TIN = Object.keys(published.TIN_ASSAYS) as Tin[];
/** Two products, nothing weighed but the feed, which counts as 1. */
function tin(errorOf: (value: number) => number): Stream[] {
  const assays = (at: 0 | 1 | 2) =>
    Object.fromEntries(
      TIN.map((kind) => [kind, measured(published.TIN_ASSAYS[kind][at], errorOf(published.TIN_ASSAYS[kind][at]))]),
    );
  return [
    { ...way("feed", null, "table"), mass: measured(1, 0), assays: assays(0) },
    { ...way("dense", "table", null), mass: null, assays: assays(1) },
    { ...way("tailing", "table", null), mass: null, assays: assays(2) },
  ];
}
const COMPONENTS: Stream[] = published.TWO_COMPONENTS.streams.map(([mass, error, a, aError, b, bError], i) => ({
  ...way(String(i + 1), i === 0 ? null : "column", i === 0 ? "column" : null),
  mass: measured(mass, error),
  assays: { a: measured(a, aError), b: measured(b, bError) },
}));
const value = (balance: Reconciled, stream: string, assay: string | null = null) =>
  figureOf(balance, stream, assay).value!;
const recovery = (balance: Reconciled) =>
  balance.derive((read) => (read("dense", null) * read("dense", "Sn")) / (read("feed", null) * read("feed", "Sn")))!;
const exactly = (assays: Stream["assays"]) =>
  Object.fromEntries(Object.entries(assays).map(([kind, { value: v }]) => [kind, measured(v, 0)]));
function expectAdjusted(balance: Reconciled, adjusted: Record<Tin, readonly number[]>): void {
  for (const kind of TIN) {
    ["feed", "dense", "tailing"].forEach((stream, i) => {
      expectAgree(value(balance, stream, kind), adjusted[kind][i]!, 5e-5);
    });
  }
}

describe("reconciliation", () => {
  it("six flows (Narasimhan & Jordache, ch. 1)", () => {
    const balance = reconcile(SIX);
    published.SIX_FLOWS.adjusted.forEach((flow, i) => {
      expect(value(balance, String(i + 1))).toBeCloseTo(flow, 9);
    });
    expect(balance.chiSquare).toBeCloseTo(published.SIX_FLOWS.squares, 9);
    expect(balance.freedom).toBe(4);
    // three estimates of each flow, each with error 1 and two shared sums: worked out
    expect(figureOf(balance, "2", null).error).toBeCloseTo(1 / Math.sqrt(3), 9);
  });

  it("a tin concentrator's six assays, errors of 5 %", () => {
    const balance = reconcile(tin((v) => 0.05 * v));
    expectAgree(value(balance, "dense"), published.TIN_WEIGHTED.yield, 1e-6);
    expectAgree(recovery(balance).value, published.TIN_WEIGHTED.recovery, 1e-6);
    expectAgree(balance.chiSquare, published.TIN_WEIGHTED.chiSquare, 1e-6);
    expect(balance.freedom).toBe(5);
    expectAdjusted(balance, published.TIN_WEIGHTED.adjusted);
  });

  it("the same with the feed's assays alone in error, all alike: the book's unweighted yield", () => {
    const streams = tin(() => 1).map((s) => (s.name === "feed" ? s : { ...s, assays: exactly(s.assays) }));
    expectAgree(value(reconcile(streams), "dense"), published.TIN_UNWEIGHTED.yield, 1e-6);
  });

  it("the same at that yield, all assays alike in error: adjusted as the book does it", () => {
    const dense = published.TIN_UNWEIGHTED.yield;
    const masses = [1, dense, 1 - dense];
    const balance = reconcile(tin(() => 1).map((s, i) => ({ ...s, mass: measured(masses[i]!, 0) })));
    expectAdjusted(balance, published.TIN_UNWEIGHTED.adjusted);
    expectAgree(recovery(balance).value, published.TIN_UNWEIGHTED.recovery, 1e-6);
  });

  it("each assay alone gives the yield that the book prints", () => {
    for (const kind of TIN) {
      const streams = tin((v) => 0.05 * v).map((s) => ({ ...s, assays: { [kind]: s.assays[kind]! } }));
      const balance = reconcile(streams);
      expectAgree(100 * value(balance, "dense"), published.TIN_ASSAYS[kind][3], 2e-3);
      expect(balance.freedom).toBe(0);
    }
  });

  it("two components in three streams, and with components that sum to 1", () => {
    for (const [expected, options] of [
      [published.TWO_COMPONENTS, {}],
      [published.TWO_COMPONENTS.whole, { assaysSumTo: 1 }],
    ] as const) {
      const balance = reconcile(COMPONENTS, options);
      expected.flows.forEach((flow, i) => {
        expectAgree(value(balance, String(i + 1)), flow, 1e-6);
        expectAgree(value(balance, String(i + 1), "a"), expected.components[i]![0]!, 5e-5);
        expectAgree(value(balance, String(i + 1), "b"), expected.components[i]![1]!, 5e-5);
      });
      expectAgree(balance.chiSquare, expected.chiSquare, 1e-6);
      expect(balance.freedom).toBe("assaysSumTo" in options ? 5 : 3);
    }
  });

  it("refuses what cannot be balanced, and says what to do", () => {
    const feed = { ...way("feed", null, "table"), mass: null, assays: {} };
    expect(() => reconcile([])).toThrow(expect.objectContaining({ code: "too-few" }));
    expect(() => reconcile([feed])).toThrow("weigh one stream");
    expect(() => reconcile([{ ...feed, mass: measured(3, 1) }])).toThrow("Nothing leaves table");
    expect(() => reconcile([{ ...feed, mass: measured(-1, 1) }])).toThrow(
      expect.objectContaining({ code: "out-of-range" }),
    );
    const exact = [
      { ...feed, mass: measured(100, 0) },
      { ...way("dense", "table", null), mass: measured(90, 0), assays: {} },
    ];
    expect(() => reconcile(exact)).toThrow("Give each mass and assay its error");
  });

  it("leaves open what the figures do not tell", () => {
    const balance = reconcile([
      { ...way("feed", null, "table"), mass: measured(100, 1), assays: {} },
      { ...way("dense", "table", null), mass: null, assays: {} },
      { ...way("tailing", "table", null), mass: null, assays: {} },
    ]);
    expect(figureOf(balance, "dense", null)).toMatchObject({ value: null, error: null });
    expect(balance.derive((read) => read("dense", null) / read("feed", null))).toBeNull();
  });
});

/** Two decks, the second's middling run again: what is known of five streams follows from three of them. */
function twoDecks(draw: (value: number, error: number) => number): Stream[] {
  const own: Record<string, readonly [number, number, number]> = {
    dense: [12, 41, 6],
    middling: [30, 9, 18],
    tailing: [158, 0.6, 3],
  };
  const blend = (names: readonly string[]): readonly [number, number, number] => {
    const mass = names.reduce((sum, name) => sum + own[name]![0], 0);
    const grade = (k: 1 | 2) => names.reduce((sum, name) => sum + own[name]![0] * own[name]![k], 0) / mass;
    return [mass, grade(1), grade(2)];
  };
  const streams: readonly [ReturnType<typeof way>, readonly [number, number, number]][] = [
    [way("feed", null, "rougher"), blend(["dense", "tailing"])],
    [way("rough", "rougher", "cleaner"), blend(["dense", "middling"])],
    [way("tailing", "rougher", null), own.tailing!],
    [way("dense", "cleaner", null), own.dense!],
    [way("middling", "cleaner", "rougher"), own.middling!],
  ];
  const seen = (v: number, share: number) => measured(draw(v, share * v), share * v);
  return streams.map(([one, [mass, tin, iron]]) => ({
    ...one,
    mass: seen(mass, 0.03),
    assays: { Sn: seen(tin, 0.04), Fe: seen(iron, 0.05) },
  }));
}

describe("against a general-purpose solver", () => {
  it("two decks in a ring come out as least squares over the three free streams finds them", () => {
    const gauss = gaussFrom(randomFrom(7));
    const streams = twoDecks((v, e) => v + e * gauss());
    const balance = reconcile(streams);
    const ORDER = ["tailing", "dense", "middling"];
    const of = (free: readonly number[], names: readonly string[]) => {
      const rows = names.map((name) => free.slice(3 * ORDER.indexOf(name), 3 * ORDER.indexOf(name) + 3));
      const mass = rows.reduce((sum, [m]) => sum + m!, 0);
      return [mass, ...[1, 2].map((k) => rows.reduce((sum, row) => sum + row[0]! * row[k]!, 0) / mass)];
    };
    const madeOf: Record<string, string[]> = {
      feed: ["dense", "tailing"],
      rough: ["dense", "middling"],
      tailing: ["tailing"],
      dense: ["dense"],
      middling: ["middling"],
    };
    const figures = (s: Stream) => [s.mass!, s.assays.Sn!, s.assays.Fe!];
    const seen = streams.flatMap(figures);
    const start = ORDER.flatMap((name) => figures(streams.find((s) => s.name === name)!).map((m) => m.value));
    const fit = levenbergMarquardt(
      { x: seen.map((_, i) => i), y: seen.map((m) => m.value / m.error) },
      (shares: number[]) => {
        const free = shares.map((share, i) => share * start[i]!);
        const all = streams.flatMap(({ name }) => of(free, madeOf[name]!));
        return (i: number) => all[i]! / seen[i]!.error;
      },
      {
        initialValues: start.map(() => 1),
        maxIterations: 200,
        errorTolerance: 1e-14,
        gradientDifference: 1e-6,
        centralDifference: true,
      },
    );
    const found = streams.flatMap(({ name }) =>
      of(
        fit.parameterValues.map((share, i) => share * start[i]!),
        madeOf[name]!,
      ),
    );
    const ours = streams.flatMap(({ name }) => [null, "Sn", "Fe"].map((kind) => value(balance, name, kind)));
    found.forEach((v, i) => {
      expectAgree(ours[i]!, v, 1e-5);
    });
    const squares = found.reduce((sum, v, i) => sum + ((v - seen[i]!.value) / seen[i]!.error) ** 2, 0);
    expectAgree(balance.chiSquare, squares, 1e-6);
    expect(balance.freedom).toBe(6);
  });
});

describe("standard errors and misfits, over seeded draws", () => {
  const DRAWS = 250;
  const gauss = gaussFrom(randomFrom(20));
  const draws = Array.from({ length: DRAWS }, () => twoDecks((v, e) => v + e * gauss()));

  it("adjusted figures scatter as their errors say, and chi-square as its freedom", () => {
    const all = draws.map((streams) => reconcile(streams));
    const sd = (values: readonly number[]) => {
      const mean = values.reduce((a, b) => a + b, 0) / values.length;
      return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (values.length - 1));
    };
    for (const [stream, assay] of [
      ["dense", null],
      ["dense", "Sn"],
      ["feed", "Fe"],
      ["tailing", null],
    ] as const) {
      const errors = all.map((one) => figureOf(one, stream, assay).error!);
      const said = errors.reduce((a, b) => a + b, 0) / DRAWS;
      expectAgree(sd(all.map((one) => value(one, stream, assay))), said, 0.15); // 250 draws tell an sd to 4.5 %
    }
    const recoveries = all.map(recovery);
    expectAgree(sd(recoveries.map((r) => r.value)), recoveries.reduce((a, r) => a + r.error, 0) / DRAWS, 0.15);
    expectAgree(all.reduce((sum, { chiSquare }) => sum + chiSquare, 0) / DRAWS, 6, 0.15);
  });

  it("calls a misfit where there is none in a tenth of balances at most: two tests, each once in 20", () => {
    expect(draws.filter((streams) => reconcileAndJudge(streams).misfits.length > 0).length / DRAWS).toBeLessThan(0.1);
  });

  it("names a mass that is eight errors off in all of 100 balances, in 80 of them first", () => {
    const wrong = draws.slice(0, 100).map((streams) => {
      const { measured: m, value: x, off } = figureOf(reconcile(streams), "middling", null);
      const byEight = (8 * m!.error ** 2 * off!) / (m!.value - x!); // moves it by eight standard errors of its move
      return streams.map((s) => (s.name === "middling" ? { ...s, mass: { ...m!, value: m!.value + byEight } } : s));
    });
    const isIt = ({ stream, assay }: Item) => stream === "middling" && assay === null;
    const firsts = wrong.map((streams) => reconcileAndJudge(streams).misfits[0]!);
    expect(firsts.filter(isIt).length).toBeGreaterThanOrEqual(80);
    expect(firsts.filter((first) => isIt(first) || first.orElse.some(isIt))).toHaveLength(100);
  });
});

const sayVerdict = (...of: Parameters<typeof verdictOf>) => inEnglish(verdictOf(...of));

describe("verdicts", () => {
  it("the published stream that is off is named, with what the others say", () => {
    const judged = reconcileAndJudge(COMPONENTS);
    expect(judged.before.chiSquare).toBeGreaterThan(chiSquareLimit(0.95, 3));
    expect(judged.misfits).toMatchObject([{ stream: "1", assay: null, orElse: [] }]);
    // the other two flows sum to 966.634: what feeds them
    expect(Math.abs(judged.misfits[0]!.expected!.value - 966.634)).toBeLessThan(judged.misfits[0]!.expected!.error);
    expect(sayVerdict(judged, "kg/h")[0]).toBe(
      "The 1 mass does not fit; weigh it again. It was given as 1095.5 ± 4.8 kg/h; the other figures say 966.4 ± 5.9 kg/h (17 standard errors off).",
    );
    expect(sayVerdict(judged, "kg/h").join(" ")).toContain("what stayed on the deck");
    expect(sayVerdict(judged, "kg/h").join(" ")).toContain("The others fit together");
  });

  const table = (middling: number) => [
    { ...way("feed", null, "table"), mass: measured(1000, 10), assays: { Sn: measured(2, 0.05) } },
    { ...way("dense", "table", null), mass: measured(40, 0.5), assays: { Sn: measured(40, 0.8) } },
    { ...way("middling", "table", null), mass: measured(middling, 2), assays: { Sn: measured(3, 0.1) } },
    { ...way("tailing", "table", null), mass: measured(860, 10), assays: { Sn: measured(0.25, 0.02) } },
  ];
  it("all is well, and says how well", () => {
    const judged = reconcileAndJudge(table(100));
    expect(judged.misfits).toEqual([]);
    expect(sayVerdict(judged, "kg")).toEqual([
      expect.stringMatching(/^All figures fit together \(chi-square \d(\.\d)?; up to 6 is usual with 2 checks\)\.$/),
    ]);
  });
  it("a middling that was weighed wrongly is to be weighed again", () => {
    const [first] = sayVerdict(reconcileAndJudge(table(190)), "kg");
    expect(first).toMatch(/^The middling mass does not fit; weigh it again\. It was given as 190\.0 ± 2\.0 kg/);
  });
  it("what one balance cannot tell apart is said as such", () => {
    const two = [
      { ...way("feed", null, "table"), mass: measured(100, 1), assays: {} },
      { ...way("dense", "table", null), mass: measured(80, 1), assays: {} },
    ];
    const judged = reconcileAndJudge(two);
    expect(judged.misfits[0]!.orElse).toHaveLength(1);
    expect(sayVerdict(judged, "kg").join(" ")).toContain("the figures cannot tell these apart");
  });
  it("without any check it says so", () => {
    const one = [
      { ...way("feed", null, "table"), mass: null, assays: {} },
      { ...way("dense", "table", null), mass: measured(80, 1), assays: {} },
    ];
    expect(sayVerdict(reconcileAndJudge(one), "kg")).toEqual([
      "Nothing checks these figures: weigh or assay one more.",
    ]);
  });
  it.each([
    [measured(41.2993, 2.426), "41.3 ± 2.4"],
    [measured(0.05, 0.0004), "0.05000 ± 0.00040"],
    [measured(1234.5, 99), "1235 ± 99"],
    [measured(3, 0), "3"],
  ])("%o reads %s", (m, said) => expect(sayMeasured(m)).toBe(said));
});

describe("water", () => {
  it("goes with the solids as the water budget has it", () => {
    const { value: perHour } = waterWith(measured(500, 0), measured(25, 0));
    const feed = { solidsKgPerHour: 500, feedSolidsPercent: 25, solidsKgPerM3: 2650, washLitresPerMinute: 0 };
    expect(perHour / 60).toBeCloseTo(waterBudget(feed).feedWaterLitresPerMinute, 9);
    expectAgree(waterWith(measured(100, 0), measured(25, 0.5)).error, (100 * 100 * 0.5) / 25 ** 2, 1e-6);
  });
  it("a launder that nobody measured follows; one that contradicts is named", () => {
    const streams = (light: number | null) => [
      { ...way("feed", null, "table"), water: measured(480, 10) },
      { ...way("wash", null, "table"), water: measured(840, 8) },
      { ...way("dense", "table", null), water: measured(120, 4) },
      { ...way("light", "table", null), water: light === null ? null : measured(light, 12) },
    ];
    const left = figureOf(waterBalance(streams(null)).after, "light", null);
    expect(left.value).toBeCloseTo(1200, 9);
    expect(left.error).toBeCloseTo(Math.hypot(10, 8, 4), 9);
    expect(sayVerdict(waterBalance(streams(1000)), "L/h", "water")[0]).toContain(
      "water does not fit; measure it again",
    );
  });
});
