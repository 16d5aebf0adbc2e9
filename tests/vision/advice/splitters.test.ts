import { describe, expect, it } from "vitest";
import { pooled } from "../../../vision/advice/pooled.ts";
import { splittersOff } from "../../../vision/advice/splitters.ts";
import type { AimFile, Reading } from "../../../vision/contract/index.ts";
import { describeDeck } from "../../../vision/deck.ts";
import { bandsOf, deckFile, notes, readingOf } from "./scene.ts";

const deck = describeDeck(deckFile);
const ask = (reading: Reading, aim?: AimFile) =>
  splittersOff({ reading, deck, notes: { ...notes, aim } }, null).map(({ hint }) => hint);
const off = readingOf(bandsOf([0, 330, 640, 2600]));

describe("no surer than the evidence", () => {
  it.each([
    [0.9, 1],
    [0.5, 1],
    [0.49, 0],
  ])("bands beside it %d sure: %d hints", (confidence, count) => {
    expect(ask(readingOf(bandsOf([0, 330, 640, 2600], 12, confidence)))).toHaveLength(count);
  });

  it("needs a larger move, and says so, where the bands beside it are unsure; the other bands do not matter", () => {
    const [dense, middling, light] = off.bands as [Reading["bands"][0], Reading["bands"][0], Reading["bands"][0]];
    const [sure] = ask(readingOf([dense, middling, { ...light, confidence: 0.3 }]));
    expect(sure).toMatchObject({ target: "upper", toMm: 330 });
    expect(sure!.because.join()).not.toContain("only");
    const [unsure] = ask(readingOf([dense, { ...middling, confidence: 0.55 }, light]));
    expect(unsure!.because.join()).toContain("only 55 % sure");
    expect(unsure!.confidence).toBeLessThan(sure!.confidence);
    // 12 mm of error count as 17.5 at 55 %: 2.5 of them are 44 mm
    const near = (mm: number) => ask(readingOf(bandsOf([0, mm, 640, 2600], 12, 0.55)));
    expect(near(275)).toHaveLength(0);
    expect(near(285)).toHaveLength(1);
  });

  it("stays where edges have big errors", () => {
    expect(ask(readingOf(bandsOf([0, 330, 640, 2600], 40)))).toEqual([]);
  });
});

describe("what is carried", () => {
  it("now, as suggested and 10 mm beside that: more of all as the cut moves down", () => {
    const { carriedNow, carriedSuggested, carried10MmLess, carried10MmMore } = ask(off)[0]!.evidence as Record<
      string,
      number[]
    >;
    for (const k of [0, 1]) {
      const rising = [carriedNow![k]!, carried10MmLess![k]!, carriedSuggested![k]!, carried10MmMore![k]!];
      expect(rising).toEqual([...rising].sort((a, b) => a - b));
    }
    // the dense band ends at the suggested place: what lies beyond is the tail of its blurred edge
    expect(carriedSuggested![0]).toBeGreaterThan(0.9);
    expect(carriedNow![0]).toBeCloseTo(240 / 330, 1);
  });
});

describe("prices", () => {
  const worth = (dense: number, middling: number, light: number) => ({ dense, middling, light });
  it("a dear dense launder is cut tighter than a cheap one, and the gain is told", () => {
    const aim = (penalty: number): AimFile => ({
      perTonne: [worth(100, -penalty, -penalty), worth(30, 10, -5), worth(0, 0, 0)],
    });
    const wide = readingOf(bandsOf([0, 480, 900, 2600]));
    const [dear, cheap] = [aim(300), aim(5)].map((one) => ask(wide, one).find(({ target }) => target === "upper")!);
    expect(dear!.toMm!).toBeLessThan(cheap!.toMm!);
    expect(cheap!.because.join(" ")).toMatch(/pays best .* about \d+ % more/);
  });
});

it("pools photos of one state: three like ones have 1/√3 of the error, and one more splitter move changes nothing", () => {
  const earlier = [1, 2].map(() => ({
    reading: { ...off, splitters: off.splitters.map((s) => ({ ...s, atMm: s.atMm + 50 })) },
    settings: notes.settings,
  }));
  const one = pooled({ reading: off, deck, notes: { ...notes, earlier } });
  expect(one.bands[0]!.outlet[0]!.toErrorMm).toBeCloseTo(12 / Math.sqrt(3), 9);
  expect(one.splitters[0]!.atMm).toBe(240);
  const other = earlier.map((look) => ({ ...look, settings: { ...notes.settings, crossSlopeMmPerM: 30 } }));
  expect(pooled({ reading: off, deck, notes: { ...notes, earlier: other } })).toBe(off);
});
