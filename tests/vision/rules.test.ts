import { expect, it } from "vitest";
import { type DeckFileInput, Hint, Reading } from "../../vision/contract/index.ts";
import { describeDeck } from "../../vision/deck.ts";
import { advise } from "../../vision/rules.ts";
import { inEnglish } from "../../vision/said.ts";
import type { Deck, Notes } from "../../vision/stages.ts";

/** An invented deck, 1000 × 500 mm: end edge 0 to 500, tailings side 500 to 1500 along the outlet. */
const base: DeckFileInput = {
  schemaVersion: 1,
  lengthMm: 1000,
  widthMm: 500,
  splitters: [
    { name: "upper", between: ["dense", "middling"], atMm: 240, stepMm: 5 },
    { name: "lower", between: ["middling", "light"], atMm: 700 },
  ],
};
const deck = describeDeck(base);
const withControls = (controls: DeckFileInput["controls"]) => describeDeck({ ...base, controls });

const band = (kind: "dense" | "middling" | "light", fromMm: number, toMm: number, confidence = 0.9) => ({
  kind,
  areaMm2: 1,
  meanWidthMm: 1,
  outlet: [{ fromMm, toMm, fromErrorMm: 3, toErrorMm: 3 }],
  centreLine: [],
  edgeBlurMm: null,
  confidence,
});
const good: Reading = {
  schemaVersion: 1,
  photo: { name: "a.jpg", sha256: "0", widthPx: 1, heightPx: 1, takenAt: null },
  madeBy: { version: "0", model: "none" },
  scale: "deck file",
  deckState: "unknown",
  quality: { usable: true, issues: [] },
  view: null,
  grid: null,
  cover: { unseen: 0, bare: 0.5, dense: 0.1, middling: 0.1, light: 0.3, dry: 0 },
  bands: [band("dense", 0, 240), band("middling", 240, 700), band("light", 700, 1500)],
  outletUnseenMm: [],
  dryPatches: [],
  rills: [],
  splitters: [
    { name: "upper", atMm: 240, suggestedMm: 240, errorMm: 4 },
    { name: "lower", atMm: 700, suggestedMm: 700, errorMm: 4 },
  ],
  launders: [],
  advice: [],
};
/** Advice for the good reading with a change, each hint checked against its schema. */
function ask(change: Partial<Reading>, on: Deck = deck, notes: Notes = {}): Hint[] {
  const hints = advise(Reading.parse({ ...good, ...change }), on, notes);
  for (const hint of hints) {
    expect(Hint.parse(hint)).toEqual(hint);
    if (hint.control !== "none") expect(hint.caution).toBeTruthy();
    // each text by its sentences' names gives the same English
    expect(hint.said?.expect.length && inEnglish(hint.said.expect)).toBe(hint.expect);
    expect(hint.said?.caution ? inEnglish(hint.said.caution) : null).toBe(hint.caution);
    if (change.quality?.usable !== false) expect(hint.said?.because.map(inEnglish)).toEqual(hint.because);
    for (const { source, said } of hint.basis) expect(said && inEnglish([said])).toBe(source);
  }
  return hints;
}
const short = (hints: Hint[]) => hints.map((h) => `${h.control} ${h.direction}`);
const upper = (suggestedMm: number | null, errorMm: number | null) => ({
  splitters: [{ name: "upper", atMm: 240, suggestedMm, errorMm }],
});
const patch = (y: number, areaMm2 = 5000, confidence = 0.8) => ({
  dryPatches: [
    { areaMm2, centre: [500, y + 20] as [number, number], outline: [[500, y] as [number, number]], confidence },
  ],
});

it("leaves a good deck as it is, as sure as its evidence", () => {
  const [hint, ...more] = ask({});
  expect(more).toEqual([]);
  expect(hint).toMatchObject({ control: "none", direction: "hold", amount: null, confidence: 0.9 });
  expect(ask({ outletUnseenMm: [[1000, 1500]] })[0]!.confidence).toBeCloseTo(0.6, 3);
  expect(ask({ bands: [] })[0]!.confidence).toBe(0);
});

it("asks for another photo when this one is unusable, with its reason", () => {
  const quality = { usable: false, issues: [{ kind: "dark", say: "The photo is too dark." }] };
  const [hint] = ask({ quality, cover: null });
  expect(hint).toMatchObject({ control: "inspect", because: ["The photo is too dark."] });
});

it.each([
  [[0, 750], "none hold"],
  [[0, 760], "inspect hold"],
] as const)("asks for another photo when over half the outlet is hidden: %j", (span, answer) => {
  expect(short(ask({ outletUnseenMm: [[span[0], span[1]]] }))[0]).toBe(answer);
});

it("raises the wash water for a dry patch, by a quarter in half litres where the flow is known", () => {
  expect(ask(patch(200))[0]).toMatchObject({ control: "washWater", direction: "raise", amount: null });
  const [hint] = ask(patch(200), deck, { settings: { washWaterLitresPerMinute: 9 } });
  expect(hint).toMatchObject({ control: "washWater", direction: "raise", amount: { value: 2.5, unit: "L/min" } });
  expect(hint!.evidence).toMatchObject({ washWaterLitresPerMinute: 9, dryShare: 0.01 });
});

it.each([
  ["by the pipe", patch(75), deck, "washPipe hold"],
  ["just clear of the pipe", patch(76), deck, "washWater raise"],
  ["water cannot be set", patch(200), withControls({ washWater: false }), "crossSlope lower"],
  ["nothing can be set", patch(200), withControls({ washWater: false, crossSlope: false }), "inspect hold"],
  ["smallest that counts", patch(200, 400), deck, "washWater raise"],
  ["too small", patch(200, 399), deck, "none hold"],
  ["just sure", patch(200, 5000, 0.5), deck, "washWater raise"],
  ["not sure", patch(200, 5000, 0.49), deck, "none hold"],
  ["stopped", { ...patch(200), deckState: "stopped" as const }, deck, "none hold"],
])("dry patch: %s", (_, change, on, answer) => {
  expect(short(ask(change, on))).toEqual([answer]);
});

it.each([
  [0.029, "unknown", "inspect hold"],
  [0.03, "unknown", "none hold"],
  [0, "stopped", "none hold"],
] as const)("looks to the feed when solids cover %d, deck %s", (light, deckState, answer) => {
  const cover = { unseen: 0, bare: 1 - light, dense: 0, middling: 0, light, dry: 0 };
  expect(short(ask({ cover, deckState }))).toEqual([answer]);
});

it.each([
  [0.5, "level hold"],
  [0.49, "none hold"],
])("levels a deck whose water runs in rills, from confidence %d", (confidence, answer) => {
  expect(short(ask({ rills: [{ path: [[0, 0]], widthMm: 5, confidence }] }))).toEqual([answer]);
});

it.each([
  // Launder A ends at 240; half past it is allowed, and twice the 3 mm edge error over the band's length.
  ["half past its launder", [140, 340], deck, "none hold"],
  ["most past its launder", [200, 400], deck, "washWater lower"],
  ["water cannot be set", [200, 400], withControls({ washWater: false }), "crossSlope lower"],
  ["nothing can be set", [200, 400], withControls({ washWater: false, crossSlope: false }), "none hold"],
  ["all over the tailings side", [600, 800], deck, "washWater lower"],
] as const)("bands too low: dense %s", (_, [from, to], on, answer) => {
  expect(short(ask({ bands: [band("dense", from, to)] }, on))).toEqual([answer]);
});

it("lowers the slope when the wash water is shut already", () => {
  const change = { bands: [band("dense", 300, 400)] };
  expect(short(ask(change, deck, { settings: { washWaterLitresPerMinute: 0 } }))).toEqual(["crossSlope lower"]);
  expect(short(ask(change, deck, { settings: { washWaterLitresPerMinute: 1 } }))).toEqual(["washWater lower"]);
});

it.each([
  ["within the doubt", 212, "none hold"],
  ["well into the dense launder", 190, "washWater raise"],
])("bands too high: light %s", (_, from, answer) => {
  expect(short(ask({ bands: [band("light", from, 1500)] }))).toEqual([answer]);
});

it("blames the splitter, not the water, for light that a move keeps out", () => {
  const hints = ask({ bands: [band("dense", 0, 120), band("light", 150, 1500)], ...upper(135, 4) });
  expect(short(hints)).toEqual(["splitter lower"]);
});

it("gives no water hint on a stopped deck", () => {
  expect(short(ask({ deckState: "stopped", bands: [band("dense", 600, 800)] }))).toEqual(["none hold"]);
  expect(short(ask({ deckState: "stopped", bands: [band("light", 0, 800)] }))).toEqual(["none hold"]);
});

it("never pulls the water both ways", () => {
  expect(short(ask({ ...patch(200), bands: [band("dense", 600, 800)] }))).toEqual(["washWater raise"]);
});

it("moves a splitter by the amount, toward larger mm to raise it", () => {
  const [hint] = ask(upper(262, 4));
  expect(hint).toMatchObject({
    control: "splitter",
    target: "upper",
    direction: "raise",
    amount: { value: 22, unit: "mm" },
    toMm: 262,
  });
  expect(ask(upper(218, 4))[0]).toMatchObject({ direction: "lower", amount: { value: 22, unit: "mm" }, toMm: 218 });
});

it.each([
  ["two and a half times its error", 252.5, 5, "none hold"],
  ["past that", 252.6, 5, "splitter raise"],
  ["one step", 245, 1, "none hold"],
  ["past one step", 245.1, 1, "splitter raise"],
  ["no place", null, null, "none hold"],
  ["no error", 300, null, "none hold"],
])("splitter off by %s", (_, place, error, answer) => {
  expect(short(ask(upper(place, error)))).toEqual([answer]);
});

it("leaves splitters that nobody can move", () => {
  expect(short(ask(upper(300, 4), withControls({ splitters: false })))).toEqual(["none hold"]);
});

it("puts water before splitters, one change a hint", () => {
  expect(short(ask({ ...patch(200), ...upper(300, 4) }))).toEqual(["washWater raise", "splitter raise"]);
});

it("shows no mm when the scale is assumed", () => {
  const scale = "assumed" as const;
  for (const change of [upper(300, 4), patch(200), { bands: [band("dense", 600, 800)] }, {}]) {
    for (const { lookAgainMinutes: _, ...hint } of ask({ scale, ...change })) {
      expect(JSON.stringify([hint.because, hint.expect, hint.caution, hint.amount])).not.toMatch(/\d ?mm\b|"mm"/);
      expect(hint.toMm).toBeNull();
    }
  }
  expect(ask({ scale, ...upper(300, 4) })[0]!.amount).toEqual({ value: 4, unit: "%" });
});

it("reads bands on a deck that nobody described", () => {
  const unknown = describeDeck(null);
  const onUnknown = (bands: Reading["bands"]) => short(ask({ scale: "assumed", bands, splitters: [] }, unknown));
  expect(onUnknown([band("dense", 0, 900)])).toEqual(["none hold"]);
  expect(onUnknown([band("dense", 1100, 1500)])).toEqual(["washWater lower"]);
  expect(onUnknown([band("light", 100, 2500)])).toEqual(["washWater raise"]);
  expect(onUnknown([band("light", 400, 2500)])).toEqual(["none hold"]);
});

/** Invented set points: water 14 to 18 L/min in all, cross slope 24 mm/m, end slope 5 mm/m. */
const setPoints = { waterLitresPerMinute: [14, 18] as [number, number], crossSlopeMmPerM: 24, endSlopeMmPerM: 5 };
const withSetPoints = describeDeck({ ...base, setPoints });

it.each([
  ["water low", { washWaterLitresPerMinute: 9, feedWaterLitresPerMinute: 3 }, "washWater raise 2 L/min"],
  ["water at the low end", { washWaterLitresPerMinute: 11, feedWaterLitresPerMinute: 3 }, "none hold"],
  ["water at the high end", { washWaterLitresPerMinute: 15, feedWaterLitresPerMinute: 3 }, "none hold"],
  ["water high", { washWaterLitresPerMinute: 16.5, feedWaterLitresPerMinute: 3 }, "washWater lower 1.5 L/min"],
  [
    "feed water alone too much",
    { washWaterLitresPerMinute: 2, feedWaterLitresPerMinute: 30 },
    "washWater lower 2 L/min",
  ],
  ["feed water unknown, wash water low", { washWaterLitresPerMinute: 9 }, "none hold"],
  ["feed water unknown, wash water high", { washWaterLitresPerMinute: 19 }, "washWater lower 1 L/min"],
  ["slope within what a level shows", { crossSlopeMmPerM: 25 }, "none hold"],
  ["slope steep", { crossSlopeMmPerM: 25.1 }, "crossSlope lower 1.1 mm/m"],
  ["slope flat", { crossSlopeMmPerM: 20 }, "crossSlope raise 4 mm/m"],
  ["end slope, which this deck cannot set", { endSlopeMmPerM: 9 }, "none hold"],
])("brings a control back within its set points: %s", (_, settings, answer) => {
  const [hint, ...more] = ask({}, withSetPoints, { settings });
  expect(more).toEqual([]);
  const amount = hint!.amount ? ` ${hint!.amount.value} ${hint!.amount.unit}` : "";
  expect(`${hint!.control} ${hint!.direction}${amount}`).toBe(answer);
});

it("says nothing of set points on a stopped deck, or without a settings file", () => {
  const settings = { crossSlopeMmPerM: 40 };
  expect(short(ask({ deckState: "stopped" }, withSetPoints, { settings }))).toEqual(["none hold"]);
  expect(short(ask({}, withSetPoints))).toEqual(["none hold"]);
});

it("takes the amount from the set points where the photo asks for the same", () => {
  const settings = { washWaterLitresPerMinute: 20, feedWaterLitresPerMinute: 2 };
  const [hint, ...more] = ask({ bands: [band("dense", 600, 800)] }, withSetPoints, { settings });
  expect(hint).toMatchObject({ control: "washWater", direction: "lower", amount: { value: 4, unit: "L/min" } });
  expect(more).toEqual([]);
});

it("turns to the slope, not past the set points of the water, and never back with the next photo", () => {
  const settings = { washWaterLitresPerMinute: 10, feedWaterLitresPerMinute: 4 };
  const low = { bands: [band("dense", 600, 800)] };
  expect(short(ask(low, withSetPoints, { settings }))).toEqual(["crossSlope lower"]);
  const fixed = describeDeck({ ...base, setPoints, controls: { crossSlope: false } });
  expect(short(ask(low, fixed, { settings }))).toEqual(["washWater lower"]);
});

it("lets the photo outweigh the set points: never two hints against each other", () => {
  const settings = { crossSlopeMmPerM: 18 };
  expect(short(ask({ bands: [band("dense", 600, 800)] }, withSetPoints, { settings }))).toEqual(["washWater lower"]);
});

it.each([
  // Dense 100 to 300, light from 300: to the cut c > 300 falls 200 mm of dense and c - 300 of light.
  ["no aim", {}, 300, 20],
  ["purity met where they divide", { densePurity: 1 }, 300, 20],
  ["recovery met where they divide", { denseRecovery: 1 }, 300, 20],
])("aim for the dense launder: %s", (_, aim, toMm, off) => {
  const bands = [band("dense", 100, 300), band("light", 300, 1500)];
  const splitters = [{ name: "upper", atMm: 280, suggestedMm: 300, errorMm: 4 }];
  const [hint] = ask({ bands, splitters }, deck, { aim });
  expect(hint).toMatchObject({ control: "splitter", toMm, amount: { value: off } });
});

it("moves the splitter off the boundary as far as the aim asks, and says why", () => {
  // Edges blurred by a Gaussian of sd 100 / 2.563 = 39 mm, both centred on 300: half of what falls at 300 is light.
  const blurred = [
    { ...band("dense", 0, 300), edgeBlurMm: 100 },
    { ...band("light", 300, 1500), edgeBlurMm: 100 },
  ];
  const change = { bands: blurred, splitters: [{ name: "upper", atMm: 300, suggestedMm: 300, errorMm: 4 }] };
  expect(short(ask(change))).toEqual(["none hold"]);
  const [purer] = ask(change, deck, { aim: { densePurity: 0.99 } });
  expect(purer).toMatchObject({ control: "splitter", direction: "lower" });
  expect(purer!.toMm).toBeLessThan(290);
  expect(purer!.because.join(" ")).toContain("at least 99 % dense");
  const [fuller] = ask(change, deck, { aim: { denseRecovery: 0.99 } });
  expect(fuller).toMatchObject({ control: "splitter", direction: "raise" });
  // Both at once cannot be had from bands that run into each other: the boundary stays, with words.
  const off = { ...change, splitters: [{ name: "upper", atMm: 200, suggestedMm: 300, errorMm: 4 }] };
  const [neither] = ask(off, deck, { aim: { densePurity: 0.999, denseRecovery: 0.999 } });
  expect(neither!.toMm).toBe(300);
  expect(neither!.because.join(" ")).toContain("No place of it gives");
});
