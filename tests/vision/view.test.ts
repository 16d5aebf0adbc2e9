import { beforeAll, describe, expect, it } from "vitest";
import {
  describeDeck,
  fitHomography,
  loadOpenCv,
  type OpenCv,
  type Photo,
  project,
  viewFromCorners,
} from "../../vision/index.ts";
import { deckPoint } from "../../vision/stages.ts";
import { HECKBERT_1989, HOMOGRAPHY_WORKED } from "../published/homography.ts";

let cv: OpenCv;
beforeAll(async () => {
  ({ cv } = await loadOpenCv());
});

const photo: Photo = { width: 4000, height: 3000, rgba: new Uint8ClampedArray(4) };
const deck = describeDeck({ schemaVersion: 1, lengthMm: 2438.4, widthMm: 1219.2 });
const corners = HOMOGRAPHY_WORKED.cornersPx.map(([x, y]): [number, number] => [x, y]);

describe("published homographies", () => {
  it("gives the worked example's matrix and points", () => {
    const h = viewFromCorners(cv, photo, deck, { corners }).photoToDeck;
    h.forEach((value, i) => {
      expect(value / HOMOGRAPHY_WORKED.pxToMm[i]!).toBeCloseTo(1, 6);
    });
    for (const [px, mm] of HOMOGRAPHY_WORKED.pixels) {
      const [x, y] = project(h, px);
      expect(x).toBeCloseTo(mm[0], 4);
      expect(y).toBeCloseTo(mm[1], 4);
    }
  });

  it("gives Heckbert's square", () => {
    const h = fitHomography(cv, HECKBERT_1989.from, HECKBERT_1989.to);
    h.forEach((value, i) => {
      expect(value).toBeCloseTo(HECKBERT_1989.matrix[i]!, 9);
    });
  });

  it("propagates 2 px of corner error to the published spread in mm", () => {
    const { errorAt } = viewFromCorners(cv, photo, deck, { corners, errorPx: 2 });
    for (const [mm, spread] of HOMOGRAPHY_WORKED.spreadMmFor2Px) {
      const [x, y] = errorAt(deckPoint(mm));
      expect(x / spread[0]).toBeCloseTo(1, 1);
      expect(y / spread[1]).toBeCloseTo(1, 1);
    }
  });
});

describe("corners that cannot be this deck", () => {
  const code = (given: [number, number][], hand: "right" | "left" = "right") => {
    try {
      viewFromCorners(cv, photo, describeDeck({ schemaVersion: 1, lengthMm: 2000, widthMm: 1000, hand }), {
        corners: given,
      });
      return "none";
    } catch (error) {
      return (error as { code: string }).code;
    }
  };
  it("are refused, each with its own reason", () => {
    expect(code(corners)).toBe("none");
    expect(code(corners, "left")).toBe("corners-hand");
    expect(code([corners[0]!, corners[2]!, corners[1]!, corners[3]!])).toBe("corners-cross");
    expect(code(corners.slice(0, 3))).toBe("corners-count");
    expect(code(corners.map(([x, y]): [number, number] => [x / 100, y / 100]))).toBe("corners-small");
    expect(code(corners.map(([x, y]): [number, number] => [x + 9000, y]))).toBe("corners-outside");
  });
});
