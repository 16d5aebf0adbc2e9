import { expect, it } from "vitest";
import { SYMPTOMS } from "../../../vision/advice/symptoms.ts";
import { type DeckFileInput, type Reading, SEEN_BY_EYE, type SettingsFile } from "../../../vision/contract/index.ts";
import { describeDeck } from "../../../vision/deck.ts";
import { advise } from "../../../vision/rules.ts";
import { bandsOf, deckFile, readingOf } from "./scene.ts";

const good = readingOf(bandsOf([0, 240, 640, 2600]));
const edge = (fromMm: number, toMm: number) => ({ fromMm, toMm, fromErrorMm: 5, toErrorMm: 5 });
const [dense, middling, light] = good.bands as [Reading["bands"][0], Reading["bands"][0], Reading["bands"][0]];
type Earlier = { reading: Reading; settings?: SettingsFile }[];
const ask = (
  change: Partial<Reading>,
  settings: SettingsFile = {},
  earlier: Earlier = [],
  deck: Partial<DeckFileInput> = {},
) => advise({ ...good, ...change }, describeDeck({ ...deckFile, ...deck }), { settings, earlier })[0]!;

it("tells each symptom by its own name, with cause, remedy, source and a limit in a unit", () => {
  expect(new Set(SYMPTOMS.map(({ id }) => id)).size).toBe(SYMPTOMS.length);
  for (const number of Array.from({ length: 12 }, (_, i) => i + 1)) {
    expect(
      SYMPTOMS.some(({ id }) => id.startsWith(`S${number} `)),
      `S${number}`,
    ).toBe(true);
  }
  for (const { remedies, basis, cause, unit } of SYMPTOMS) {
    expect([remedies.length > 0, basis.length > 0, cause.length > 0, unit.length > 0]).toEqual([
      true,
      true,
      true,
      true,
    ]);
  }
});

// Faults and remedies: common practice and Wills, Taggart, Burt (from memory), as each symptom's own source says.
it.each([
  ["feed surges", "inspect hold", "S7 told"],
  ["feed uneven along the feed box", "feedSpread hold", "F4 feed uneven, told"],
  ["bed stands in the riffles", "feedRate lower", "S4 bed stands"],
  ["wash jets land low", "washPipe hold", "F6 wash jets land low"],
  ["water thick with fines", "inspect hold", "F5 thick with fines"],
  ["fine streaks ahead of the dense edge", "washWater lower", "S9 ragged dense edge"],
  ["round heavy grains roll to the low side", "crossSlope lower", "F8 round heavy grains, told"],
  ["froth or floating grains", "inspect hold", "S12 froth"],
  ["dense band gone, weights the same", "inspect hold", "S11 told"],
] as const)("seen by eye: %s", (seen, answer, symptom) => {
  const hint = ask({}, { seen: [seen] });
  expect([`${hint.control} ${hint.direction}`, hint.evidence.symptom]).toEqual([answer, symptom]);
  expect(ask({}).control).toBe("none");
});

it("has a symptom for all that a person can say", () => {
  for (const seen of SEEN_BY_EYE) expect(ask({}, { seen: [seen] }).control, seen).not.toBe("none");
});

// Manser, Barley & Wills (1991), Minerals Eng. 4, 369, abstract: keep below 35 % solids.
it.each([
  [35, "none", null],
  // 100 kg/h of solids: 30 % wants 233.3 kg/h of water, 40 % has 150: 83.3 kg/h more is 1.4 L/min, in half litres 1.5
  [40, "feedWater", 1.5],
])("feed of %d %% solids: %s", (feedSolidsPercent, control, value) => {
  const hint = ask({}, { feedSolidsPercent, feedKgPerHour: 100 });
  expect([hint.control, hint.amount?.value ?? null]).toEqual([control, value]);
});

it("lowers a speed only on a machine that has it to set", () => {
  const settings: SettingsFile = { seen: ["fine streaks ahead of the dense edge"], strokesPerMinute: 300 };
  expect(ask({}, settings).control).toBe("washWater");
  const controls = { speed: true };
  expect(ask({}, settings, [], { controls })).toMatchObject({ control: "speed", amount: { value: 15, unit: "1/min" } });
});

it.each([
  ["swings", [0, 120, 0, 120, 0], "S7 fan swings"],
  ["drifts", [0, 40, 80, 120, 160], "S8 bands drift"],
  ["stands within its errors", [0, 12, -10, 8, -4], undefined],
])("five photos with nothing changed: the fan %s", (_, offsets, symptom) => {
  const at = (off: number) => readingOf(bandsOf([0, 240 + off, 640 + off, 2600]));
  const looks = offsets.map((off) => ({ reading: at(off), settings: {} }));
  const last = looks.pop()!;
  const hint = advise(last.reading, describeDeck(deckFile), { settings: {}, earlier: looks })[0]!;
  expect(hint.evidence.symptom).toBe(symptom);
});

it("finds bands that merge, and a dense band that is gone, beside the looks before", () => {
  const blurred = (mm: number) => readingOf(good.bands.map((band) => ({ ...band, edgeBlurMm: mm })));
  const before: Earlier = [{ reading: blurred(40), settings: {} }];
  expect(ask({ bands: blurred(81).bands }, {}, before).evidence.symptom).toBe("S10 bands merge");
  expect(ask({ bands: blurred(79).bands }, {}, before).control).toBe("none");
  const gone = { bands: good.bands.slice(1), splitters: [] };
  expect(ask(gone, {}, before).evidence.symptom).toBe("S11 dense band gone");
});

it("finds dense grains that heap up, stray, or leave their launder empty", () => {
  const heap = { bands: [{ ...dense, outlet: [] }, middling, light], splitters: [] };
  expect(ask(heap).evidence.symptom).toBe("F6 dense heaps up");
  const stray = { bands: [{ ...dense, outlet: [edge(0, 240), edge(1500, 1600)] }, middling, light] };
  expect(ask(stray).evidence.symptom).toBe("F8 dense strays to the low side");
  const thin = { bands: [{ ...dense, outlet: [edge(0, 60)] }], splitters: [] };
  expect(ask(thin).evidence.symptom).toBe("F9 dense launder not filled");
});

// Uneven feed makes fans beside each other (common practice); a ragged end of one band does not: 3 % of 2700 mm are 81 mm.
it.each([
  ["three streaks with 85 mm between them", [edge(640, 900), edge(985, 1500), edge(1585, 2600)], "F4 bands in streaks"],
  ["the same with 75 mm between them", [edge(640, 900), edge(975, 1500), edge(1575, 2600)], undefined],
  ["two streaks", [edge(640, 1200), edge(1400, 2600)], undefined],
  ["one, and crumbs of 60 mm", [edge(640, 1200), edge(1400, 1460), edge(1600, 1660), edge(1800, 1860)], undefined],
])("light leaves in %s", (_, outlet, symptom) => {
  expect(ask({ bands: [dense, middling, { ...light, outlet }] }).evidence.symptom).toBe(symptom);
});

it("asks for another photo where bands do not follow each other as a fan does", () => {
  const turned = { bands: [{ ...dense, outlet: [edge(900, 1700)] }, middling, { ...light, outlet: [edge(0, 240)] }] };
  const hint = ask({ ...turned, splitters: [] });
  expect(hint).toMatchObject({ control: "inspect", target: "photo", evidence: { symptom: "F10 no fan" } });
  // dense 0 to 240 and 1500 to 1600 of 2600 mm in all: 4 % out of order is a stray, not another picture
  const stray = [{ ...dense, outlet: [edge(0, 240), edge(1500, 1600)] }, middling, light];
  expect(ask({ bands: stray, splitters: [] }).evidence.symptom).not.toBe("F10 no fan");
});

it.each([
  ["a band beside a splitter is unsure", [dense, { ...middling, confidence: 0.49 }, light], "inspect photo"],
  ["all bands are just sure", [dense, { ...middling, confidence: 0.5 }, light], "none null"],
  ["no middling is seen at all", [dense, light], "none null"],
  ["one band is sure and one is not", [{ ...dense, confidence: 0.3 }, light], "inspect photo"],
  [
    "light alone, hardly sure, over the whole outlet",
    [{ ...light, outlet: [edge(0, 2600)], confidence: 0.69 }],
    "inspect photo",
  ],
  ["the same, surer", [{ ...light, outlet: [edge(0, 2600)], confidence: 0.7 }], "washWater null"],
])("says that the photo cannot tell, not that all is well: %s", (_, bands, answer) => {
  const hint = ask({ bands, splitters: [] });
  expect(`${hint.control} ${hint.target}`).toBe(answer);
  expect(ask({ bands, splitters: [], deckState: "stopped" }).control).toBe("none");
});
