import { readFile } from "node:fs/promises";
import { beforeAll, describe, expect, it } from "vitest";
import { decode } from "../../../server/decode.ts";
import { bowRms, estimateLens } from "../../../vision/finding/lens.ts";
import { DICTIONARY } from "../../../vision/finding/markers.ts";
import { viewFromMarks } from "../../../vision/finding/marks-view.ts";
import { LENS_ERROR } from "../../../vision/finding/plane-fit.ts";
import { describeDeck, loadOpenCv, type OpenCv, type Photo, project, rectify } from "../../../vision/index.ts";
import { bend, straighten } from "../../../vision/lens-bulge.ts";
import { fitHomography } from "../../../vision/view.ts";
import { floorPhoto, paintMarks } from "./paint-marks.ts";

let cv: OpenCv;
let photo: Photo;
beforeAll(async () => {
  ({ cv } = await loadOpenCv());
  ({ photo } = await decode(await readFile("sample-images/garnet-rill.jpg")));
});

/** The photo as a lens with this term would have taken it. */
function bent({ width, height, rgba }: Photo, lens: number): Photo {
  const out = new Uint8ClampedArray(rgba.length);
  for (let j = 0; j < height; j++) {
    for (let i = 0; i < width; i++) {
      const [x, y] = straighten({ width, height }, lens, [i + 0.5, j + 0.5]);
      const [a, b] = [Math.min(width - 2, Math.max(0, x - 0.5)), Math.min(height - 2, Math.max(0, y - 0.5))];
      const [u, v] = [Math.floor(a), Math.floor(b)];
      const [p, q] = [a - u, b - v];
      const k = 4 * (v * width + u);
      for (let c = 0; c < 4; c++) {
        const [above, below] = [k + c, k + c + 4 * width];
        out[4 * (j * width + i) + c] =
          (1 - q) * ((1 - p) * rgba[above]! + p * rgba[above + 4]!) +
          q * ((1 - p) * rgba[below]! + p * rgba[below + 4]!);
      }
    }
  }
  return { width, height, rgba: out };
}

it("bend undoes straighten", () => {
  const [x, y] = bend(
    { width: 4000, height: 3000 },
    0.05,
    straighten({ width: 4000, height: 3000 }, 0.05, [200, 2800]),
  );
  expect(x).toBeCloseTo(200, 3);
  expect(y).toBeCloseTo(2800, 3);
});

describe("the lens term from straight lines", () => {
  it("is 0 for a rendered photo without bulge, and known to be small", () => {
    const { lens, error } = estimateLens(cv, photo);
    expect(lens).toBe(0);
    expect(error).toBeLessThan(LENS_ERROR);
  });

  it.each([0.02, -0.02])("finds a bulge of %d to within three of its errors, and lines come out straight", (lens) => {
    const found = estimateLens(cv, bent(photo, lens));
    expect(Math.abs(found.lens - lens)).toBeLessThan(3 * found.error);
    expect(found.error).toBeLessThan(LENS_ERROR);
    const size = { width: photo.width, height: photo.height };
    expect(bowRms(size, found.lines, found.lens)).toBeLessThan(1);
    expect(bowRms(size, found.lines, found.lens)).toBeLessThan(0.9 * bowRms(size, found.lines, 0));
  });

  it("stays unknown where there are no lines", () => {
    expect(estimateLens(cv, floorPhoto(900, 700))).toMatchObject({ lens: 0, error: LENS_ERROR });
  });
});

it("marks through a bulging lens: the view carries the term and the flat deck comes out straight", async () => {
  const lens = 0.02;
  const json = async (kind: string) => JSON.parse(await readFile(`sample-images/garnet-rill.${kind}.json`, "utf8"));
  const file = await json("deck");
  const { corners } = await json("corners");
  const [l, w] = [file.lengthMm, file.widthMm];
  const items = (
    [
      [60, 60],
      [l - 60, 60],
      [l - 60, w - 60],
      [60, w - 60],
    ] as [number, number][]
  ).map((centre, id) => ({ id, centre, sizeMm: 70 }));
  const deck = describeDeck({ ...file, marks: { dictionary: DICTIONARY, items } });
  const deckToPhoto = fitHomography(
    cv,
    deck.outline.map(({ x, y }) => [x, y] as [number, number]),
    corners,
  );
  const plain = paintMarks(photo, deck, { deckToPhoto });
  const found = viewFromMarks(cv, bent(plain, lens), deck)!;
  expect(found.view.lens).toBeCloseTo(lens, 2);
  for (const place of [
    [0, 0],
    [l, 0],
    [l, w],
    [0, w],
    [l / 2, w / 2],
    [l / 2, 0],
  ] as [number, number][]) {
    const pixel = bend(photo, lens, project(deckToPhoto, place));
    const [x, y] = project(found.view.photoToDeck, straighten(photo, found.view.lens, pixel));
    expect(Math.hypot(x - place[0], y - place[1])).toBeLessThan(Math.max(3, 3 * found.view.errorMm));
  }
  // the flat deck from the bent photo is the flat deck from the plain one
  const [a, b] = [
    rectify(cv, bent(plain, lens), deck, found.view),
    rectify(cv, plain, deck, viewFromMarks(cv, plain, deck)!.view),
  ];
  let [off, count] = [0, 0];
  for (let i = 0; i < a.rgba.length; i += 4) {
    if (!a.rgba[i + 3] || !b.rgba[i + 3]) continue;
    off += Math.abs(a.rgba[i + 1]! - b.rgba[i + 1]!);
    count++;
  }
  expect(off / count).toBeLessThan(12);
});
