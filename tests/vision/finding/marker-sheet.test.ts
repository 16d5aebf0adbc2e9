import { describe, expect, it } from "vitest";
import { markCells } from "../../../vision/finding/markers.ts";
import { markerSheet, markSvg } from "../../../vision/index.ts";

describe("the sheet of marks", () => {
  const page = markerSheet([0, 1, 2, 3].map((id) => ({ id, sizeMm: 70 })));

  it("is drawn in real millimetres on A4: four marks of 70 mm on one sheet", () => {
    expect(page).toContain('width="210mm" height="297mm" viewBox="0 0 210 297"');
    expect(page).toContain("size: 210mm 297mm");
    expect(page.match(/<section>/g)).toHaveLength(1);
    expect(page.match(/h70v70h-70z/g)).toHaveLength(4);
  });

  it("carries a ruler of 150 mm with a tick each millimetre, and says how to check it", () => {
    expect(page).toContain("M12 275h150");
    const ticks = [...page.matchAll(/M([\d.]+) 275v[\d.]+/g)].map((m) => Number(m[1]));
    expect(ticks).toEqual(Array.from({ length: 151 }, (_, i) => 12 + i));
    expect(page).toContain("100 %");
  });

  it("tells the caution, since marks are fixed beside a moving machine", () => {
    expect(page).toContain("lock out the drive");
  });

  it("opens a new page when one is full, and keeps every mark on the paper", () => {
    const many = markerSheet(Array.from({ length: 9 }, (_, id) => ({ id, sizeMm: 70 })));
    expect(many.match(/<section>/g)).toHaveLength(3);
    for (const [, x, y] of many.matchAll(/M([\d.]+) ([\d.]+)h70v70/g)) {
      expect(Number(x) + 70 + 70 / 8).toBeLessThanOrEqual(210 - 12);
      expect(Number(y) + 70 + 70 / 8).toBeLessThanOrEqual(275);
    }
  });

  it("cuts a white hole for each white cell", () => {
    const holes = markSvg(7, 80).match(/v10h10v-10z/g) ?? [];
    expect(holes).toHaveLength(markCells(7).filter(Boolean).length);
  });

  it.each([
    [250, 70],
    [1, 20],
    [1, 200],
  ])("refuses mark %i of %i mm in words", (id, sizeMm) => {
    expect(() => markerSheet([{ id, sizeMm }])).toThrow(expect.objectContaining({ code: "deck-file" }));
  });
});
