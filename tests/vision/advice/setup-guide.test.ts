import { expect, it } from "vitest";
import { SETUP_STEPS, setupFaults, setupFor } from "../../../vision/advice/setup-guide.ts";
import { SetupRecord } from "../../../vision/contract/index.ts";
import { describeDeck } from "../../../vision/deck.ts";

/** 8 by 4 ft. */
const deck = describeDeck({ schemaVersion: 1, lengthMm: 2438.4, widthMm: 1219.2 });
const check = (id: string, name: string, on = deck) =>
  setupFor(on)
    .find((step) => step.id === id)!
    .checks.find((one) => one.name === name)!;

it("goes in the trade's order, each step with a caution and its source", () => {
  expect(SETUP_STEPS.map(({ id }) => id)).toEqual([
    "hold-down", "level-along", "slope-across", "recheck", "wash-pipe", "film", "float", "feed", "splitters", "stop",
  ]); // biome-ignore format: one line
  for (const { caution, basis, how } of SETUP_STEPS) expect([caution, basis.source, how[0]].every(Boolean)).toBe(true);
});

// Common practice: 1/2 in over 2 ft is 20.8333 mm/m; 5 to 7 US gal/min are 18.9 to 26.5 L/min; a float crosses 4 ft in 5 to 6 s.
it("has the trade's own numbers for a deck of 8 by 4 ft", () => {
  const slope = check("slope-across", "cross slope");
  expect((slope.least! + slope.most!) / 2).toBeCloseTo(20.8333, 1);
  expect(check("film", "water, wash and feed")).toMatchObject({ least: 18.9, most: 26.5 });
  expect(check("float", "float across the deck")).toMatchObject({ least: 5, most: 6 });
});

it("takes the deck's own set points where it has them", () => {
  const setPoints = {
    crossSlopeMmPerM: 30,
    waterLitresPerMinute: [10, 12] as [number, number],
    floatSeconds: [3, 4] as [number, number],
  };
  const own = describeDeck({ schemaVersion: 1, lengthMm: 1800, widthMm: 900, setPoints });
  expect(check("slope-across", "cross slope", own)).toMatchObject({ least: 29, most: 31 });
  expect(check("film", "water, wash and feed", own)).toMatchObject({ least: 10, most: 12 });
  expect(check("float", "float across the deck", own)).toMatchObject({ least: 3, most: 4 });
});

it("judges a record: order, missing and wrong values; repeats by their mean", () => {
  const entry = (step: string, values: Record<string, number[]>) => ({
    step,
    done: true,
    who: "R. Ito",
    at: "2031-05-04T08:00:00+02:00",
    values,
  });
  const record = (...entries: object[]) => SetupRecord.parse({ schemaVersion: 1, deck: "Demo deck", entries });
  const held = entry("hold-down", { "frame walked": [0] });
  expect(setupFaults(deck, record(held, entry("level-along", { "end slope": [0.4, -0.6] })))).toEqual([]);
  expect(setupFaults(deck, record(held, entry("level-along", { "end slope": [3, 2] })))).toEqual([
    {
      kind: "outside",
      step: "level-along",
      check: { name: "end slope", unit: "mm/m", least: -1, most: 1 },
      value: 2.5,
    },
  ]);
  const skipped = setupFaults(deck, record(entry("level-along", {})));
  expect(skipped).toMatchObject([
    { kind: "skipped", step: "hold-down" },
    { kind: "unread", step: "level-along", check: { name: "end slope" } },
  ]);
  expect(setupFaults(deck, record(entry("dance", {})))).toEqual([{ kind: "unknown", step: "dance" }]);
  expect(SetupRecord.safeParse({ schemaVersion: 1, deck: "D", entries: [{ ...held, at: "yesterday" }] }).success).toBe(
    false,
  );
});
