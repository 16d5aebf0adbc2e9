import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { readRunSheet, writeRunSheet } from "../../../vision/accounts/run-sheet.ts";
import { keptUnit, toKept } from "../../../vision/accounts/units.ts";
import { RunRecord } from "../../../vision/contract/run-record.ts";

const HEADING = "kind,stream,sample,item,value,error,unit,time,who,note";
const sheet = (...rows: readonly string[]) => [HEADING, ...rows].join("\n");
const demo = readFileSync(new URL("../../../sample-images/runs/river-tin.run.csv", import.meta.url), "utf8");

describe("reading", () => {
  it("the demo run: every row, in kept units", () => {
    const { run, faults } = readRunSheet(demo);
    expect(faults).toEqual([]);
    expect(run).toMatchObject({
      site: "Lower shed",
      metal: "Sn",
      mineral: "cassiterite",
      hours: { value: 3.5, error: 0.02 },
    });
    expect(run!.streams).toEqual([
      { name: "feed", from: null, to: "table", product: null },
      { name: "light", from: "table", to: null, product: "light" },
      { name: "dense", from: "table", to: null, product: "dense" },
      { name: "middling", from: "table", to: null, product: "middling" },
      { name: "clean-up", from: "table", to: null, product: null },
    ]);
    const tailing = run!.samples.find(({ kind, stream }) => kind === "assay" && stream === "light");
    expect(tailing!.figures.Sn).toEqual({ value: 0.224, error: 0.011 }); // 2240 ± 110 g/t
    expect(run!.samples.find(({ kind }) => kind === "fraction")).toMatchObject({ sizeMm: [0, 0.075] });
    expect(run!.changes).toMatchObject([{ control: "splitter", target: "upper", at: "2031-05-04T09:05", who: "Ama" }]);
    expect(run!.photos.map(({ name }) => name)).toEqual(["river-tin-0905.jpg", "river-tin-1040.jpg"]);
    expect(RunRecord.parse(JSON.parse(JSON.stringify(run)))).toEqual(run);
  });

  it("columns in any order, few of them, capitals and blanks as they come", () => {
    const { run } = readRunSheet(
      " Unit , Item,VALUE,Kind,stream\nkg, Dry ,12.5,Mass,dense\n,,,,\n%,Sn,40,assay,dense\n",
    );
    expect(run!.samples.map(({ figures }) => figures)).toEqual([
      { dry: { value: 12.5, error: null } },
      { Sn: { value: 40, error: null } },
    ]);
  });

  it.each([
    [";", "\n", "12,5"],
    ["\t", "\r\n", "12,5"],
    [";", "\r\n", "12.5"],
  ])(
    "separated by %j with decimals as %s, line ends %j, and the mark that spreadsheets put first",
    (by, end, value) => {
      const rows = [HEADING.replaceAll(",", by), ["mass", "dense", "", "dry", value, "0,1", "kg", "", "", ""].join(by)];
      const { run, faults } = readRunSheet(`\uFEFF${rows.join(end)}${end}`);
      expect(faults).toEqual([]);
      expect(run!.samples[0]!.figures.dry).toEqual({ value: 12.5, error: 0.1 });
    },
  );

  it.each([
    ["mass", "dense", "dry", "12.5", "lb", { value: 5.669904625, error: null }],
    ["mass", "dense", "dry", "0.1", "t", { value: 100, error: null }],
    ["cut", "dense", "time", "1.5", "min", { value: 90, error: null }],
    ["assay", "dense", "Au", "520", "g/t", { value: 0.052, error: null }],
  ] as const)("%s of %s, %s %s %s", (kind, stream, item, value, unit, kept) => {
    const { run } = readRunSheet(sheet(`${kind},${stream},,${item},${value},,${unit},,,`));
    expect(Object.values(run!.samples[0]!.figures)).toEqual([kept]);
  });

  it("slopes, water and speed in what the gauge shows", () => {
    const rows = [
      "cross slope,0.25,,in/ft",
      "end slope,-1,0.1,°",
      "wash water,0.84,,m³/h",
      "speed,4.5,,Hz",
      "feed rate,0.12,,t/h",
    ];
    const { run, faults } = readRunSheet(sheet(...rows.map((row) => `setting,,,${row},,,`)));
    expect(faults).toEqual([]);
    const [cross, end, wash, speed, feed] = run!.settings.map(({ figure }) => figure);
    expect(cross!.value).toBeCloseTo(20.8333, 3);
    expect(end!.value).toBeCloseTo(-17.4551, 3); // tan 1°
    expect(end!.error).toBeCloseTo(1.7455, 3);
    expect([wash!.value, speed!.value, feed!.value]).toEqual([14, 270, 120]);
  });

  it("streams of two decks by name", () => {
    const rows = ["rough,,from,rougher", "rough,,to,cleaner", "tailing,,from,rougher", "tailing,,product,light"];
    const { run } = readRunSheet(sheet(...rows.map((row) => `stream,${row},,,,,`)));
    expect(run!.streams).toEqual([
      { name: "rough", from: "rougher", to: "cleaner", product: null },
      { name: "tailing", from: "rougher", to: null, product: "light" },
    ]);
  });
});

describe("wrong rows are told by their line", () => {
  it.each([
    ["mass,dense,,dry,12.5,,,,,", "The unit of dry is missing. Choose from kg, g, t, lb."],
    ["mass,dense,,dry,12.5,,%,,,", '"%" is no unit of dry. Choose from kg, g, t, lb.'],
    ["mass,dense,,dry,twelve,,kg,,,", 'The value "twelve" is no number.'],
    ['mass,dense,,dry,"12,5",,kg,,,', "Write the value 12,5 with a point, not a comma."],
    ["mass,dense,,dry,-3,,kg,,,", "dry of -3 kg is below 0. Correct it."],
    ["mass,dense,,dry,3,-1,kg,,,", "An error of -1 is below 0. Correct it."],
    ["mass,dense,,dry,,,kg,,,", "Write a number in the column value."],
    ["mass,,,dry,3,,kg,,,", "Write which stream it is of in the column stream."],
    ["mass,dense,,moist,3,,kg,,,", '"moist" is no item of a mass. Choose from wet, dry, moisture.'],
    ["assay,dense,,Sn,104,,%,,,", "Sn of 104 % is above 100 %. Correct it, or its unit."],
    ["assay,dense,,Sn,2000,,kg/t,,,", "Sn of 2000 kg/t is above 100 %. Correct it, or its unit."],
    ["count,dense,,locked,1.5,,,,,", "locked of 1.5 is no whole number of grains."],
    ["fraction,middling,fine,mass,1,,kg,,,", '"fine" names no fraction.'],
    ["fraction,middling,0.3-0.1,mass,1,,kg,,,", '"0.3-0.1" names no fraction.'],
    ["weight,dense,,dry,3,,kg,,,", '"weight" is no kind of row. Choose from run, stream, mass,'],
    ["setting,,,tilt,3,,mm/m,,,", '"tilt" is no control. Choose from wash water,'],
    ["setting,,,cross slope,95,,°,,,", "Slope, degrees: 95 lies outside -89 to 89."],
    ["note,,,,seen,,,2031-02-30 10:00,,", '"2031-02-30 10:00" is no time. Write 2031-05-04 13:05, or 13:05.'],
    ["note,,,,seen,,,25:00,,", '"25:00" is no time.'],
    ["run,,,mineral,tinstone,,,,,", '"tinstone" is no mineral. Choose from cassiterite,'],
    ["mass,dense,,dry,3,,kg,,,,surplus", "It has 11 cells, the heading 10."],
    ['note,,,,"never closed,,,,,', "A quotation mark is not closed."],
  ])("%s", (row, say) => {
    const { run, faults } = readRunSheet(sheet("run,,,name,Test,,,,,", "# a line left out", row));
    expect(run).toBeNull();
    expect(faults).toHaveLength(1);
    expect(faults[0]!.line).toBe(4);
    expect(faults[0]!.say).toContain(say);
  });

  it("all of them, after text over several lines too", () => {
    const text = sheet(
      'note,,,,"one\ntwo\nthree",,,,,',
      "mass,dense,,dry,x,,kg,,,",
      "mass,dense,,dry,1,,kg,,,",
      "mass,dense,,dry,2,,kg,,,",
    );
    const { faults } = readRunSheet(text);
    expect(faults.map(({ line }) => line)).toEqual([5, 7]);
    expect(faults[1]!.say).toContain("dry of mass of dense is there twice");
  });

  it("the heading: lacking, strange and doubled columns; an empty sheet", () => {
    const says = (text: string) => readRunSheet(text).faults.map(({ line, say }) => `${line}: ${say}`);
    expect(says("kind,stream,value\n")[0]).toContain("1: The heading lacks item.");
    expect(says("kind,item,value,weight\n")[0]).toContain('"weight" is no column of a run sheet.');
    expect(says("kind,item,value,item\n")[0]).toContain('The column "item" is there twice.');
    expect(says("")[0]).toContain("The sheet is empty.");
  });

  it("a file that is no run sheet for its size is refused", () => {
    expect(() => readRunSheet("x".repeat(4_000_001))).toThrow("larger than any run sheet");
    expect(() => readRunSheet(sheet(...new Array(20_001).fill("note,,,,a,,,,,")))).toThrow("Split the sheet");
  });
});

describe("writing", () => {
  it("what is written reads back to the same run, awkward text too", () => {
    const { run } = readRunSheet(demo);
    const awkward: RunRecord = {
      ...run!,
      name: 'Tuesday, "late"',
      material: "=1+1",
      notes: [{ text: "-3 seen;\nthen none", at: "13:05", who: "@Jo" }],
    };
    for (const one of [run!, awkward]) {
      const back = readRunSheet(writeRunSheet(one));
      expect(back.faults).toEqual([]);
      expect(back.run).toEqual(one);
    }
    expect(writeRunSheet(awkward)).toContain("'=1+1"); // no spreadsheet reckons it
  });
});

describe("units", () => {
  it.each([
    ["mass", "kg"],
    ["time", "s"],
    ["grade", "%"],
    ["flow", "L/min"],
    ["slope", "mm/m"],
    ["price", "per t"],
  ] as const)("%s is kept in %s", (quantity, unit) => {
    expect(keptUnit(quantity)).toBe(unit);
    expect(toKept(quantity, unit)!(3)).toBe(3);
    expect(toKept(quantity, "furlong")).toBeNull();
  });
  it("a US gallon is 3.785411784 L, a pound 0.45359237 kg (NIST Handbook 44, appendix C)", () => {
    expect(toKept("flow", "gal/min")!(1)).toBe(3.785411784);
    expect(toKept("mass", "LB")!(1)).toBe(0.45359237);
  });
});
