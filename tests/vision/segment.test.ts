import { beforeAll, expect, it } from "vitest";
import { openEyes } from "../../server/eyes.ts";
import { invert, project } from "../../vision/homography.ts";
import { analyse, type Eyes, loadOpenCv, type OpenCv } from "../../vision/index.ts";
import { type Case, casesOf } from "../bench/cases.ts";

let [cv, eyes] = [] as unknown as [OpenCv, Eyes];
let sample: Case;
beforeAll(async () => {
  ({ cv } = await loadOpenCv());
  eyes = await openEyes();
  for await (const one of casesOf("sample-images")) if (one.name === "black-sand") sample = one;
});

it("a tap says what is there, even where the model takes the deck for something before it", () => {
  const { deck, corners, photo } = sample;
  /** As the networks see it, but for something that hides the left half of the deck. */
  const blind: Eyes = {
    ...eyes,
    lookAt: (flat) => {
      const look = eyes.lookAt(flat);
      const planes = look.planes.slice();
      const cells = look.rows * look.columns;
      for (let i = 0; i < cells; i++) {
        if (i % look.columns < look.columns / 2) for (let k = 0; k < 6; k++) planes[k * cells + i] = k === 5 ? 1 : 0;
      }
      return { ...look, planes };
    },
  };
  const source = { name: "black-sand", sha256: "0".repeat(64), takenAt: null };
  const read = (taps: { at: [number, number]; class: "middling" }[]) =>
    analyse({ cv, eyes: blind }, photo, { deck, corners, notes: { taps }, source });
  const before = read([]);
  const spot = { x: deck.lengthMm / 4, y: deck.widthMm / 2 };
  const tapAt = (x: number, y: number) => {
    const [u, v] = project(invert(before.reading.view!.photoToDeck), [x, y]);
    return read([{ at: [u, v], class: "middling" }]);
  };
  const labelAt = ({ classes }: typeof before) => {
    const { columns, mmPerCell } = classes!.grid;
    return classes!.labels[Math.floor(spot.y / mmPerCell) * columns + Math.floor(spot.x / mmPerCell)];
  };
  expect(labelAt(before)).toBe(0);
  const within = tapAt(spot.x, spot.y);
  expect(labelAt(within)).toBe(3);
  const unseen = ({ reading }: typeof before) => reading.cover!.unseen;
  expect(unseen(before)).toBeGreaterThan(0.4);
  expect(unseen(within)).toBeLessThan(0.05); // what was tapped is no thing, nowhere
  const beside = tapAt(deck.lengthMm / 2 + 8, spot.y);
  expect(unseen(beside)).toBeGreaterThan(0.4); // a tap close to a thing leaves it one
});
