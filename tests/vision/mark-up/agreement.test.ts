import { expect, it } from "vitest";
import { classOverlap, edgeAgreement, type Marked } from "../../../vision/mark-up/agreement.ts";
import { bandEdges, stretchesOf } from "../../../vision/mark-up/stretches.ts";
import { BAND_IOU, TWO_SQUARES } from "../../published/overlap.ts";

const marked = (columns: number, rows: number, at: (column: number, row: number) => number, mmPerCell = 2): Marked => ({
  grid: { columns, rows, mmPerCell },
  labels: Uint8Array.from({ length: columns * rows }, (_, i) => at(i % columns, Math.floor(i / columns))),
});
const square = (left: number, side: number) =>
  marked(20, 20, (x, y) => (x >= left && x < left + side && y >= left && y < left + side ? 2 : 1));

it("overlap of two squares is the one counted by hand, either way round", () => {
  const [a, b] = [square(2, TWO_SQUARES.side), square(2 + TWO_SQUARES.slide, TWO_SQUARES.side)];
  expect(classOverlap(a, b).iou.dense).toBeCloseTo(TWO_SQUARES.iou, 12);
  expect(classOverlap(b, a)).toEqual(classOverlap(a, b));
});

it.each(BAND_IOU)("a band of 300 mm slid by what IoU $iou stands for has it", ({ iou, slideMm: [, slide] }) => {
  const cells = (shift: number) => marked(6000, 1, (x) => (x >= 1000 + shift && x < 4000 + shift ? 3 : 1), 0.1);
  expect(classOverlap(cells(0), cells(Math.round(10 * slide))).iou.middling).toBeCloseTo(iou, 3);
});

it("what either does not know is not counted; what nobody has, has no score", () => {
  const half = marked(20, 20, (x) => (x < 10 ? 0 : 4));
  const whole = marked(20, 20, () => 4);
  const { iou, cells, sameShare } = classOverlap(half, whole);
  expect([iou.light, iou.dense, cells, sameShare]).toEqual([1, null, 200, 1]);
  expect(
    classOverlap(
      half,
      marked(20, 20, () => 0),
    ),
  ).toMatchObject({ meanIou: null, sameShare: null, cells: 0 });
});

it("grids of other cell sizes are laid on each other by place", () => {
  const fine = marked(40, 40, (x) => (x < 20 ? 2 : 4), 1);
  expect(
    classOverlap(
      square(0, 0),
      marked(20, 20, () => 1),
    ).meanIou,
  ).toBe(1);
  expect(
    classOverlap(
      fine,
      marked(20, 20, (x) => (x < 10 ? 2 : 4)),
    ).meanIou,
  ).toBe(1);
});

it("edges are paired by side and nearness, and what is over is told", () => {
  const a = [
    { kind: "dense" as const, edge: "from" as const, atMm: 100 },
    { kind: "dense" as const, edge: "to" as const, atMm: 240 },
    { kind: "light" as const, edge: "to" as const, atMm: 900 },
  ];
  const b = [
    { kind: "dense" as const, edge: "to" as const, atMm: 250 },
    { kind: "dense" as const, edge: "from" as const, atMm: 70 },
    { kind: "dense" as const, edge: "from" as const, atMm: 96 },
    { kind: "light" as const, edge: "to" as const, atMm: 1101 },
  ];
  const found = edgeAgreement(a, b);
  expect(found.pairs.map(({ apartMm }) => apartMm)).toEqual([-4, 10]);
  expect([found.onlyA, found.onlyB]).toEqual([[a[2]], [b[1], b[3]]]);
  expect([found.medianMm, found.rmsMm]).toEqual([7, Math.sqrt(58)]);
  expect(edgeAgreement([], b)).toMatchObject({ medianMm: null, rmsMm: null, pairs: [] });
});

it("edges of painted areas lie where they were painted", () => {
  // 400 × 200 mm; product leaves over the right end: 100 mm of dense from 40 mm on, then light to the low corner
  const deck = marked(200, 100, (_, y) => (y >= 20 && y < 70 ? 2 : y >= 70 ? 4 : 1));
  const path = [
    [400, 0],
    [400, 200],
  ] as const;
  expect(bandEdges(stretchesOf(deck.labels, deck.grid, path))).toEqual([
    { kind: "dense", edge: "from", atMm: 40 },
    { kind: "dense", edge: "to", atMm: 140 },
    { kind: "light", edge: "from", atMm: 140 },
  ]);
});
