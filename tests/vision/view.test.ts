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
import { HARTLEY_ZISSERMAN_5_2, HECKBERT_1989, HOMOGRAPHY_WORKED } from "../published/homography.ts";

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

describe("a fit to more points than it needs", () => {
  // HARTLEY_ZISSERMAN_5_2: result 5.2 of Hartley & Zisserman (2004), from memory.
  it.each(HARTLEY_ZISSERMAN_5_2)("%i points: RMS residual %d and error %d of the noise", (n, residual, error) => {
    let seed = 12345;
    const uniform = () => {
      seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0; // Numerical Recipes' constants
      return (seed + 0.5) / 2 ** 32;
    };
    const normal = () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
    const truth = [1.2, -0.28, 512, 0.03, 1.14, 388, 2e-5, -3e-5, 1];
    const trials = 400;
    let [residuals, errors] = [0, 0];
    for (let t = 0; t < trials; t++) {
      // Points round two rings: no three in line, which would leave four points without hold.
      const from = Array.from({ length: n }, (_, i): [number, number] => {
        const [angle, far] = [(2 * Math.PI * i) / n, 500 + 200 * (i % 2)];
        return [1000 + far * Math.cos(angle), 600 + far * Math.sin(angle)];
      });
      const exact = from.map((p) => project(truth, p));
      const to = exact.map(([x, y]): [number, number] => [x + normal(), y + normal()]);
      const fit = fitHomography(cv, from, to);
      from.forEach((p, i) => {
        const [x, y] = project(fit, p);
        residuals += (x - to[i]![0]) ** 2 + (y - to[i]![1]) ** 2;
        errors += (x - exact[i]![0]) ** 2 + (y - exact[i]![1]) ** 2;
      });
    }
    // RMS over 2n coordinates and all trials; 400 trials tell it to about 2 %.
    const rms = (sum: number) => Math.sqrt(sum / (trials * n * 2));
    expect(Math.abs(rms(residuals) - residual)).toBeLessThan(0.04);
    expect(Math.abs(rms(errors) - error)).toBeLessThan(0.04);
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
