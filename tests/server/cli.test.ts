import { spawn } from "node:child_process";
import { copyFileSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { Reading } from "../../vision/contract/index.ts";
import { denseBetween } from "./readings.ts";

const COMMAND = fileURLToPath(new URL("../../server/deckbands.mjs", import.meta.url));
const SAMPLES = fileURLToPath(new URL("../../sample-images/", import.meta.url));
const folder = mkdtempSync(join(tmpdir(), "deckbands-cli-"));
const file = (name: string, content: string | Buffer) => {
  writeFileSync(join(folder, name), content);
  return name;
};

/** Run the command in a folder of its own, as a person would. */
function deckbands(...args: string[]): Promise<{ code: number | null; out: string; err: string }> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [COMMAND, ...args], { cwd: folder });
    const said = { out: "", err: "" };
    child.stdout.on("data", (data) => (said.out += data));
    child.stderr.on("data", (data) => (said.err += data));
    child.on("close", (code) => resolve({ code, ...said }));
  });
}

beforeAll(() => {
  const name = readdirSync(SAMPLES)
    .find((each) => each.endsWith(".corners.json"))
    ?.replace(".corners.json", "");
  for (const ending of ["jpg", "deck.json", "corners.json"]) {
    copyFileSync(join(SAMPLES, `${name}.${ending}`), join(folder, `deck.${ending}`));
  }
  mkdirSync(join(folder, "photos"));
  file("note.txt", "this is no photo");
  file("cut.jpg", readFileSync(join(folder, "deck.jpg")).subarray(0, 9000));
  file("before.reading.json", JSON.stringify(denseBetween(100, 240, 3)));
  file("after.reading.json", JSON.stringify(denseBetween(101, 210, 4)));
});
afterAll(() => rmSync(folder, { recursive: true }));

describe("read", () => {
  it("reads a photo with what lies beside it, says one next step, and writes nothing unasked", async () => {
    const before = readdirSync(folder);
    const { code, out, err } = await deckbands("read", "deck.jpg");
    expect({ code, err }).toEqual({ code: 0, err: "" });
    expect(out).toMatch(/^deck\.jpg/);
    expect(out).toContain("Next step");
    expect(out).toContain("lock out the drive");
    expect(readdirSync(folder)).toEqual(before);
  });

  it("does the good photos among bad ones: one reading a line and nothing else, exit 1", async () => {
    const { code, out, err } = await deckbands(
      "read",
      "gone.jpg",
      "photos",
      "note.txt",
      "cut.jpg",
      "deck.jpg",
      "--json",
    );
    expect({ code, err }).toEqual({ code: 1, err: "" });
    const readings = out
      .trimEnd()
      .split("\n")
      .map((line) => Reading.parse(JSON.parse(line)));
    expect(readings.map(({ photo, quality }) => [photo.name, quality.usable])).toEqual([
      ["gone.jpg", false],
      ["photos", false],
      ["note.txt", false],
      ["cut.jpg", false],
      ["deck.jpg", true],
    ]);
    for (const { photo, quality } of readings.slice(0, 4)) {
      expect(photo).toMatchObject({ widthPx: null, heightPx: null });
      expect(quality.issues[0]?.say).toMatch(/^\S.*[.)]$/);
    }
  });

  it("writes the four files of each photo, two of one name apart", async () => {
    copyFileSync(join(folder, "deck.jpg"), join(folder, "photos", "deck.jpg"));
    const corners = ["--corners", "deck.corners.json", "--deck", "deck.deck.json"];
    const { code } = await deckbands("read", "deck.jpg", "photos/deck.jpg", ...corners, "--out", "made/here");
    expect(code).toBe(0);
    const endings = ["classes.png", "confidence.png", "overlay.jpg", "reading.json"];
    const names = readdirSync(join(folder, "made/here")).sort();
    expect(names).toEqual([...endings.map((e) => `deck-2.${e}`), ...endings.map((e) => `deck.${e}`)].sort());

    const made = (name: string) => readFileSync(join(folder, "made/here", name));
    const { grid } = Reading.parse(JSON.parse(made("deck.reading.json").toString()));
    for (const name of ["deck.classes.png", "deck.confidence.png"]) {
      // W3C PNG 3rd ed., 11.2.1: width, height, bit depth 8, colour type 0 (greyscale)
      const png = made(name);
      expect([png.readUInt32BE(16), png.readUInt32BE(20), png[24], png[25]]).toEqual([grid?.columns, grid?.rows, 8, 0]);
    }
    const { data } = await sharp(made("deck.classes.png"))
      .toColourspace("b-w")
      .raw()
      .toBuffer({ resolveWithObject: true });
    expect(Math.max(...new Set(data))).toBeLessThanOrEqual(5);
  });

  it("says of a bad file beside a photo what is wrong in it, and goes on", async () => {
    copyFileSync(join(folder, "deck.jpg"), join(folder, "odd.jpg"));
    file("odd.deck.json", "{ lengthMm: 1 }");
    const { code, out } = await deckbands("read", "odd.jpg", "deck.jpg");
    expect(code).toBe(1);
    expect(out).toContain("odd.deck.json is not valid JSON");
    expect(out).toContain("Next step");
  });
});

it.each([
  [["read"], "Name at least one photo"],
  [["reed", "deck.jpg"], '"reed" is not a command'],
  [["read", "deck.jpg", "--colour", "red"], "--colour"],
  [["read", "deck.jpg", "--deck"], "--deck"],
  [["read", "deck.jpg", "--deck", "gone.json"], "deck file gone.json is not there"],
  [["read", "deck.jpg", "--deck", "photos"], "photos is a folder"],
  [["read", "deck.jpg", "--deck", "note.txt"], "not valid JSON"],
  [["read", "deck.jpg", "--deck", "deck.corners.json"], "lengthMm is missing"],
  [["read", "deck.jpg", "--taps", "deck.deck.json"], "taps is missing"],
  [["read", "deck.jpg", "--out", "note.txt"], "--out"],
  [["advise"], "Name one reading"],
  [["advise", "deck.deck.json"], "photo is missing"],
  [["compare", "before.reading.json"], "Name two readings"],
  [["schema", "constructor"], "Name one of"],
  [["serve", "now"], "Name nothing"],
])("%j: exit 2, in plain words", async (args, words) => {
  const { code, out, err } = await deckbands(...args);
  expect({ code, out }).toEqual({ code: 2, out: "" });
  expect(err).toContain(words);
  expect(err.trimEnd().split("\n")).toHaveLength(1);
});

it("compares two readings in words and as JSON", async () => {
  const { code, out } = await deckbands("compare", "before.reading.json", "after.reading.json");
  expect(code).toBe(0);
  expect(out).toMatch(/dense band, first edge +moved 1 ± 5 mm .*within noise/);
  expect(out).toMatch(/dense band, last edge +moved 30 ± 5 mm toward the wash-water corner: a real move/);
  const json = await deckbands("compare", "before.reading.json", "after.reading.json", "--json");
  expect(JSON.parse(json.out).edges).toHaveLength(2);
});

it("advises anew on a stored reading, and prints JSON Schema", async () => {
  const advised = await deckbands("advise", "before.reading.json", "--json");
  expect(advised).toMatchObject({ code: 0, err: "" });
  expect(Array.isArray(JSON.parse(advised.out))).toBe(true);
  const { code, out } = await deckbands("schema", "deck");
  expect(code).toBe(0);
  expect(JSON.parse(out).required).toEqual(["schemaVersion", "lengthMm", "widthMm"]);
});

it("helps", async () => {
  expect(await deckbands("--help")).toMatchObject({ code: 0, out: expect.stringContaining("deckbands read PHOTO") });
});
