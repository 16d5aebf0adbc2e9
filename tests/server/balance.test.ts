import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { writeRows } from "../../server/workbook.ts";

const folder = mkdtempSync(join(tmpdir(), "deckbands-balance-"));
afterAll(() => rmSync(folder, { recursive: true }));
const DEMO = "sample-images/runs/river-tin.run.csv";
function run(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, ["server/deckbands.mjs", "balance", ...args], {
    encoding: "utf8",
  });
  return { status, stdout, stderr };
}
const keep = (name: string, text: string) => {
  writeFileSync(join(folder, name), text);
  return join(folder, name);
};

describe("deckbands balance", () => {
  it("says what does not fit, what the others say, and what to do with the middling", () => {
    const { status, stdout, stderr } = run(DEMO, "--out", folder);
    expect(stderr).toBe("");
    expect(status).toBe(1); // a figure does not fit
    expect(stdout).toContain("The middling mass does not fit; weigh it again. It was given as 87.00 ± 0.50 kg");
    expect(stdout).toMatch(/middling mass +87\.00 ± 0\.50 kg +5\d\.\d ± \d\.\d kg +does not fit/);
    expect(stdout).toMatch(/% Sn; 7\d\.\d+ ± \d\.\d+ % of it recovered; .* separation efficiency/);
    expect(stdout).toMatch(/dense: \d\.\d+ ± \d\.\d+ % of the feed; \d+\.\d+ ± \d+\.\d+ kg of feed for each kg/);
    expect(stdout).toContain("Run the middling again.");
    expect(stdout).toContain("Stop and lock out the drive");
    const csv = readFileSync(join(folder, "river-tin.balance.csv"), "utf8");
    expect(csv).toMatch(/^middling,dry mass,kg,87,0\.5,/m);
  });

  it("with --json one object, and nothing else", () => {
    const { status, stdout } = run(DEMO, "--json");
    const said = JSON.parse(stdout);
    expect(status).toBe(1);
    expect(said).toMatchObject({
      unit: "kg",
      balance: { fits: true, misfits: [{ stream: "middling", assay: null }] },
      water: { fits: true, unit: "L" },
      middling: { decision: { choice: "rerun" } },
    });
    expect(said.lines.length).toBeGreaterThan(20);
  });

  it("ends with 0 where all fits", () => {
    const rows = [
      "kind,stream,item,value,error,unit",
      "mass,feed,dry,100,1,kg",
      "mass,dense,dry,9,0.1,kg",
      "mass,light,dry,91,1,kg",
    ];
    const { status, stdout } = run(keep("good.csv", rows.join("\n")));
    expect(status).toBe(0);
    expect(stdout).toContain("All figures fit together");
  });

  it("tells every wrong row by its line, and balances nothing then", () => {
    const rows = [
      "kind,stream,item,value,error,unit",
      "mass,feed,dry,100,1,kg",
      "mass,dense,dry,9,0.1,%",
      "mass,light,dry,much,1,kg",
    ];
    const { status, stdout, stderr } = run(keep("wrong.csv", rows.join("\n")));
    expect(status).toBe(2);
    expect(stdout).toBe("");
    expect(stderr).toContain('  line 3: "%" is no unit of dry. Choose from kg, g, t, lb.');
    expect(stderr).toContain('  line 4: The value "much" is no number.');
  });

  it("says what is wanting, and what is not there", () => {
    const short = run(keep("short.csv", "kind,stream,item,value,unit\nmass,feed,dry,100,kg\n"));
    expect(short).toMatchObject({ status: 2 });
    expect(short.stderr).toContain("Nothing leaves table: name its products");
    expect(run(join(folder, "none.csv")).stderr).toContain("is not there. Check its name");
    expect(run().stderr).toContain("Name one run sheet");
  });

  it("reads a workbook as it reads CSV", async () => {
    const rows = readFileSync(DEMO, "utf8")
      .split("\n")
      .filter((line) => line !== "" && !line.startsWith("#"))
      .map((line) => line.split(","));
    const path = join(folder, "book.xlsx");
    writeFileSync(path, await writeRows("run", rows[0]!, rows.slice(1)));
    expect(run(path, "--json").stdout).toBe(run(DEMO, "--json").stdout);
    expect(run(keep("broken.xlsx", "PK\u0003\u0004 no workbook")).stderr).toMatch(/no workbook that can be read/);
  });
});
