import { beforeAll, describe, expect, it } from "vitest";
import { DICTIONARY, MARK_CELLS, MARK_COUNT, markCells } from "../../../vision/finding/markers.ts";
import { markCorners, viewFromMarks } from "../../../vision/finding/marks-view.ts";
import { describeDeck, fitHomography, loadOpenCv, type OpenCv, type Photo, project } from "../../../vision/index.ts";
import type { Deck } from "../../../vision/stages.ts";
import { floorPhoto, paintMarks, roughen } from "./paint-marks.ts";

let cv: OpenCv;
beforeAll(async () => {
  ({ cv } = await loadOpenCv());
});

const SIZE_MM = 80;
const places: [id: number, x: number, y: number][] = [
  [7, -70, -70],
  [12, 1900, -70],
  [90, 1900, 980],
  [201, -70, 980],
];
const deckWith = (ids: readonly number[], hand: "right" | "left" = "right", turn = 0): Deck =>
  describeDeck({
    schemaVersion: 1,
    lengthMm: 1830,
    widthMm: 910,
    hand,
    marks: {
      dictionary: DICTIONARY,
      items: places
        .filter(([id]) => ids.includes(id))
        .map(([id, x, y]) => ({ id, centre: [x, y], sizeMm: SIZE_MM, turnDegrees: turn })),
    },
  });
const all = [7, 12, 90, 201];
/** An oblique look: the far side about half as large as the near one. */
const seenAt = (hand: "right" | "left"): [number, number][] => {
  const right: [number, number][] = [
    [640, 330],
    [1500, 360],
    [1730, 1190],
    [330, 1100],
  ];
  return hand === "right" ? right : right.map(([x, y]) => [2000 - x, y]);
};
const truth = (hand: "right" | "left" = "right") =>
  fitHomography(
    cv,
    [
      [0, 0],
      [1830, 0],
      [1830, 910],
      [0, 910],
    ],
    seenAt(hand),
  );

function worstMm(view: { photoToDeck: readonly number[] }, deckToPhoto: readonly number[]): number {
  let worst = 0;
  for (const x of [0, 915, 1830]) {
    for (const y of [0, 455, 910]) {
      const [u, v] = project(view.photoToDeck, project(deckToPhoto, [x, y]));
      worst = Math.max(worst, Math.hypot(u - x, v - y));
    }
  }
  return worst;
}
const scene = (
  deck: Deck,
  more: Partial<Parameters<typeof paintMarks>[2]> = {},
  hand: "right" | "left" = "right",
): Photo => roughen(paintMarks(floorPhoto(2000, 1500), deck, { deckToPhoto: truth(hand), ...more }), 4, 5);

describe("the dictionary", () => {
  it("keeps every two marks 12 bits apart in any turn (Garrido-Jurado et al. 2016, Pattern Recognition 51, 481-491)", () => {
    const size = MARK_CELLS - 2;
    const bits = Array.from({ length: MARK_COUNT }, (_, id) =>
      markCells(id).filter((_, i) => {
        const [row, column] = [Math.floor(i / MARK_CELLS), i % MARK_CELLS];
        return row > 0 && column > 0 && row <= size && column <= size;
      }),
    );
    const turned = (b: boolean[]) => b.map((_, i) => b[(size - 1 - (i % size)) * size + Math.floor(i / size)]!);
    const apart = (a: boolean[], b: boolean[]) => a.filter((bit, i) => bit !== b[i]).length;
    let least = 36;
    bits.forEach((a, i) => {
      let b = a;
      for (let turn = 0; turn < 4; turn++) {
        for (let j = turn === 0 ? i + 1 : i; j < bits.length; j++) {
          const other = j === i ? b : turnedBy(bits[j]!, turn, turned);
          least = Math.min(least, apart(a, other));
        }
        b = turned(b);
      }
    });
    expect(MARK_COUNT).toBe(250);
    expect(least).toBe(12);
  });
});
function turnedBy(bits: boolean[], times: number, turned: (b: boolean[]) => boolean[]): boolean[] {
  let b = bits;
  for (let i = 0; i < times; i++) b = turned(b);
  return b;
}

describe("a view from marks", () => {
  it("is right to 3 mm with four marks, and says so", () => {
    const deck = deckWith(all);
    const found = viewFromMarks(cv, scene(deck), deck);
    expect(found?.used).toEqual(all);
    expect(worstMm(found!.view, truth())).toBeLessThan(3);
    expect(found!.view.source).toBe("marks");
    expect(found!.view.errorMm).toBeLessThan(4);
  });

  it("works from two marks, and each further one makes it surer", () => {
    const errors = [[7, 90], [7, 12, 90], all].map((ids) => {
      const deck = deckWith(ids);
      const found = viewFromMarks(cv, scene(deck), deck)!;
      expect(found.used).toEqual(ids);
      expect(worstMm(found.view, truth())).toBeLessThan(3 * found.view.errorMm + 1);
      return found.view.errorMm;
    });
    expect(errors[1]).toBeLessThan(errors[0]!);
    expect(errors[2]).toBeLessThan(errors[1]!);
  });

  it("reads a left-hand deck and turned prints", () => {
    const deck = deckWith(all, "left", 90);
    const found = viewFromMarks(cv, scene(deck, {}, "left"), deck)!;
    expect(found.used).toEqual(all);
    expect(worstMm(found.view, truth("left"))).toBeLessThan(3);
  });

  it("finds prints with sand splashed over a tenth of them", () => {
    const deck = deckWith(all);
    const cover = (_: number, [x, y]: readonly [number, number]) =>
      Math.hypot(x - 8, y + 9) < 10 || Math.hypot(x + 22, y - 20) < 7 || Math.hypot(x + 30, y + 33) < 5
        ? 120
        : undefined;
    const found = viewFromMarks(cv, scene(deck, { cover }), deck)!;
    expect(found.used).toEqual(all);
    expect(worstMm(found.view, truth())).toBeLessThan(3);
  });

  it("finds a print whose corner a hose hides, once the others tell where it lies", () => {
    const deck = deckWith(all);
    const cover = (id: number, [x, y]: readonly [number, number]) => (id === 90 && x + y > 48 ? 200 : undefined);
    const found = viewFromMarks(cv, scene(deck, { cover }), deck)!;
    expect(found.used).toEqual(all);
    expect(worstMm(found.view, truth())).toBeLessThan(3);
  });

  it("names a mark that lies elsewhere than the deck file says, and goes without it", () => {
    const printed = deckWith(all);
    const said = describeDeck({
      ...printed.file,
      marks: {
        dictionary: DICTIONARY,
        items: printed.file.marks!.items.map((m) => (m.id === 12 ? { ...m, centre: [1960, -40] } : m)),
      },
    });
    const found = viewFromMarks(cv, scene(printed), said)!;
    expect(found.misplaced).toEqual([12]);
    expect(found.used).toEqual([7, 90, 201]);
    expect(worstMm(found.view, truth())).toBeLessThan(5);
  });

  it("refuses a deck file with the wrong hand", () => {
    const printed = deckWith(all);
    const said = describeDeck({ ...printed.file, hand: "left" });
    expect(() => viewFromMarks(cv, scene(printed), said)).toThrow(expect.objectContaining({ code: "marks-disagree" }));
  });

  it("says nothing when fewer than two are in the picture, or none are listed", () => {
    const deck = deckWith(all);
    expect(viewFromMarks(cv, floorPhoto(800, 600), deck)).toBeNull();
    expect(viewFromMarks(cv, scene(deckWith([7])), deck)).toBeNull();
    expect(viewFromMarks(cv, scene(deck), describeDeck({ schemaVersion: 1, lengthMm: 1830, widthMm: 910 }))).toBeNull();
  });

  it("names an unknown dictionary", () => {
    const deck = describeDeck({
      schemaVersion: 1,
      lengthMm: 1830,
      widthMm: 910,
      marks: {
        dictionary: "other",
        items: [
          { id: 1, centre: [0, 0], sizeMm: 60 },
          { id: 2, centre: [900, 0], sizeMm: 60 },
        ],
      },
    });
    expect(() => viewFromMarks(cv, floorPhoto(800, 600), deck)).toThrow(expect.objectContaining({ code: "deck-file" }));
  });
});

it("puts a mark's corners where the print lies: top to the wash water, right toward the dense-product end", () => {
  const mark = { id: 1, centre: [100, 50] as [number, number], sizeMm: 20, turnDegrees: 0 };
  expect(markCorners(mark, "right")[0]).toEqual([90, 40]);
  expect(markCorners(mark, "left")[0]).toEqual([110, 40]);
  const [x, y] = markCorners({ ...mark, turnDegrees: 90 }, "right")[0]!; // a quarter clockwise: its top-left goes top-right
  expect(x).toBeCloseTo(110, 9);
  expect(y).toBeCloseTo(40, 9);
});
