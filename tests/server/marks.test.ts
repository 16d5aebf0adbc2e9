import { execFile } from "node:child_process";
import { mkdtemp, readFile, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { promisify } from "node:util";
import { beforeAll, describe, expect, it } from "vitest";

const run = promisify(execFile);
const deckbands = (...args: string[]) =>
  run(process.execPath, ["server/deckbands.mjs", ...args]).then(
    ({ stdout }) => ({ code: 0, stdout, stderr: "" }),
    (error: { code: number; stdout: string; stderr: string }) => error,
  );
let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "deckbands-marks-"));
});

describe("deckbands marks", () => {
  it("prints four marks of 70 mm on one page, to standard output", async () => {
    const { code, stdout } = await deckbands("marks");
    expect(code).toBe(0);
    expect(stdout.match(/black square 70 mm/g)).toHaveLength(4);
  });

  it("prints the deck file's own marks into the folder named", async () => {
    const deck = join(folder, "deck.json");
    const items = [
      { id: 7, centre: [-40, -40], sizeMm: 60 },
      { id: 31, centre: [1900, 950], sizeMm: 60 },
    ];
    const marks = { dictionary: "ARUCO_MIP_36h12", items };
    await writeFile(deck, JSON.stringify({ schemaVersion: 1, lengthMm: 1830, widthMm: 910, marks }));
    const { code, stdout } = await deckbands("marks", "--deck", deck, "--out", folder);
    expect(code).toBe(0);
    const page = await readFile(stdout.trim(), "utf8");
    expect([...page.matchAll(/mark (\d+), black square 60 mm/g)].map((m) => m[1])).toEqual(["7", "31"]);
  });

  it("says so when the deck file lists none, and exits 2", async () => {
    const deck = join(folder, "plain.json");
    await writeFile(deck, JSON.stringify({ schemaVersion: 1, lengthMm: 1830, widthMm: 910 }));
    const { code, stderr } = await deckbands("marks", "--deck", deck);
    expect(code).toBe(2);
    expect(stderr).toContain("lists no marks");
  });
});
