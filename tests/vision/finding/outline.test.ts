import { readFile } from "node:fs/promises";
import { beforeAll, describe, expect, it } from "vitest";
import { decode } from "../../../server/decode.ts";
import { findOutline } from "../../../vision/finding/outline.ts";
import { snapCorners } from "../../../vision/finding/snap.ts";
import {
  analyse,
  describeDeck,
  findView,
  loadOpenCv,
  type OpenCv,
  type Photo,
  project,
  viewFromCorners,
} from "../../../vision/index.ts";
import { fitHomography } from "../../../vision/view.ts";
import { floorPhoto, normalFrom, randomFrom, roughen } from "./paint-marks.ts";

let cv: OpenCv;
beforeAll(async () => {
  ({ cv } = await loadOpenCv());
});
const deck = describeDeck({ schemaVersion: 1, lengthMm: 1800, widthMm: 900 });
const outline: [number, number][] = [
  [0, 0],
  [1800, 0],
  [1800, 900],
  [0, 900],
];
/** Seen by a phone of 26 mm (on 43.3 mm film) from the low side, some 45 degrees above the deck. */
const corners = outline.map(([x, y]) => seenFrom([600, 2100, 1500], [880, 450, 0], [x, y, 0]));
function seenFrom(eye: number[], target: number[], place: number[]): [number, number] {
  const minus = (a: number[], b: number[]) => a.map((v, i) => v - b[i]!);
  const dot = (a: number[], b: number[]) => a.reduce((s, v, i) => s + v * b[i]!, 0);
  const unit = (a: number[]) => a.map((v) => v / Math.sqrt(dot(a, a)));
  // x right, y toward the viewer, z up: the picture's right is the deck's x, turned level
  const forward = unit(minus(target, eye));
  const right = unit([-forward[1]!, forward[0]!, 0]);
  const down = [
    -(right[1]! * forward[2]! - right[2]! * forward[1]!),
    -(right[2]! * forward[0]! - right[0]! * forward[2]!),
    -(right[0]! * forward[1]! - right[1]! * forward[0]!),
  ];
  const to = minus(place, eye);
  const f = (26 / 43.3) * Math.hypot(1100, 800);
  const sign = dot(down, [0, 0, -1]) > 0 ? 1 : -1;
  return [550 + (f * dot(to, right)) / dot(to, forward), 400 + (sign * f * dot(to, down)) / dot(to, forward)];
}

/** A pale deck on a floor; dark riffles over the drive end and the low side, as far as `riffleEnd` says. */
function deckPhoto(): Photo {
  const { width, height, rgba } = floorPhoto(1100, 800);
  const toDeck = fitHomography(cv, corners, outline);
  for (let j = 0; j < height; j++) {
    for (let i = 0; i < width; i++) {
      let [sum, count] = [0, 0];
      for (let s = 0; s < 4; s++) {
        const [x, y] = project(toDeck, [i + 0.25 + 0.5 * (s % 2), j + 0.25 + 0.5 * (s >> 1)]);
        if (x < 0 || y < 0 || x > 1800 || y > 900) continue;
        const riffle = x < 1000 + 0.5 * y && (y + 20) % 60 < 14;
        sum += riffle ? 120 : 190;
        count++;
      }
      const k = 4 * (j * width + i);
      for (let c = 0; c < 3; c++) rgba[k + c] = (sum + (4 - count) * rgba[k + c]!) / 4;
    }
  }
  return roughen({ width, height, rgba }, 4, 3, false);
}

describe("the outline found by its edges alone", () => {
  it("is right to 10 mm on a plain deck, the right way round", () => {
    const [best] = findOutline(cv, deckPhoto(), deck)!;
    best!.view.cornersPx.forEach(({ x, y }, i) => {
      const [u, v] = project(fitHomography(cv, corners, outline), [x, y]);
      expect(Math.hypot(u - outline[i]![0], v - outline[i]![1])).toBeLessThan(10);
    });
    expect(best!.view.source).toBe("outline");
  });

  it("finds none where there is none", () => {
    expect(findOutline(cv, floorPhoto(1100, 800), deck)).toBeNull();
    expect(() => findView(cv, floorPhoto(1100, 800), deck, null)).toThrow(
      expect.objectContaining({ code: "corners-missing" }),
    );
  });

  it.each(["black-sand", "dark-ore-dry-patch", "garnet-rill", "copper-scrap-low", "pale-heavy", "sulphide-window"])(
    "%s: the right way round, and no more wrong than it says",
    async (name) => {
      const json = async (kind: string) => JSON.parse(await readFile(`sample-images/${name}.${kind}.json`, "utf8"));
      const { photo } = await decode(await readFile(`sample-images/${name}.jpg`));
      const own = describeDeck(await json("deck"));
      const truth = viewFromCorners(cv, photo, own, await json("corners"));
      const { view } = findOutline(cv, photo, own)![0]!;
      const errors = view.cornersPx.map(({ x, y }, i) => {
        const [u, v] = project(truth.photoToDeck, [x, y]);
        return Math.hypot(u - own.outline[i]!.x, v - own.outline[i]!.y);
      });
      expect(Math.max(...errors)).toBeLessThan(0.15 * own.lengthMm);
      expect(Math.max(...errors)).toBeLessThan(3 * view.errorMm);
    },
  );

  it("is read with a warning that says by how much places may be off", async () => {
    const { photo } = await decode(await readFile("sample-images/dark-ore-dry-patch.jpg"));
    const own = describeDeck(JSON.parse(await readFile("sample-images/dark-ore-dry-patch.deck.json", "utf8")));
    const source = { name: "a.jpg", sha256: "0".repeat(64), takenAt: null };
    const { reading } = analyse({ cv }, photo, { deck: own, corners: null, notes: {}, source });
    expect(reading.quality.usable).toBe(true);
    expect(reading.view?.source).toBe("outline");
    expect(reading.quality.issues.find(({ kind }) => kind === "place")?.say).toMatch(/off by about \d+ mm/);
  });
});

describe("corners drawn to edges", () => {
  it("come nearer to the truth, and say how near", () => {
    const photo = deckPhoto();
    const random = normalFrom(randomFrom(9));
    let [before, after, said] = [0, 0, 0];
    for (let k = 0; k < 10; k++) {
      const set = corners.map(([x, y]): [number, number] => [x + 3 * random(), y + 3 * random()]);
      const snapped = snapCorners(photo, deck, { corners: set, errorPx: 3 });
      corners.forEach(([x, y], i) => {
        before += (set[i]![0] - x) ** 2 + (set[i]![1] - y) ** 2;
        after += (snapped.corners[i]![0] - x) ** 2 + (snapped.corners[i]![1] - y) ** 2;
        said += 2 * snapped.errorPx ** 2;
      });
      expect(snapped.moved).toEqual([true, true, true, true]);
    }
    expect(after).toBeLessThan(before / 9);
    expect(after).toBeLessThan(4 * said);
  });

  it("stay where no edge is", () => {
    const flat = floorPhoto(1100, 800);
    const even = { ...flat, rgba: flat.rgba.map(() => 128) };
    const { corners: stayed, moved, errorPx } = snapCorners(even, deck, { corners, errorPx: 2 });
    expect(stayed).toEqual(corners);
    expect(moved).toEqual([false, false, false, false]);
    expect(errorPx).toBe(2);
  });
});
