import { describe, expect, it } from "vitest";
import { AS_READ, cellsInside, type DeskMarks, deskDraft } from "../../web/desk-draft.ts";

/** A small deck: 60 × 30 cells of 2 mm, all read as light. */
const grid = { mmPerCell: 2, columns: 60, rows: 30 };
const read = new Uint8Array(60 * 30).fill(4);
const marks: DeskMarks = { edges: [{ kind: "dense", edge: "to", atMm: 40 }], patches: [], splittersMm: [35] };
const whole = new Uint8Array(60 * 30).fill(1);
const draft = (onDeck = whole) => deskDraft(grid, read, onDeck, { marks, cells: read });
const count = (cells: Uint8Array, value: number) => cells.filter((one) => one === value).length;

describe("painting", () => {
  it("a dab covers its disc: cells whose middle is within the radius", () => {
    const one = draft();
    one.paintTo([60, 30], 10, 2);
    one.endStroke();
    const area = count(one.cells, 2) * grid.mmPerCell ** 2;
    expect(Math.abs(area / (Math.PI * 10 ** 2) - 1)).toBeLessThan(0.05); // the circle's own area
    expect(read.every((value) => value === 4)).toBe(true);
  });

  it("a quick stroke leaves no gaps, is one step, and is undone to the byte and done again", () => {
    const one = draft();
    one.paintTo([10, 30], 6, 3);
    one.paintTo([110, 30], 6, 3);
    one.endStroke();
    const row = one.cells.subarray(15 * 60 + 4, 15 * 60 + 56);
    expect(row.every((value) => value === 3)).toBe(true);
    const painted = Uint8Array.from(one.cells);
    expect(one.undo()).toBe(true);
    expect(one.cells).toEqual(read);
    expect(one.isPainted()).toBe(false);
    expect(one.redo()).toBe(true);
    expect(one.cells).toEqual(painted);
    expect(one.can()).toEqual({ undo: true, redo: false });
  });

  it("never paints beside the deck, and gives back what was read", () => {
    const left = whole.map((_, i) => (i % 60 < 30 ? 1 : 0));
    const one = draft(left);
    one.paintTo([60, 30], 20, 5);
    one.endStroke();
    expect(one.cells.some((value, i) => value === 5 && i % 60 >= 30)).toBe(false);
    expect(count(one.cells, 5)).toBeGreaterThan(50);
    one.paintTo([60, 30], 30, AS_READ);
    one.endStroke();
    expect(one.isPainted()).toBe(false);
  });
});

describe("edges, patches, splitters", () => {
  const at = (mm: number): DeskMarks => ({ ...marks, edges: [{ kind: "dense", edge: "to", atMm: mm }] });
  it("a drag of many moves is one step; another handle begins another", () => {
    const one = draft();
    for (const mm of [42, 47, 55]) one.setMarks(at(mm), "edges 0");
    one.setMarks({ ...at(55), splittersMm: [50] }, "splitters 0");
    one.settle();
    one.undo();
    expect(one.marks()).toEqual(at(55));
    one.undo();
    expect(one.marks()).toBe(marks);
    expect(one.can()).toEqual({ undo: false, redo: true });
    one.redo();
    one.redo();
    expect(one.marks().splittersMm).toEqual([50]);
  });

  it("steps of all kinds go back in the order in which they were taken; a new one ends what could be done again", () => {
    const one = draft();
    one.setMarks(at(60));
    one.paintTo([60, 30], 8, 2);
    one.endStroke();
    one.setMarks({
      ...at(60),
      patches: [
        {
          outline: [
            [0, 0],
            [9, 0],
            [0, 9],
          ],
        },
      ],
    });
    one.undo();
    expect(one.marks().patches).toEqual([]);
    expect(one.isPainted()).toBe(true);
    one.undo();
    expect(one.isPainted()).toBe(false);
    expect(one.marks().edges[0]!.atMm).toBe(60);
    one.setMarks(at(70));
    expect(one.redo()).toBe(false);
  });

  it("going on from somebody else's correction is one step too", () => {
    const one = draft();
    one.paintTo([20, 20], 8, 2);
    one.endStroke();
    const mine = Uint8Array.from(one.cells);
    one.setAll(at(90), new Uint8Array(1800).fill(3));
    expect(count(one.cells, 3)).toBe(1800);
    one.undo();
    expect(one.cells).toEqual(mine);
    expect(one.marks()).toBe(marks);
  });
});

it("cells inside a closed line: area and even-odd rule", () => {
  const square = cellsInside(grid, [
    [20, 10],
    [80, 10],
    [80, 50],
    [20, 50],
  ]);
  expect(count(square, 1) * 4).toBe(60 * 40);
  // a bow tie: both wings inside, what lies left and right of the crossing is not
  const bow = cellsInside(grid, [
    [20, 10],
    [80, 50],
    [80, 10],
    [20, 50],
  ]);
  expect(bow[20 * 60 + 12]).toBe(1);
  expect(bow[6 * 60 + 25]).toBe(0);
});
