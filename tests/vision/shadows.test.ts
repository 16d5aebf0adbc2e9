import { beforeAll, expect, it } from "vitest";
import { openEyes } from "../../server/eyes.ts";
import type { Pair } from "../../vision/geometry.ts";
import {
  analyse,
  type Eyes,
  findView,
  loadOpenCv,
  type OpenCv,
  type Photo,
  project,
  readOutlet,
  snapCorners,
  viewFromCorners,
} from "../../vision/index.ts";
import { randomFrom } from "../../vision/scene/random.ts";
import { type Case, casesOf } from "../bench/cases.ts";
import { withGlare, withShadow } from "../bench/laid-on.ts";
import { edgesOf, matchEdges, percentile } from "../bench/scores.ts";

/** Shadow and glare on sample photos; `npm run bench:fall` does it to all of them. */

let [cv, eyes] = [] as unknown as [OpenCv, Eyes];
const cases: Case[] = [];
beforeAll(async () => {
  ({ cv } = await loadOpenCv());
  eyes = await openEyes();
  for await (const one of casesOf("sample-images")) if (/^(black-sand|night-tin)/.test(one.name)) cases.push(one);
});

function read({ name, deck, corners }: Case, photo: Photo) {
  const source = { name, sha256: "0".repeat(64), takenAt: null };
  const { classes, reading } = analyse({ cv, eyes }, photo, { deck, corners, notes: {}, source });
  return { edges: edgesOf(readOutlet(classes!, deck, viewFromCorners(cv, photo, deck, corners)).stretches), reading };
}

it("a hard shadow across the deck moves the outlet's edges by some mm at most", () => {
  const matches = cases.flatMap((one, i) => {
    const shaded = withShadow(cv, one, 0.33, randomFrom(i + 1));
    return matchEdges(read(one, one.photo).edges, read(one, shaded).edges).matches;
  });
  const found = matches.filter(({ offMm }) => offMm !== null);
  expect(matches.length).toBeGreaterThan(8);
  expect(found.length).toBeGreaterThan(0.8 * matches.length);
  expect(percentile(found, 0.5)).toBeLessThan(8);
});

it("a hard shadow moves no corner by more than 1 % of the deck's length; found alone, where that says it may be off more, by no more than that", () => {
  for (const [i, one] of cases.entries()) {
    const shaded = withShadow(cv, one, 0.33, randomFrom(i + 1));
    const toDeck = viewFromCorners(cv, one.photo, one.deck, one.corners).photoToDeck;
    const moved = (a: readonly Pair[], b: readonly Pair[]) =>
      Math.max(...a.map((px, k) => Math.hypot(...sub(project(toDeck, px), project(toDeck, b[k]!)))));
    const limit = 0.01 * one.deck.lengthMm;
    const alone = (photo: Photo) => {
      const { cornersPx, errorMm } = findView(cv, photo, one.deck, null, eyes).view;
      return { corners: cornersPx.map(({ x, y }): Pair => [x, y]), errorMm };
    };
    const [plain, dark] = [alone(one.photo), alone(shaded)];
    expect(moved(plain.corners, dark.corners)).toBeLessThan(Math.max(limit, Math.min(plain.errorMm, dark.errorMm)));
    const set = { corners: one.corners.corners.map(([x, y]): [number, number] => [x + 3, y - 3]), errorPx: 4 };
    const drawn = (photo: Photo) => snapCorners(photo, one.deck, set).corners;
    expect(moved(drawn(one.photo), drawn(shaded))).toBeLessThan(limit);
  }
});
const sub = ([a, b]: Pair, [c, d]: Pair): Pair => [a - c, b - d];

it("burnt-out glare is unseen, and filled by nothing", () => {
  const [one] = cases as [Case];
  const { photo } = withGlare(cv, one, 0.15, randomFrom(5));
  const [before, after] = [read(one, one.photo).reading, read(one, photo).reading];
  const share = after.cover!.unseen - before.cover!.unseen;
  expect(share).toBeGreaterThan(0.03);
  expect(share).toBeLessThan(0.2);
  expect(after.quality.issues.map(({ kind }) => kind)).toContain("glare");
});
