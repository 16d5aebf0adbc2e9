import { expect, it } from "vitest";
import { CLASS_NAMES, type DeckFileInput, Reading } from "../../vision/contract/index.ts";
import { describeDeck } from "../../vision/deck.ts";
import { PhotoError } from "../../vision/errors.ts";
import { launderShares, normalBelow, splitterPlaces } from "../../vision/products.ts";
import { type Findings, makeReading, unreadable, unusable, VERSION } from "../../vision/reading.ts";
import { gridOf } from "../../vision/rectify.ts";
import { type Outlet, type OutletStretch, photoPoint } from "../../vision/stages.ts";

/** An invented deck, 1000 × 500 mm: end edge 0 to 500, tailings side 500 to 1500 along the outlet. */
const base: DeckFileInput = {
  schemaVersion: 1,
  lengthMm: 1000,
  widthMm: 500,
  splitters: [
    { name: "upper", between: ["dense", "middling"], atMm: 200, minMm: 40, maxMm: 450, stepMm: 5 },
    { name: "lower", between: ["middling", "light"], atMm: 800, stepMm: 5 },
  ],
};
const upperOnly = (splitter: Partial<NonNullable<DeckFileInput["splitters"]>[number]>) =>
  describeDeck({ ...base, splitters: [{ ...base.splitters![0]!, ...splitter }] });

type Row = [kind: OutletStretch["class"], fromMm: number, toMm: number];
function outletOf(rows: Row[], unseenMm: [number, number][] = []): Outlet {
  const shares = new Float32Array(5 * 1500);
  for (const [kind, from, to] of rows)
    shares.fill(1, (CLASS_NAMES.indexOf(kind) - 1) * 1500 + from, (CLASS_NAMES.indexOf(kind) - 1) * 1500 + to);
  const stretches = rows.map(([kind, fromMm, toMm]) => ({
    class: kind,
    fromMm,
    toMm,
    fromErrorMm: fromMm === 0 ? null : 4,
    toErrorMm: toMm === 1500 ? null : 4,
    fromBlurMm: null,
    toBlurMm: null,
    confidence: 0.9,
  }));
  return { lengthMm: 1500, stretches, unseenMm, shares };
}
const usual = outletOf([
  ["dense", 0, 220],
  ["middling", 220, 700],
  ["light", 700, 1500],
]);

it("shares each class out between the launders, and no class more than once", () => {
  const carried = launderShares(usual, describeDeck(base)).map((l) => l.carried);
  expect(carried[0]).toEqual({ dense: 200 / 220, middling: 0, light: 0 });
  expect(carried[1]!.light).toBeCloseTo(100 / 800, 9);
  for (const kind of ["dense", "middling", "light"] as const) {
    expect(carried.reduce((all, c) => all + c[kind], 0)).toBeCloseTo(1, 9);
  }
});

it("spreads the fall by the stroke along the riffles only", () => {
  const deck = describeDeck({ ...base, strokeMm: 40 });
  const rows = outletOf([
    ["dense", 0, 200],
    ["middling", 200, 800],
    ["light", 800, 1500],
  ]);
  const [first, second, third] = launderShares(rows, deck).map((l) => l.carried);
  expect([first!.dense, first!.middling]).toEqual([1, 0]);
  // A sharp edge at the splitter sends sd/√(2π) past it.
  const past = 40 / (2 * Math.SQRT2) / Math.sqrt(2 * Math.PI);
  expect(second!.light * 700).toBeCloseTo(past, 3);
  expect(third!.middling * 600).toBeCloseTo(past, 3);
});

it("knows the normal distribution", () => {
  expect(normalBelow(0)).toBeCloseTo(0.5, 6);
  expect(normalBelow(1.96)).toBeCloseTo(0.975, 5);
  expect(normalBelow(-1.96)).toBeCloseTo(0.025, 5);
});

it("puts a splitter where its bands touch", () => {
  const [upper, lower] = splitterPlaces(usual, describeDeck(base));
  expect(upper!.suggestedMm).toBe(220);
  expect(lower!.suggestedMm).toBe(700);
  expect(upper!.errorMm).toBeCloseTo(Math.hypot(4, 5 / Math.sqrt(12)), 9);
});

it("puts a splitter in the middle of a bare gap", () => {
  const gap = outletOf([
    ["dense", 0, 200],
    ["bare", 200, 260],
    ["middling", 260, 700],
  ]);
  const [upper] = splitterPlaces(gap, upperOnly({}));
  expect(upper!.suggestedMm).toBe(230);
  expect(upper!.errorMm).toBeCloseTo(Math.hypot(Math.hypot(4, 4) / 2, 5 / Math.sqrt(12)), 9);
});

it.each([
  ["below the least", { minMm: 300 }, 300],
  ["at the least", { minMm: 220 }, 220],
  ["above the most", { maxMm: 150 }, 150],
  ["at the most", { maxMm: 220 }, 220],
  ["between steps", { stepMm: 50 }, 200],
  ["least between steps", { minMm: 222, stepMm: 50 }, 250],
  ["no step fits", { minMm: 231, maxMm: 239, stepMm: 50 }, 231],
  ["unmovable", { movable: false }, null],
])("respects what the splitter can do: %s", (_, splitter, place) => {
  expect(splitterPlaces(usual, upperOnly(splitter))[0]!.suggestedMm).toBe(place);
});

it("has no place when a band is missing or the bands lie the other way round", () => {
  const missing = outletOf([["dense", 0, 220]]);
  const turned = outletOf([
    ["middling", 0, 220],
    ["dense", 220, 700],
  ]);
  expect(splitterPlaces(missing, upperOnly({}))[0]!.suggestedMm).toBeNull();
  expect(splitterPlaces(turned, upperOnly({}))[0]!.suggestedMm).toBeNull();
});

it("doubts a place hidden from the photo", () => {
  const hidden = outletOf(
    [
      ["dense", 0, 200],
      ["middling", 300, 700],
    ],
    [[200, 300]],
  );
  expect(splitterPlaces(hidden, upperOnly({}))[0]!.errorMm).toBeGreaterThan(100 / Math.sqrt(12) - 0.1);
});

const source = { name: "a.jpg", sha256: "0".repeat(64), takenAt: null };
function findings(change: Partial<Findings> & { errorMm?: number } = {}): Findings {
  const deck = change.deck ?? describeDeck(base);
  const grid = gridOf(deck);
  const labels = new Uint8Array(grid.columns * grid.rows).fill(1);
  labels.fill(2, 0, Math.round(labels.length / 3));
  return {
    source,
    photo: { width: 1400, height: 900 },
    deck,
    view: {
      source: "corners",
      photoToDeck: [1, 0, 0, 0, 1, 0, 0, 0, 1],
      lens: 0,
      errorMm: change.errorMm ?? 2.04,
      orientationConfidence: 1,
      cornersPx: [photoPoint([1.234, 2])],
      errorAt: () => [2, 2],
    },
    even: { glareShare: 0.02 },
    classes: { grid, labels },
    pxPerMm: 0.4,
    outlet: usual,
    bands: [
      {
        kind: "dense",
        areaMm2: 1.26,
        meanWidthMm: 2.34,
        outlet: [{ fromMm: 0, toMm: 220.04, fromErrorMm: null, toErrorMm: 4.06 }],
        centreLine: [[1.11, 2.26]],
        edgeBlurMm: null,
        confidence: 0.912345,
      },
    ],
    dryPatches: [],
    rills: [],
    splitters: splitterPlaces(usual, deck),
    launders: launderShares(usual, deck),
    ...change,
  };
}

it("makes a reading that keeps the contract, rounded", () => {
  const reading = makeReading(findings());
  expect(Reading.parse(reading)).toEqual(reading);
  expect(reading.madeBy.version).toBe(VERSION);
  expect(reading.quality).toEqual({ usable: true, issues: [] });
  expect(reading.bands[0]).toMatchObject({ areaMm2: 1.3, meanWidthMm: 2.3, confidence: 0.9123 });
  expect(reading.bands[0]!.outlet[0]).toEqual({ fromMm: 0, toMm: 220, fromErrorMm: null, toErrorMm: 4.1 });
  expect(reading.cover!.dense).toBeCloseTo(1 / 3, 3);
  expect(Object.values(reading.cover!).reduce((all, n) => all + n, 0)).toBeCloseTo(1, 9);
  expect(reading.launders[0]!.carried.dense).toBe(0.909);
});

it("counts cover inside the outline only", () => {
  const deck = describeDeck({
    ...base,
    outline: [
      [0, 0],
      [500, 0],
      [1000, 500],
      [0, 500],
    ],
  });
  const { columns, rows } = gridOf(deck);
  const labels = new Uint8Array(columns * rows).fill(4);
  // The first row's far half is outside this outline.
  for (let column = 260; column < columns; column++) labels[column] = 2;
  const reading = makeReading(findings({ deck, classes: { grid: gridOf(deck), labels } }));
  expect(reading.cover).toMatchObject({ light: 1, dense: 0 });
});

it.each([
  ["glare", findings({ even: { glareShare: 0.0201 } })],
  ["coarse", findings({ pxPerMm: 0.399 })],
  ["place", findings({ errorMm: 15.1 })],
])("says what limits the photo: %s", (kind, found) => {
  expect(makeReading(found).quality.issues.map((issue) => issue.kind)).toEqual([kind]);
});

it("says nothing at the limits, and no mm without a deck file", () => {
  expect(makeReading(findings({ errorMm: 15 })).quality.issues).toEqual([]);
  const assumed = makeReading(findings({ deck: describeDeck(null), errorMm: 40 }));
  expect(assumed.scale).toBe("assumed");
  expect(assumed.quality.issues[0]!.say).toContain("2 % of the deck");
  expect(assumed.quality.issues[0]!.say).not.toMatch(/\bmm\b/);
});

it("records an unusable photo with its size and an unreadable file without", () => {
  const dark = unusable(source, { width: 10, height: 20 }, [{ kind: "dark", say: "The photo is too dark." }]);
  const broken = unreadable(source, new PhotoError("photo-broken", "The photo file is cut short. Send it again."));
  for (const reading of [dark, broken]) {
    expect(Reading.parse(reading)).toEqual(reading);
    expect(reading).toMatchObject({ view: null, grid: null, cover: null, bands: [], quality: { usable: false } });
  }
  expect(dark.photo).toMatchObject({ widthPx: 10, heightPx: 20 });
  expect(broken.photo).toMatchObject({ widthPx: null, heightPx: null });
  expect(broken.quality.issues[0]!.say).toContain("cut short");
});
