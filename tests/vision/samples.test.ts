import { readdirSync, readFileSync, statSync } from "node:fs";
import sharp from "sharp";
import { beforeAll, describe, expect, it } from "vitest";
import { decode } from "../../server/decode.ts";
import { openEyes } from "../../server/eyes.ts";
import { CLASS_NAMES, CornersFile, DeckFile } from "../../vision/contract/index.ts";
import {
  analyse,
  describeDeck,
  type Eyes,
  findView,
  gridOf,
  loadOpenCv,
  type OpenCv,
  project,
  viewFromCorners,
} from "../../vision/index.ts";

/** The rendered samples, usable and not: what sample-images/README.md promises of them. Their accuracy: npm run bench:accuracy. */

const USABLE = new URL("../../sample-images/", import.meta.url);
const UNUSABLE = new URL("unusable/", USABLE);
const namesIn = (folder: URL) =>
  readdirSync(folder)
    .filter((file) => file.endsWith(".jpg"))
    .map((file) => file.replace(".jpg", ""))
    .sort();
const SAMPLES = namesIn(USABLE);
const REFUSED = namesIn(UNUSABLE);

const json = (folder: URL, name: string) => JSON.parse(readFileSync(new URL(name, folder), "utf8"));
const photoOf = async (folder: URL, name: string) => (await decode(readFileSync(new URL(`${name}.jpg`, folder)))).photo;
/** Deck and corners as the command line takes them from beside the photo; null where there are none. */
function beside(folder: URL, name: string) {
  const has = (kind: string) => readdirSync(folder).includes(`${name}.${kind}.json`);
  return {
    deck: describeDeck(has("deck") ? DeckFile.parse(json(folder, `${name}.deck.json`)) : null),
    corners: has("corners") ? CornersFile.parse(json(folder, `${name}.corners.json`)) : null,
  };
}

let cv: OpenCv;
let eyes: Eyes;
beforeAll(async () => {
  ({ cv } = await loadOpenCv());
  eyes = await openEyes();
});

describe("together", () => {
  const decks = SAMPLES.map((name) => beside(USABLE, name).deck);
  it("are at least ten, of both hands, of at least five dense materials", () => {
    expect(SAMPLES.length).toBeGreaterThanOrEqual(10);
    expect(new Set(decks.map(({ hand }) => hand))).toEqual(new Set(["left", "right"]));
    const dense = SAMPLES.map((name) => json(USABLE, `${name}.about.json`).materials.dense);
    expect(new Set(dense).size).toBeGreaterThanOrEqual(5);
  });
  it("hold a rhomboid deck: opposite sides parallel, ends slanting", () => {
    const rhomboids = decks.filter(({ outline }) => {
      const [a, b, c, d] = outline;
      return outline.length === 4 && b!.x - a!.x === c!.x - d!.x && d!.x !== a!.x;
    });
    expect(rhomboids).toHaveLength(1);
  });
  it("hold a deck with printed marks listed in its deck file", () => {
    expect(decks.filter(({ file }) => (file.marks?.items.length ?? 0) >= 2)).toHaveLength(1);
  });
});

it.each([...SAMPLES.map((name) => [name, USABLE] as const), ...REFUSED.map((name) => [name, UNUSABLE] as const)])(
  "%s is below 1 MB and openly licensed, and says how it was made",
  (name, folder) => {
    expect(statSync(new URL(`${name}.jpg`, folder)).size).toBeLessThan(1e6);
    expect(json(folder, `${name}.about.json`)).toMatchObject({ made: "rendered", licence: "CC0-1.0" });
  },
);

describe.each(SAMPLES)("%s", (name) => {
  it("is fit to be read", async () => {
    const { deck, corners } = beside(USABLE, name);
    const { usable, issues } = findView(cv, await photoOf(USABLE, name), deck, corners, eyes);
    expect(usable, JSON.stringify(issues)).toBe(true);
  });
  it("has a truth on the deck's grid, in which the dense solids leave highest and the light ones lowest", async () => {
    const { deck } = beside(USABLE, name);
    const { columns, rows } = gridOf(deck);
    const { data, info } = await sharp(readFileSync(new URL(`${name}.truth.png`, USABLE)))
      .toColourspace("b-w")
      .raw()
      .toBuffer({ resolveWithObject: true });
    expect([info.width, info.height]).toEqual([columns, rows]);
    // Common practice: heavy grains leave high on the dense-product end, light ones over the tailings side. Middle of each
    // class along the high-to-low direction, over the half of the deck away from the drive.
    const middle = (kind: (typeof CLASS_NAMES)[number]) => {
      const at = [...data.keys()].filter((i) => data[i] === CLASS_NAMES.indexOf(kind) && i % columns > columns / 2);
      return at.reduce((sum, i) => sum + Math.floor(i / columns), 0) / at.length;
    };
    expect(middle("dense")).toBeLessThan(middle("middling"));
    expect(middle("middling")).toBeLessThan(middle("light"));
  });
});

it("the deck with marks is found by them when no corners are given, as well as the view says", async () => {
  const name = SAMPLES.find((each) => beside(USABLE, each).deck.file.marks)!;
  const { deck, corners } = beside(USABLE, name);
  const photo = await photoOf(USABLE, name);
  const { view } = findView(cv, photo, deck, null, eyes);
  expect(view.source).toBe("marks");
  const truth = viewFromCorners(cv, photo, deck, corners!);
  const errors = view.cornersPx.map(({ x, y }, i) => {
    const [xMm, yMm] = project(truth.photoToDeck, [x, y]);
    return Math.hypot(xMm - deck.outline[i]!.x, yMm - deck.outline[i]!.y);
  });
  expect(Math.max(...errors)).toBeLessThan(2 * view.errorMm); // the prints lie some 1 mm off what the deck file says
});

describe("unusable", () => {
  const expectedOf = (name: string): string => json(UNUSABLE, `${name}.about.json`).expectedIssue;
  const refused = async (name: string) => {
    const source = { name: `${name}.jpg`, sha256: "0".repeat(64), takenAt: null };
    const photo = await photoOf(UNUSABLE, name);
    const { reading } = analyse({ cv, eyes }, photo, { ...beside(UNUSABLE, name), notes: {}, source });
    const { usable, issues } = reading.quality;
    expect(usable).toBe(false);
    expect(issues.find(({ kind }) => kind === expectedOf(name))?.say, JSON.stringify(issues)).toMatch(/\. [A-Z].*\.$/);
  };

  it("are blurred, dark, cut off and without a deck", () => {
    expect(new Set(REFUSED.map(expectedOf))).toEqual(new Set(["blurred", "cut-off", "dark", "no-deck"]));
  });
  it.each(REFUSED)("%s is refused for it, in words that say what to do", refused);
});
