import { expect, it } from "vitest";
import { edgeMoves } from "../../server/commands/compare.ts";
import { denseBetween } from "./readings.ts";

it("adds the errors of two photos as squares: 3 and 4 make 5", () => {
  const moves = edgeMoves(denseBetween(100, 240, 3), denseBetween(112, 229, 4));
  expect(moves).toEqual([
    { kind: "dense", edge: "from", beforeMm: 100, afterMm: 112, movedMm: 12, errorMm: 5, withinNoise: false },
    { kind: "dense", edge: "to", beforeMm: 240, afterMm: 229, movedMm: -11, errorMm: 5, withinNoise: false },
  ]);
});

it.each([
  [109.9, true],
  [110, false],
])("calls a move to %d mm within noise: %s; the limit is two standard errors", (afterMm, withinNoise) => {
  const [first] = edgeMoves(denseBetween(100, 240, 3), denseBetween(afterMm, 240, 4));
  expect(first?.withinNoise).toBe(withinNoise);
});

it("leaves out an end of the path, which is no edge, and bands seen once only", () => {
  const moves = edgeMoves(denseBetween(0, 240, 3, null), denseBetween(0, 250, 3, null));
  expect(moves.map(({ edge }) => edge)).toEqual(["to"]);
  expect(edgeMoves(denseBetween(0, 240, 3), { ...denseBetween(0, 240, 3), bands: [] })).toEqual([]);
});
