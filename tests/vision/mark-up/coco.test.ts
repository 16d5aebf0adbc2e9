import { expect, it } from "vitest";
import { CocoFile } from "../../../vision/contract/index.ts";
import { fromCoco, toCoco } from "../../../vision/mark-up/coco.ts";
import { PACKED_MASK } from "../../published/coco.ts";

const NOTES = {
  name: "deck.png",
  description: "invented",
  who: "A",
  madeAt: "2031-05-04T13:05:09.000Z",
  licence: "CC0-1.0",
};
const grid = { columns: 9, rows: 6, mmPerCell: 2 };
const mask = Uint8Array.from(PACKED_MASK.rows.join(""), Number);
const file = (segmentation: unknown, name = "dense") =>
  CocoFile.parse({
    images: [{ id: 7, width: 9, height: 6, file_name: "a.png" }],
    categories: [{ id: 3, name }],
    annotations: [{ id: 1, image_id: 7, category_id: 3, segmentation }],
  });

it("packed run lengths are what the COCO tools packed", () => {
  const { labels } = fromCoco(file({ size: [6, 9], counts: PACKED_MASK.counts }), 2);
  expect([...labels]).toEqual([...mask].map((on) => 2 * on));
});

it("what went out comes in the same, with its size on the deck", () => {
  const labels = Uint8Array.from({ length: 54 }, (_, i) => (i * 7 + (i >> 3)) % 6);
  const out = toCoco({ grid, labels }, NOTES);
  expect(fromCoco(CocoFile.parse(JSON.parse(JSON.stringify(out))), 99)).toEqual({ grid, labels });
  const dense = out.annotations.find(({ category_id }) => category_id === 2)!;
  expect(dense.area).toBe(labels.filter((label) => label === 2).length);
});

it("a mask's area and box are those of its cells", () => {
  const out = toCoco({ grid, labels: mask.map((on) => 4 * on) }, NOTES);
  expect(out.annotations).toMatchObject([{ area: PACKED_MASK.area, bbox: [0, 0, 9, 6], category_id: 4 }]);
  expect(out.annotations[0]!.segmentation).toMatchObject({ size: [6, 9] });
});

it("polygons fill the cells whose middle they hold, and leave their holes", () => {
  const outer = [1, 1, 7, 1, 7, 5, 1, 5];
  const { labels } = fromCoco(file([outer, [3, 2, 5, 2, 5, 4, 3, 4]], " Dry "), 2);
  const rows = Array.from({ length: 6 }, (_, y) => [...labels.subarray(9 * y, 9 * y + 9)].join(""));
  expect(rows).toEqual(["000000000", "055555500", "055005500", "055005500", "055555500", "000000000"]);
  expect(fromCoco(file([[-50, -50, 50, -50, 50, 50, -50, 50]]), 2).labels).toEqual(new Uint8Array(54).fill(2));
});

it("names it does not know are left out; masks that do not fill their image, and text that is none, are refused", () => {
  expect(fromCoco(file([[0, 0, 9, 0, 9, 6]], "person"), 2).labels).toEqual(new Uint8Array(54));
  for (const counts of [[1, 2], [0, 55], "~~~", "0"])
    expect(() => fromCoco(file({ size: [6, 9], counts }), 2)).toThrow(expect.objectContaining({ code: "marks-file" }));
  expect(
    CocoFile.safeParse({ ...file([]), images: [{ id: 1, width: 20000, height: 20000, file_name: "" }] }).success,
  ).toBe(false);
});
