import { describe, expect, it } from "vitest";
import { didItHelp } from "../../../vision/advice/did-it-help.ts";
import { twinOf } from "../../../vision/advice/twin-case.ts";
import { SettingsFile } from "../../../vision/contract/index.ts";
import { describeDeck } from "../../../vision/deck.ts";
import { divideOf } from "../../../vision/twin/as-seen.ts";
import { FIRST_BELIEF, fitTwin } from "../../../vision/twin/fit-twin.ts";
import { predictOutlet } from "../../../vision/twin/transport.ts";
import { bandsOf, deckFile, notes, readingOf } from "./scene.ts";

const deck = describeDeck(deckFile);
const at = (upper: number, lower: number) => ({ reading: readingOf(bandsOf([0, upper, lower, 2600])), deck, notes });
const before = at(300, 640);
const raise = { control: "washWater", direction: "raise", amount: { value: 4, unit: "L/min" } } as const;

describe("with a twin", () => {
  const { borders } = didItHelp(before, before, raise);
  const expected = borders.map(({ expectedMm }) => expectedMm!);

  it("foretells more water as a move down, of both borders", () => {
    expect(expected.map(Math.sign)).toEqual([1, 1]);
  });

  it.each([
    ["as foretold", 1, "keep"],
    ["the other way", -1, "back"],
    ["three times as far", 3, "back"],
    ["not at all", 0, "other"],
  ] as const)("bands that moved %s: %s", (_, share, next) => {
    const after = at(300 + share * expected[0]!, 640 + share * expected[1]!);
    const helped = didItHelp(before, after, raise);
    expect(helped.next).toBe(next);
    expect(helped.say.length).toBeGreaterThan(20);
  });

  it("learns from each pair: what it foretells comes nearer to what was seen", () => {
    const first = twinOf(before)!;
    const then = { ...first.settings, washWaterLitresPerMinute: 18 };
    const seenAfter = at(300 + 1.8 * expected[0]!, 640 + 1.8 * expected[1]!);
    const { twin } = didItHelp(before, seenAfter, raise);
    const off = (parameters: typeof first.fit.parameters) => {
      const divide = divideOf(predictOutlet(first.deck, then, first.feed, parameters), ["middling", "light"])!;
      return Math.abs(divide.atMm - (640 + 1.8 * expected[1]!));
    };
    expect(off(twin!.parameters)).toBeLessThan(off(first.fit.parameters));
    const alone = fitTwin(first.deck, [{ settings: first.settings, feed: first.feed, borders: first.borders }]);
    expect(twin!.logErrors.drift).toBeLessThan(Math.hypot(alone.logErrors.drift, 0.11));
  });
});

describe("without a twin", () => {
  const bare = { ...before, notes: {} };
  it.each([
    [60, "keep"],
    [-80, "back"],
    [2, "wait"],
  ] as const)("judges by direction alone: %d mm", (mm, next) => {
    expect(didItHelp(bare, { ...at(300 + mm, 640 + mm), notes: {} }, raise).next).toBe(next);
  });

  // V13 of the trade's table: a moved splitter moves no band (common practice)
  it("expects nothing of the bands when a splitter was moved", () => {
    const splitter = { control: "splitter", direction: "raise" } as const;
    expect(didItHelp(bare, bare, splitter).next).toBe("keep");
    expect(didItHelp(bare, { ...at(400, 740), notes: {} }, splitter).next).toBe("other");
  });
});

it("reads settings with what an older program was taught, and leaves that out", () => {
  const { waterResponse: _, ...older } = FIRST_BELIEF.parameters;
  const settings = { crossSlopeMmPerM: 20, twin: { ...FIRST_BELIEF, parameters: older } };
  expect(SettingsFile.parse(settings)).toEqual({ crossSlopeMmPerM: 20, twin: undefined });
  expect(SettingsFile.parse({ ...settings, twin: FIRST_BELIEF }).twin).toEqual(FIRST_BELIEF);
});
