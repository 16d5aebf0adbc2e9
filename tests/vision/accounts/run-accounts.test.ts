import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { balanceLines, writeBalance } from "../../../vision/accounts/balance-sheet.ts";
import { figureOf } from "../../../vision/accounts/gross-errors.ts";
import { propagate } from "../../../vision/accounts/propagate.ts";
import { accountFor, type RunAccounts } from "../../../vision/accounts/run-accounts.ts";
import { readRunSheet } from "../../../vision/accounts/run-sheet.ts";
import { recoveryOf } from "../../../vision/accounts/two-products.ts";
import type { RunRecord } from "../../../vision/contract/run-record.ts";
import { inEnglish } from "../../english.ts";
import { LEAD_ZINC, WEIGHED_RUN } from "../../published/several-products.ts";
import { GRADE_ERRORS, SEPARATION_EFFICIENCY, TWO_PRODUCTS } from "../../published/two-products.ts";
import { expectAgree } from "../process/agree.ts";

const HEADING = "kind,stream,sample,item,value,error,unit,time";
function runFrom(...rows: readonly string[]): RunRecord {
  const { run, faults } = readRunSheet([HEADING, ...rows].join("\n"));
  expect(faults).toEqual([]);
  return run!;
}
const account = (...rows: readonly string[]) => accountFor(runFrom(...rows));
const product = ({ products }: RunAccounts, name: string) => products.find(({ stream }) => stream === name)!;
const demo = readRunSheet(
  readFileSync(new URL("../../../sample-images/runs/river-tin.run.csv", import.meta.url), "utf8"),
).run!;

describe("a run adds up", () => {
  it("three weighed products without an assay of the feed: head and distribution as published", () => {
    const names = ["dense", "middling", "light"];
    const rows = WEIGHED_RUN.products.flatMap(([kg, grade], i) => [
      `mass,${names[i]},,dry,${kg},0.01,kg`,
      `assay,${names[i]},,Au,${grade},${grade / 100},g/t`,
    ]);
    const accounts = account(...rows);
    expectAgree(figureOf(accounts.judged.after, "feed", "Au").value!, WEIGHED_RUN.head / 1e4, 1e-6);
    names.forEach((name, i) => {
      expectAgree(product(accounts, name).metals[0]!.recovery!.value, WEIGHED_RUN.distribution[i]!, 1e-6);
    });
    expect(inEnglish(accounts.verdict)).toEqual(["Nothing checks these figures: weigh or assay one more."]);
  });

  it.each(TWO_PRODUCTS)(
    "nothing weighed, grades %f, %f, %f: the two-product formula",
    (f, c, t, y, r, e, k, within) => {
      const grades = { feed: f, dense: c, light: t };
      const accounts = account(...Object.entries(grades).map(([name, grade]) => `assay,${name},,Sn,${grade},0.01,%`));
      const { share, ratio, metals } = product(accounts, "dense");
      expect(accounts.unit).toBe("of the feed");
      expectAgree(share!.value, y, 1e-4);
      expectAgree(ratio!.value, k, within);
      expectAgree(metals[0]!.recovery!.value, r, 1e-5);
      expectAgree(metals[0]!.enrichment!.value, e, 1e-6);
      expect(inEnglish(accounts.notes).join(" ")).toContain("Nothing was weighed");
    },
  );

  it.each(GRADE_ERRORS)("grades %f, %f, %f, each within %f of itself: errors of all five", (f, c, t, e, sdR, sdY) => {
    const grades = { feed: f, dense: c, light: t };
    const rows = Object.entries(grades).map(([name, grade]) => `assay,${name},,Sn,${grade},${grade * e},%`);
    const accounts = account("run,,,mineral,cassiterite,,", ...rows);
    const { share, ratio, metals } = product(accounts, "dense");
    const { recovery, enrichment, separation } = metals[0]!;
    const Y = (f - t) / (c - t);
    expectAgree(share!.error, sdY, 1e-3);
    expectAgree(recovery!.error, sdR, 1e-3);
    // K = 1 / Y, hence sd(K) = sd(Y) / Y²; E = c / f, hence sd(E) / E = e √2 (JCGM 100:2008, 5.1.2 and 5.1.6)
    expectAgree(ratio!.error, sdY / Y ** 2, 1e-3);
    expectAgree(enrichment!.error, (c / f) * e * Math.SQRT2, 1e-3);
    // Schulz (1970): what was recovered of the mineral less what was of the gangue, here straight from the grades
    const gangue = (F: number, C: number, T: number) => (((F - T) / (C - T)) * (78.768 - C)) / (78.768 - F);
    const asked = [f, c, t].map((value) => ({ value, error: value * e }));
    const expected = propagate(asked, ([F, C, T]) => recoveryOf([F!, C!, T!]) - gangue(F!, C!, T!));
    expectAgree(separation!.value, expected.value, 1e-3);
    expectAgree(separation!.error, expected.error, 1e-3);
  });

  it.each(SEPARATION_EFFICIENCY)(
    "tin at %f %% and a recovery of %f: efficiency and ratio",
    (c, recovery, efficiency) => {
      const Y = recovery / c;
      const tailing = (1 - recovery) / (1 - Y);
      const rows = Object.entries({ feed: 1, dense: c, light: tailing });
      const assays = rows.map(([name, grade]) => `assay,${name},,Sn,${grade},0.001,%`);
      const { ratio, metals } = product(account("run,,,mineral,cassiterite,,", ...assays), "dense");
      expectAgree(metals[0]!.separation!.value, efficiency, 1e-3);
      expectAgree(ratio!.value, c / recovery, 1e-4);
    },
  );

  it("lead and zinc in three products, nothing weighed: tonnes of feed for a tonne of each concentrate", () => {
    const { feed, products, ratios, recoveries } = LEAD_ZINC;
    const rows = Object.entries({ feed, dense: products[0], middling: products[1], light: products[2] });
    const accounts = account(
      ...rows.flatMap(([name, [Pb, Zn]]) => [`assay,${name},,Pb,${Pb},0.001,%`, `assay,${name},,Zn,${Zn},0.001,%`]),
    );
    ["dense", "middling"].forEach((name, i) => {
      expectAgree(product(accounts, name).ratio!.value, ratios[i]!, 1e-6);
      expectAgree(product(accounts, name).metals[0]!.recovery!.value, recoveries[0][i]!, 1e-6);
    });
  });

  it.each([
    [2.1, true],
    [1.9, false],
  ])("a share %f standard errors from nothing has a ratio: %s", (errors, has) => {
    const { share, ratio } = product(
      account("mass,feed,,dry,100,0.0001,kg", `mass,dense,,dry,1,${1 / errors},kg`, "mass,light,,dry,99,1000,kg"),
      "dense",
    );
    expectAgree(share!.value / share!.error, errors, 1e-3);
    expect(ratio !== null).toBe(has);
  });

  it("timed cuts alone balance kg an hour; with hours, kg", () => {
    const cut = (name: string, dry: number) => [`cut,${name},1,dry,${dry},0.01,kg`, `cut,${name},1,time,60,0.5,s`];
    const rows = [...cut("feed", 2), ...cut("dense", 0.2), ...cut("light", 1.8)];
    const perHour = account(...rows);
    expect(perHour.unit).toBe("kg/h");
    expect(figureOf(perHour.judged.after, "feed", null).value).toBeCloseTo(120, 6);
    expect(inEnglish(perHour.notes).join(" ")).toContain("Fewer than 3 cuts of feed, dense, light");
    const run = account("run,,,hours,2,0.01,h", ...rows);
    expect(run.unit).toBe("kg");
    expect(figureOf(run.judged.after, "feed", null).value).toBeCloseTo(240, 6);
  });

  it("what is hosed off the deck is counted in: without it the run lacks solids", () => {
    const rows = ["mass,feed,,dry,100,0.5,kg", "mass,dense,,dry,8,0.1,kg", "mass,light,,dry,84,0.5,kg"];
    expect(account(...rows, "mass,clean-up,,dry,8,0.1,kg").judged.misfits).toEqual([]);
    const short = account(...rows);
    expect(short.judged.misfits).toHaveLength(1);
    expect(inEnglish(short.verdict).join(" ")).toContain("what stayed on the deck");
  });

  it("buckets add up, and moisture stands for drying", () => {
    const accounts = account(
      "mass,feed,,dry,100,1,kg",
      "mass,dense,1,wet,10,0,kg",
      "mass,dense,1,moisture,20,0,%",
      "mass,dense,2,dry,4,0,kg",
      "mass,light,,dry,88,1,kg",
    );
    expect(figureOf(accounts.judged.before, "dense", null).measured!.value).toBeCloseTo(12, 9);
  });

  it("replicates are averaged; from three their spread counts", () => {
    const grades = (values: readonly number[]) => values.map((v, i) => `assay,dense,${i + 1},Sn,${v},0.3,%`);
    const measured = (values: readonly number[]) =>
      figureOf(
        account("mass,feed,,dry,9,1,kg", "mass,dense,,dry,1,1,kg", ...grades(values)).judged.before,
        "dense",
        "Sn",
      ).measured!;
    expect(measured([40, 42]).value).toBe(41);
    expectAgree(measured([40, 42]).error, 0.3 / Math.SQRT2, 1e-6);
    expectAgree(measured([40, 42, 44]).error, 2 / Math.sqrt(3), 1e-6);
  });

  it("errors that nobody gave are taken, and told", () => {
    const { notes, judged } = account("mass,feed,,dry,100,,kg", "mass,dense,,dry,4,0.1,kg", "assay,dense,,Sn,40,,%");
    expect(inEnglish(notes)).toEqual(
      expect.arrayContaining([
        "No error was given for one mass: 1 % was taken.",
        "No error was given for one assay: 5 % was taken.",
        "Give your own errors: the verdict rests on them.",
      ]),
    );
    expect(figureOf(judged.before, "feed", null).measured).toEqual({ value: 100, error: 1 });
  });

  it.each([
    [["stream,a,,to,table,,", "stream,b,,to,table,,", "assay,out,,Sn,3,,%"], "Nothing was weighed or timed"],
    [["mass,feed,,dry,100,1,kg", "cut,dense,1,dry,1,0.1,kg", "cut,dense,1,time,60,1,s"], "Say how long the run was"],
    [["mass,feed,,wet,100,1,kg"], "needs its dry weight"],
    [["cut,feed,1,dry,1,0.1,kg"], "Cut 1 of feed has no time"],
    [["mass,feed,,dry,100,1,kg"], "Nothing leaves table: name its products"],
    [["run,,,metal,W,,", "mass,feed,,dry,1,1,kg", "assay,feed,,Sn,3,,%"], "which was not assayed"],
  ])("says what is wanting, by name too, for other languages: %s", (rows, say) => {
    expect(() => account(...rows)).toThrow(say);
    expect(() => account(...rows)).toThrow(expect.objectContaining({ said: expect.any(Array) }));
  });
});

describe("the demo run", () => {
  const accounts = accountFor(demo);
  it("names the misweighed middling; the balance has what the others say", () => {
    expect(accounts.judged.misfits).toMatchObject([{ stream: "middling", assay: null, orElse: [] }]);
    expect(inEnglish(accounts.verdict)[0]).toContain("The middling mass does not fit; weigh it again.");
    // by hand: feed 423.5 less dense 18.3, light 344.1 and clean-up 4.3
    expect(Math.abs(accounts.judged.misfits[0]!.expected!.value - 56.8)).toBeLessThan(4);
  });

  it("recovery by hand from the balanced figures, and its error by drawing the given ones anew", () => {
    const { after } = accounts.judged;
    const metal = (name: string) => figureOf(after, name, null).value! * figureOf(after, name, "Sn").value!;
    const { recovery, separation } = product(accounts, "dense").metals[0]!;
    expectAgree(recovery!.value, metal("dense") / metal("feed"), 1e-9);
    const gangue = (name: string) => figureOf(after, name, null).value! * (78.768 - figureOf(after, name, "Sn").value!);
    expectAgree(separation!.value, recovery!.value - gangue("dense") / gangue("feed"), 1e-4);
    const shares = accounts.products.reduce((sum, { share }) => sum + share!.value, 0);
    expect(shares).toBeCloseTo(1, 9);
  });

  it("water closes: in by the feed and the valve, out with the products", () => {
    const { judged, unit } = accounts.water!;
    const water = (name: string) => figureOf(judged.after, name, null).value!;
    expect(unit).toBe("L");
    expect(judged.misfits).toEqual([]);
    const out = ["light", "dense", "middling", "clean-up"].reduce((sum, name) => sum + water(name), 0);
    expect(water("feed") + water("wash water")).toBeCloseTo(out, 6);
    expectAgree(water("wash water"), 14 * 60 * 3.5, 0.02);
    // wet less what the balance has for the solids, not less the misweighed 87 kg
    expect(water("middling")).toBeGreaterThan(280);
  });

  it("a wash water that was changed is left to the balance, and said so", () => {
    const changed = accountFor({ ...demo, changes: [{ ...demo.settings[0]!, figure: { value: 16, error: null } }] });
    expect(figureOf(changed.water!.judged.after, "wash water", null).measured).toBeNull();
    expect(inEnglish(changed.notes).join(" ")).toContain("Wash water was changed during the run");
  });

  it("its middling is false, and goes on the table again; without screen or lens it is not decided", () => {
    expect(accounts.middling).toMatchObject({
      stream: "middling",
      test: { kind: "misplaced" },
      decision: { choice: "rerun" },
    });
    expect(inEnglish(accounts.notes).join(" ")).toContain("a rerun wins 70 % of the free grains");
    const bare = accountFor({
      ...demo,
      samples: demo.samples.filter(({ kind }) => kind !== "fraction" && kind !== "count"),
    });
    expect(bare.middling).toBeNull();
    expect(inEnglish(bare.notes).join(" ")).toContain("screen it or count grains");
  });

  it("hand checks with their own errors", () => {
    const magnet = accounts.checks.find(({ what }) => what === "magnet")!;
    expectAgree(magnet.found.value, (100 * 11.8) / 100.2, 1e-9);
    const pan = accounts.checks.find(({ what }) => what === "pan")!;
    expectAgree(pan.from!, 0.6187 / 5, 1e-3); // Garwood's limits of a count of 3: 0.6187 to 8.767 (from memory)
    expectAgree(pan.to!, 8.767 / 5, 1e-3);
  });

  it("as lines and as CSV: every figure with its unit and error", () => {
    const lines = balanceLines(accounts);
    const middling = lines.find(({ stream, item }) => stream === "middling" && item === "dry mass");
    expect(middling).toMatchObject({ unit: "kg", given: 87, givenError: 0.5, misfit: true, off: null });
    const [heading, ...rows] = writeBalance(accounts).trim().split("\n");
    expect(heading).toBe("stream,item,unit,given,given error,balanced,balanced error,errors off,misfit");
    expect(rows).toHaveLength(lines.length);
    expect(lines.every(({ balanced, balancedError }) => (balanced === null) === (balancedError === null))).toBe(true);
  });
});
