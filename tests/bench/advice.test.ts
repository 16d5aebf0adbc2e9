import { expect, it } from "vitest";
import { randomFrom } from "../../vision/scene/random.ts";
import { advised, calmShare, follow, random } from "./advice-loop.ts";
import { drawStart } from "./advice-start.ts";

const STARTS = Array.from({ length: 20 }, (_, i) => 5001 + i);

it("brings 20 wrongly set test plants nearer to their best by following the first hint; random changes do not", () => {
  const ends = STARTS.map((seed) => {
    const start = drawStart(randomFrom(seed));
    const end = (way: typeof advised) => {
      const { shares, hints } = follow(start, way, randomFrom(1e6 + seed));
      return { from: shares[0]!, to: shares.at(-1)!, hints: hints.length };
    };
    return { advised: end(advised), drawn: end(random) };
  });
  const reached = (all: readonly { to: number }[], least: number) => all.filter(({ to }) => to >= least).length;
  const told = ends.map((end) => end.advised);
  expect(reached(told, 0.95)).toBeGreaterThanOrEqual(12);
  expect(reached(told, 0.85)).toBeGreaterThanOrEqual(18);
  expect(told.filter(({ from, to }) => to < from - 0.05 * Math.abs(from)).length).toBe(0);
  expect(reached(told, 0.95)).toBeGreaterThan(
    reached(
      ends.map((end) => end.drawn),
      0.95,
    ) + 5,
  );
}, 240_000);

it("leaves plants that stand at their best alone", () => {
  const { changed, readings } = calmShare(25, 3e6);
  expect(readings).toBe(25);
  expect(changed).toBeLessThanOrEqual(3);
}, 120_000);
