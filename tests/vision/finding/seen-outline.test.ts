import { readFileSync } from "node:fs";
import { beforeAll, describe, expect, it } from "vitest";
import { decode } from "../../../server/decode.ts";
import { openEyes } from "../../../server/eyes.ts";
import { project } from "../../../vision/homography.ts";
import { analyse, describeDeck, type Engines, findView, loadOpenCv, type Photo } from "../../../vision/index.ts";
import { makeScene } from "../../../vision/scene/index.ts";

let engines: Required<Engines>;
beforeAll(async () => {
  const [{ cv }, eyes] = await Promise.all([loadOpenCv(), openEyes()]);
  engines = { cv, eyes };
});

/** Scenes that training never sees: even seeds. */
describe.each([1002, 1006, 1012])("scene %i", (seed) => {
  const scene = makeScene(seed);

  it("is found within 4 % of its length by its looks alone, turned right, its hand told", () => {
    const found = findView(engines.cv, scene.photo, describeDeck(null), null, engines.eyes);
    expect(found.view.source).toBe("outline");
    expect(found.deck.hand).toBe(scene.deckFile.hand);
    expect(found.view.orientationConfidence).toBeGreaterThan(0.8);
    const long = Math.hypot(scene.corners[1]![0] - scene.corners[0]![0], scene.corners[1]![1] - scene.corners[0]![1]);
    found.view.cornersPx.forEach(({ x, y }, k) => {
      const [u, v] = scene.corners[k]!;
      expect(Math.hypot(x - u, y - v) / long).toBeLessThan(0.06);
    });
  });

  it("is not read with a deck file of the other hand: it is refused, or a tap asked for", () => {
    const hand = scene.deckFile.hand === "left" ? "right" : "left";
    const { lengthMm, widthMm } = scene.deckFile;
    const wrong = describeDeck({ schemaVersion: 1, lengthMm, widthMm, hand });
    expect(() => findView(engines.cv, scene.photo, wrong, null, engines.eyes)).toThrow(
      expect.objectContaining({ code: expect.stringMatching(/^(corners-hand|turn-unsure)$/) }),
    );
  });
});

it("where the deck's looks do not tell which way round it lies, one tap at its first corner does", () => {
  const scene = makeScene(1002);
  const deck = describeDeck(scene.deckFile);
  const unsure = { ...engines.eyes, seeWayRound: () => new Array<number>(8).fill(1 / 8) };
  const [x, y] = scene.corners[0]!;
  const tap = [x + 0.04 * scene.photo.width, y - 0.04 * scene.photo.height] as const;
  expect(() => findView(engines.cv, scene.photo, deck, null, unsure)).toThrow(
    expect.objectContaining({ code: "turn-unsure" }),
  );
  const { view } = findView(engines.cv, scene.photo, deck, null, unsure, tap);
  const nearest = scene.corners.map(([u, v]) => Math.hypot(view.cornersPx[0]!.x - u, view.cornersPx[0]!.y - v));
  expect(nearest.indexOf(Math.min(...nearest))).toBe(0);
  expect(view.orientationConfidence).toBeGreaterThan(0.8);
});

it("where the deck looks to be of the other hand than its file says, one tap is asked for, and obeyed", () => {
  const scene = makeScene(1002);
  const deck = describeDeck(scene.deckFile);
  /** So sure of the mirror image of what is seen. */
  const mirroring = (sure: number) => ({
    ...engines.eyes,
    seeWayRound: (...asked: Parameters<Required<Engines>["eyes"]["seeWayRound"]>) => {
      const chances = [...engines.eyes.seeWayRound(...asked)];
      const best = chances.indexOf(Math.max(...chances));
      return chances.map((_, k) => (k === best ? 1 - sure : k === (best + 4) % 8 ? sure : 0));
    },
  });
  const code = (code: string) => expect.objectContaining({ code });
  const tap = scene.corners[0]!;
  expect(() => findView(engines.cv, scene.photo, deck, null, mirroring(0.93))).toThrow(code("turn-unsure"));
  const { view } = findView(engines.cv, scene.photo, deck, null, mirroring(0.93), tap);
  const [at] = view.cornersPx;
  expect(Math.hypot(at!.x - tap[0], at!.y - tap[1])).toBeLessThan(0.06 * scene.photo.width);
  expect(() => findView(engines.cv, scene.photo, deck, null, mirroring(0.995))).toThrow(code("corners-hand"));
});

describe("a sample photo, its deck file given", () => {
  it.each(["black-sand", "dark-ore-dry-patch", "garnet-rill", "copper-scrap-low", "sulphide-window"])(
    "%s is found alone to 3 % of its length, and says how far off it may be",
    async (name) => {
      const file = (end: string) => readFileSync(new URL(`../../../sample-images/${name}.${end}`, import.meta.url));
      const deck = describeDeck(JSON.parse(file("deck.json").toString()));
      const { corners } = JSON.parse(file("corners.json").toString());
      const { photo } = await decode(file("jpg"));
      const { view } = findView(engines.cv, photo, deck, null, engines.eyes);
      const off = corners.map((px: [number, number], k: number) => {
        const [x, y] = project(view.photoToDeck, px);
        return Math.hypot(x - deck.outline[k]!.x, y - deck.outline[k]!.y);
      });
      const rms = Math.sqrt(off.reduce((s: number, e: number) => s + e * e, 0) / off.length);
      expect(rms).toBeLessThan(0.03 * deck.lengthMm);
      expect(rms).toBeLessThan(2 * view.errorMm);
    },
  );
});

describe("photos without a deck", () => {
  const noise = (width: number, height: number, value: (x: number, y: number) => number): Photo => {
    const rgba = new Uint8ClampedArray(width * height * 4);
    for (let i = 0; i < width * height; i++) {
      const v = value(i % width, Math.floor(i / width));
      rgba.set([v, v, v, 255], 4 * i);
    }
    return { width, height, rgba };
  };

  it.each([
    ["even grey", noise(900, 700, () => 120)],
    ["stripes", noise(900, 700, (x) => (x % 60 < 30 ? 90 : 160))],
    ["specks", noise(900, 700, (x, y) => 128 + 100 * Math.sin(x * 12.9898 + y * 78.233))],
  ])("%s: an unusable reading that says so and what would help", (_, photo) => {
    const { reading } = analyse(engines, photo, {
      deck: describeDeck(null),
      corners: null,
      notes: {},
      source: { name: "a.jpg", sha256: "0".repeat(64), takenAt: null },
    });
    expect(reading.quality.usable).toBe(false);
    expect(reading.quality.issues[0]!.kind).toBe("no-deck");
    expect(reading.quality.issues[0]!.say).toContain("corners");
    expect(reading.view).toBeNull();
  });

  it.each(["sand-slant", "sand-fault"])("%s, real sand behind glass, is taken for no deck", async (name) => {
    const bytes = readFileSync(new URL(`../../../sample-images/real/${name}.jpg`, import.meta.url));
    const { photo } = await decode(bytes);
    expect(() => findView(engines.cv, photo, describeDeck(null), null, engines.eyes)).toThrow(
      expect.objectContaining({ code: "corners-missing" }),
    );
  });
});
