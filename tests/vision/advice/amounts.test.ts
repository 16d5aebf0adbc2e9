import { describe, expect, it } from "vitest";
import { twinOf } from "../../../vision/advice/twin-case.ts";
import { waitMinutes } from "../../../vision/advice/waiting.ts";
import { type DeckFileInput, Hint, type Reading } from "../../../vision/contract/index.ts";
import { describeDeck } from "../../../vision/deck.ts";
import { advise } from "../../../vision/rules.ts";
import type { Notes } from "../../../vision/stages.ts";
import { bandsOf, deckFile, notes, readingOf } from "./scene.ts";

const ask = (reading: Reading, change: Partial<DeckFileInput> = {}, more: Notes = {}) => {
  const hints = advise(reading, describeDeck({ ...deckFile, ...change }), { ...notes, ...more });
  for (const hint of hints) expect(Hint.parse(hint)).toEqual(hint);
  return hints;
};
const short = (hints: readonly Hint[]) =>
  hints.map(({ control, target, direction }) => [control, target, direction].join(" "));
/** Bands squeezed at the far end of the outlet: steep and drowned. */
const drowned = readingOf(bandsOf([300, 1250, 1650, 2650]));
const calm = readingOf(bandsOf([0, 240, 640, 2600]));

describe("amounts from the twin", () => {
  it("takes water or slope back where bands lie squeezed at the far end, in whole steps, with what to expect", () => {
    const hint = ask(drowned).find(({ control }) => control === "washWater")!;
    expect(hint).toMatchObject({ direction: "lower", amount: { unit: "L/min" } });
    expect(hint.amount!.value / 0.5).toBeCloseTo(Math.round(hint.amount!.value / 0.5), 6);
    expect(hint.expect).toMatch(/moves about \d+ mm up toward the wash-water corner/);
    expect(Number(hint.evidence.denseToMiddlingMovesMm)).toBeLessThan(-40);
    expect(hint.caution).toContain("electrics");
  });

  it("gives none without a settings file or without densities and sizes", () => {
    const { settings, profile } = notes;
    for (const more of [
      { settings: undefined },
      { profile: undefined },
      { settings: { ...settings, crossSlopeMmPerM: undefined } },
    ]) {
      expect(ask(drowned, {}, more).every(({ evidence }) => !("expectedGain" in evidence))).toBe(true);
    }
    expect(twinOf({ reading: drowned, deck: describeDeck(deckFile), notes: { settings, profile } })).not.toBeNull();
  });

  it("stays within what the control reaches", () => {
    const reach = { washWaterLitresPerMinute: { least: 13, most: 30, step: 0.5 } };
    const within = ask(drowned, {}, { settings: { ...notes.settings, reach } });
    for (const { control, amount } of within) if (control === "washWater") expect(amount!.value).toBeLessThanOrEqual(1);
  });

  it("never moves a control that this machine has not, and leaves the deck's own end slope alone", () => {
    const controls = { washWater: false, feedWater: false, crossSlope: false, endSlope: true };
    const setPoints = { endSlopeMmPerM: 4 };
    const settings = { ...notes.settings, endSlopeMmPerM: 4 };
    for (const reading of [drowned, calm]) {
      const said = short(ask(reading, { controls, setPoints }, { settings })).join();
      expect(said).not.toMatch(/washWater|crossSlope|endSlope|stroke|speed/);
    }
  });

  it("says nothing of water on a stopped deck", () => {
    expect(short(ask({ ...drowned, deckState: "stopped" })).join()).not.toMatch(/water|slope/i);
  });

  it("advises no change smaller than can be seen: twice the doubt of two photos", () => {
    const coarse = readingOf(bandsOf([300, 1250, 1650, 2650], 180));
    expect(ask(coarse).filter(({ evidence }) => "expectedGain" in evidence)).toEqual([]);
  });
});

describe("two photos of one deck", () => {
  const first = ask(drowned)[0]!;
  const earlier = [{ reading: { ...drowned, advice: [first] }, settings: notes.settings }];

  it("give one hint, amount and all", () => {
    const second = readingOf(bandsOf([295, 1262, 1640, 2650]));
    expect(ask(second, {}, { earlier })[0]).toEqual(first);
  });

  it("and another one once the bands have moved", () => {
    expect(ask(calm, {}, { earlier })[0]).not.toEqual(first);
  });
});

it("waits for the solids, not for the water: longer decks and slower drives longer, five minutes at least", () => {
  expect(waitMinutes(1830, { strokeMm: 14, strokesPerMinute: 290 })).toBe(9);
  expect(waitMinutes(3660, { strokeMm: 14, strokesPerMinute: 290 })).toBeGreaterThan(15);
  expect(waitMinutes(500, { strokeMm: 20, strokesPerMinute: 320 })).toBe(5);
});
