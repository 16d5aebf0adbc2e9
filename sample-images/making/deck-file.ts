import { DICTIONARY } from "../../vision/finding/markers.ts";
import { endsAt } from "./deck-shape.ts";
import type { Painted } from "./paint.ts";
import type { Scenario } from "./scenario.ts";

/** The deck file as its owner would write it. */
export function deckFile(s: Scenario, { outline, outletPath }: Painted): unknown {
  const { lengthMm, widthMm, riffleEndMm, riffle, crossSlopeMmPerM } = s.deck;
  const pathMm = outletPath
    .slice(1)
    .reduce((sum, [x, y], i) => sum + Math.hypot(x - outletPath[i]![0], y - outletPath[i]![1]), 0);
  const total = Math.round(pathMm * 10) / 10;
  const [upper, lower] = s.splittersMm;
  const first = riffle.firstMm;
  const [drive, end] = endsAt(s, first).map((x) => Math.round(10 * x) / 10) as [number, number];
  const [highRiffleEnd, lowRiffleEnd] = [
    [riffleEndMm[0], first],
    [riffleEndMm[1], widthMm],
  ];
  return {
    schemaVersion: 1,
    name: `${s.title} (invented deck)`,
    hand: s.hand,
    lengthMm,
    widthMm,
    outline,
    riffled: [[drive, first], highRiffleEnd, lowRiffleEnd, outline.at(-1)],
    smoothZones: [[highRiffleEnd, [end, first], ...outline.slice(2, -1), lowRiffleEnd]],
    outletPath,
    feedBox: s.feedMm.map((x) => [x, 0]),
    washPipes: [
      [
        [s.feedMm[1] + 24, 0],
        [outletPath[0]![0] - 10, 0],
      ],
    ],
    splitters: [
      {
        name: "upper",
        between: ["dense", "middling"],
        atMm: upper,
        minMm: 40,
        maxMm: widthMm - 50,
        stepMm: 5,
        movable: true,
      },
      {
        name: "lower",
        between: ["middling", "light"],
        atMm: lower,
        minMm: 150,
        maxMm: Math.floor(total) - 100,
        stepMm: 5,
        movable: true,
      },
    ],
    launders: [
      { name: "A", product: "dense", fromMm: 0, toMm: upper },
      { name: "B", product: "middling", fromMm: upper, toMm: lower },
      { name: "C", product: "light", fromMm: lower, toMm: total },
    ],
    controls: {
      splitters: true,
      washWater: true,
      feedWater: true,
      feedRate: true,
      crossSlope: true,
      endSlope: false,
      stroke: false,
      speed: false,
    },
    ...(s.marks && { marks: { dictionary: DICTIONARY, items: s.marks } }),
    setPoints: { crossSlopeMmPerM },
  };
}
