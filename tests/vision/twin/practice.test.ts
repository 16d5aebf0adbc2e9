import { describe, expect, it } from "vitest";
import { loadOn } from "../../../vision/twin/deck-load.ts";
import { CLASSES } from "../../../vision/twin/outlet-curves.ts";
import {
  goalsMet,
  looksAt,
  PRACTICE_CONTROLS,
  PRACTICE_DECK,
  PRACTICE_FEEDS,
  PRACTICE_START,
  PRACTICE_TASKS,
  type PracticeControl,
  type PracticeStand,
  type PracticeTask,
  practise,
  twinSettingsOf,
} from "../../../vision/twin/practice.ts";
import { FIRST_GUESS, grainFlows } from "../../../vision/twin/transport.ts";

const { feed, stand } = PRACTICE_START;
const moved = (change: Partial<PracticeStand>) => practise(feed, { ...stand, ...change });

describe("the deck to practise on", () => {
  // Directions as in Wills, Taggart and Burt (from memory): more water and more slope bring bands down the deck.
  it.each([
    ["wash water", { washWaterLitresPerMinute: 24 }],
    ["cross slope", { crossSlopeMmPerM: 30 }],
    ["feed, with its water", { feedKgPerHour: 160 }],
  ] as const)("more %s brings the bands down", (_name, change) => {
    expect(moved(change).divides.upper!.atMm).toBeGreaterThan(moved({}).divides.upper!.atMm + 20);
  });

  it("a splitter further along takes more dense, and takes it less pure", () => {
    const [near, far] = [moved({ splittersMm: [300, 700] }), moved({ splittersMm: [500, 700] })];
    expect(far.carried[0]!.dense).toBeGreaterThan(near.carried[0]!.dense);
    expect(far.purity[0]!).toBeLessThan(near.purity[0]!);
  });

  it("the bands drawn over the deck end where the outlet has them: the last column is the product end's curve", () => {
    const flows = grainFlows(PRACTICE_DECK, twinSettingsOf(stand), PRACTICE_FEEDS[feed]);
    const load = loadOn(PRACTICE_DECK, flows, FIRST_GUESS, 10);
    const { curves } = moved({});
    for (const name of CLASSES) {
      const middle = (values: ArrayLike<number>) => {
        const kept = Array.from({ length: load.rows }, (_, i) => values[i]!);
        return kept.reduce((sum, kg, i) => sum + kg * i, 0) / kept.reduce((sum, kg) => sum + kg, 0);
      };
      const last = load.loads[name].subarray((load.columns - 1) * load.rows);
      expect(Math.abs(middle(last) - middle(curves[name])), name).toBeLessThan(1.5); // cells of 10 mm
    }
  });

  it("says what costs most first, and that nothing calls for a look where all is well", () => {
    expect(looksAt(moved({ washWaterLitresPerMinute: 40, crossSlopeMmPerM: 40 }), stand)[0]!.name).toBe("denseLost");
    expect(looksAt(moved({ crossSlopeMmPerM: 8 }), stand).map(({ name }) => name)).toContain("dirty");
    const [upper, lower] = [moved({}).divides.upper!.atMm, moved({}).divides.lower!.atMm];
    const good = { ...stand, splittersMm: [upper, lower] as const };
    expect(looksAt(practise(feed, good), good)).toEqual([{ name: "good" }]);
  });
});

/** Every stand a task allows, on a grid as coarse as a person's hand. */
function* standsOf({ start, free }: PracticeTask): Generator<PracticeStand> {
  const values = (name: PracticeControl, count: number) => {
    const { least, most } = PRACTICE_CONTROLS[name];
    return (free as readonly string[]).includes(name)
      ? Array.from({ length: count }, (_, i) => least + Math.round(((most - least) * i) / (count - 1)))
      : [start[name]];
  };
  const cuts = (free as readonly string[]).includes("splitters")
    ? [150, 200, 250, 300, 350, 400, 450, 500].flatMap((a) => [600, 900, 1200].map((b) => [a, b] as const))
    : [start.splittersMm];
  for (const washWaterLitresPerMinute of values("washWaterLitresPerMinute", 10))
    for (const crossSlopeMmPerM of values("crossSlopeMmPerM", 9))
      for (const feedKgPerHour of values("feedKgPerHour", 8))
        for (const splittersMm of cuts)
          yield { washWaterLitresPerMinute, crossSlopeMmPerM, feedKgPerHour, splittersMm };
}

describe.each(PRACTICE_TASKS.map((task) => [task.name, task as PracticeTask] as const))("task %s", (_name, task) => {
  const done = (stand: PracticeStand) =>
    goalsMet(task.goals, practise(task.feed, stand), stand).every(({ met }) => met);
  it("is not done at its start", () => expect(done(task.start)).toBe(false));
  it("can be done, though not by chance", () => {
    const stands = [...standsOf(task)];
    const ways = stands.filter(done).length;
    expect(ways).toBeGreaterThan(0);
    expect(ways / stands.length).toBeLessThan(0.5);
  });
});
