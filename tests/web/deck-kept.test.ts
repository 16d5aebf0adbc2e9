import { afterEach, expect, it, vi } from "vitest";
import { FIRST_BELIEF } from "../../vision/twin/fit-twin.ts";
import { isOtherMaterial, keepSaid, saidOf } from "../../web/deck-kept.ts";

const DECK = { schemaVersion: 1 as const, name: "North", lengthMm: 1830, widthMm: 910 };
const SAID = {
  settings: { washWaterLitresPerMinute: 14 },
  profile: { dense: { name: "galena", densityKgPerM3: 7500 } },
  aim: { densePurity: 0.9 },
  splittersMm: { upper: 240 },
  twin: FIRST_BELIEF,
};

/** As a browser's, over a map. */
function storage(entries = new Map<string, string>()) {
  vi.stubGlobal("localStorage", {
    getItem: (key: string) => entries.get(key) ?? null,
    setItem: (key: string, value: string) => void entries.set(key, value),
  });
  return entries;
}
afterEach(() => vi.unstubAllGlobals());

it("keeps what was said and learned for each deck by itself, and nothing where no deck is known", () => {
  const entries = storage();
  keepSaid(DECK, SAID);
  keepSaid(null, SAID);
  expect(entries.size).toBe(1);
  expect(saidOf(DECK)).toEqual(SAID);
  expect(saidOf({ ...DECK, widthMm: 900 })).toBeNull();
  expect(saidOf(null)).toBeNull();
});

it("goes on where a browser keeps nothing, or kept what no page of today understands", () => {
  vi.stubGlobal("localStorage", undefined);
  keepSaid(DECK, SAID);
  expect(saidOf(DECK)).toBeNull();
  const entries = storage();
  keepSaid(DECK, SAID);
  for (const key of entries.keys()) entries.set(key, '{"settings":{"washWaterLitresPerMinute":"wet"}}');
  expect(saidOf(DECK)).toBeNull();
});

it("tells another material by a density; a name or a size makes none", () => {
  const galena = SAID.profile;
  expect(isOtherMaterial(galena, { dense: { ...galena.dense, name: "lead ore", sizeMm: [0.1, 0.2] } })).toBe(false);
  expect(isOtherMaterial(galena, { dense: { densityKgPerM3: 6950 } })).toBe(true);
});
