import { expect, it } from "vitest";
import type { Reading } from "../../vision/contract/index.ts";
import { changesBefore, choicesOf, coverOf, deckOf, found, type Look, spanOf, trackWords } from "../../web/history.ts";

/** A deck in time: found by deck, material and day, and what was changed in between. Readings are invented; sums by hand. */

type Outlet = Reading["bands"][number]["outlet"];
const reading = (outlet: Outlet, upperMm: number, more: Partial<Reading> = {}) =>
  ({
    photo: { name: "a.jpg", sha256: "", widthPx: 800, heightPx: 600, takenAt: null },
    scale: "deck file",
    quality: { usable: true, issues: [] },
    grid: { mmPerCell: 2, columns: 900, rows: 450 },
    cover: { unseen: 0.2, bare: 0.4, dense: 0.08, middling: 0.12, light: 0.2, dry: 0 },
    bands: [{ kind: "dense", outlet }],
    splitters: [{ name: "upper", atMm: upperMm, suggestedMm: null, errorMm: null }],
    ...more,
  }) as unknown as Reading;
const span = (fromMm: number, toMm: number, fromErrorMm: number | null = 4, toErrorMm: number | null = 5) => ({
  fromMm,
  toMm,
  fromErrorMm,
  toErrorMm,
});
const deck = { schemaVersion: 1 as const, name: "North deck", lengthMm: 1800, widthMm: 900 };
const noon = (day: number) => new Date(2026, 4, day, 12).getTime();
const look = (id: string, day: number, given: Reading, asked: Look["asked"]): Look => ({
  id,
  at: noon(day),
  reading: given,
  asked: { deck, ...asked },
  isHere: true,
});
const FIRST = look("a", 12, reading([span(100, 200)], 240), {
  settings: { washWaterLitresPerMinute: 12 },
  profile: { name: "black sand" },
});
const SECOND = look("b", 12, reading([span(110, 230)], 240), { settings: {} });
const THIRD = look("c", 14, reading([span(300, 320, 2, 3), span(90, 250, 6, 7)], 255), {
  settings: { washWaterLitresPerMinute: 14 },
  profile: { name: "black sand" },
});
const OTHER = look("d", 13, reading([], 0, { scale: "assumed", splitters: [] }), {});
const ALL = [THIRD, OTHER, FIRST, SECOND];

it("finds by deck, material and day, in the order of time", () => {
  const { decks, materials, days } = choicesOf(ALL);
  expect(decks).toEqual(["North deck 1800\u00a0mm × 900\u00a0mm", "deck size not known"]);
  expect(materials).toEqual(["black sand"]);
  expect(days).toEqual(["2026-05-14", "2026-05-13", "2026-05-12"]);
  const ids = (deck: string | null, material: string | null, day: string | null) =>
    found(ALL, { deck, material, day }).map(({ id }) => id);
  expect(ids(deckOf(FIRST), null, null)).toEqual(["a", "b", "c"]);
  expect(ids(deckOf(FIRST), "black sand", null)).toEqual(["a", "c"]);
  expect(ids(deckOf(FIRST), null, "2026-05-12")).toEqual(["a", "b"]);
  expect(ids(deckOf(OTHER), "black sand", null)).toEqual([]);
});

it("leaves out photos that could not be read", () => {
  const unread = { ...FIRST, reading: { ...FIRST.reading, quality: { usable: false, issues: [] } } };
  expect(found([unread], { deck: null, material: null, day: null })).toEqual([]);
});

it("marks a control or splitter only where it stands elsewhere than when it was last told", () => {
  const changes = changesBefore([FIRST, SECOND, THIRD]);
  expect(changes).toEqual([
    [],
    [],
    ["Wash water: 12\u00a0L/min → 14\u00a0L/min", "Splitter upper: 240\u00a0mm → 255\u00a0mm"],
  ]);
});

it("takes the places of a class that lie furthest apart, each with its own error", () => {
  expect(spanOf(THIRD.reading, "dense")).toEqual({ fromMm: 90, toMm: 320, fromErrorMm: 6, toErrorMm: 3 });
  expect(spanOf(THIRD.reading, "light")).toBeNull();
});

it("gives cover as a share of what is seen", () => {
  expect(coverOf(FIRST.reading, "dense")).toBeCloseTo(0.08 / 0.8, 10);
  expect(coverOf({ ...FIRST.reading, cover: null }, "dense")).toBeNull();
});

it("tells a class in time in one sentence", () => {
  expect(trackWords([FIRST, THIRD], "dense")).toMatch(/^dense: seen in 2 photos; 100–200\smm on .*, 90–320\smm on /);
  expect(trackWords([FIRST, THIRD], "light")).toBe("light: not seen to leave the deck.");
});
