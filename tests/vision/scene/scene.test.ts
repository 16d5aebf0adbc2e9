import { describe, expect, it } from "vitest";
import { describeDeck } from "../../../vision/deck.ts";
import { project, squareTo } from "../../../vision/homography.ts";
import { straighten } from "../../../vision/lens-bulge.ts";
import { photoPlace } from "../../../vision/scene/camera.ts";
import { flatten } from "../../../vision/scene/flatten.ts";
import { classInPhoto, makeScene } from "../../../vision/scene/index.ts";
import { drawPlan } from "../../../vision/scene/plan.ts";
import { randomFrom } from "../../../vision/scene/random.ts";

it("every plan's deck file describes a deck, cut corners and leaning ones too", () => {
  const plans = Array.from({ length: 300 }, (_, seed) => drawPlan(randomFrom(seed)));
  for (const { file, edge } of plans) expect(describeDeck(file).outline).toHaveLength(edge.length);
  expect(plans.filter(({ edge }) => edge.length === 5).length).toBeGreaterThan(20);
});

describe("makeScene", () => {
  const scene = makeScene(11);

  it("gives the same pixels for the same seed, and others for another", () => {
    expect(Buffer.from(makeScene(11).photo.rgba).equals(Buffer.from(scene.photo.rgba))).toBe(true);
    expect(Buffer.from(makeScene(12).photo.rgba).equals(Buffer.from(scene.photo.rgba))).toBe(false);
  });

  it("says where the corners show: camera there and lens back agree", () => {
    const first = scene.outline[0]!;
    const [x, y] = project(
      scene.camera.photoToDeck,
      straighten(scene.camera, scene.camera.lens, photoPlace(scene.camera, first)),
    );
    expect(Math.hypot(x - first[0], y - first[1])).toBeLessThan(0.1);
  });

  it.each([21, 22, 23, 24, 25, 26])(
    "lays bands in the trade's order, seed %i (common practice: dense, middling, light)",
    (seed) => {
      const { truth } = makeScene(seed);
      // mean place of each class down the product end's last tenth and along the low side, from the high corner
      const place = [2, 3, 4].map((k) => {
        let [sum, count] = [0, 0];
        for (let row = 0; row < truth.rows; row++) {
          for (let column = Math.floor(0.5 * truth.columns); column < truth.columns; column++) {
            if (truth.classes[row * truth.columns + column] === k) {
              sum += Math.atan2(row / truth.rows, column / truth.columns - 0.2);
              count++;
            }
          }
        }
        return count > 50 ? sum / count : null;
      });
      const there = place.filter((p): p is number => p !== null);
      expect(there).toEqual([...there].sort((a, b) => a - b));
    },
  );

  it("flattened by its own corners, truth is what the photo shows at each place", () => {
    const flat = flatten(scene, scene.corners, 96, 48);
    let [seen, same] = [0, 0];
    const { lengthMm, widthMm } = scene.deckFile;
    for (let row = 0; row < 48; row++) {
      for (let column = 0; column < 96; column++) {
        const label = flat.classes[row * 96 + column]!;
        if (!label) continue;
        seen++;
        const at = photoPlace(scene.camera, [((column + 0.5) / 96) * lengthMm, ((row + 0.5) / 48) * widthMm]);
        if (classInPhoto(scene, at) === label) same++;
      }
    }
    expect(scene.outline.length).toBe(4);
    expect(seen).toBeGreaterThan(500);
    // a lens term is left in by corners alone, so a few cells at borders differ
    expect(same / seen).toBeGreaterThan(0.9);
  });
});

it("squareTo: the worked case of a unit square onto a trapezium (Heckbert 1989: g = 0, h = 1)", () => {
  const h = squareTo([
    [0, 0],
    [2, 0],
    [1.5, 1],
    [0.5, 1],
  ]);
  expect(h.map((v) => v + 0)).toEqual([2, 1, 0, 0, 2, 0, 0, 1, 1]);
  expect(project(h, [0.5, 0.5])[1]).toBeCloseTo(2 / 3, 9);
});
