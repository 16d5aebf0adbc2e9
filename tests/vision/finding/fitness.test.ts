import { readFile } from "node:fs/promises";
import sharp, { type Sharp } from "sharp";
import { beforeAll, describe, expect, it } from "vitest";
import { decode } from "../../../server/decode.ts";
import { stretches } from "../../../vision/finding/fitness.ts";
import {
  analyse,
  type Deck,
  describeDeck,
  judgeFitness,
  loadOpenCv,
  type OpenCv,
  type Photo,
  project,
  viewFromCorners,
} from "../../../vision/index.ts";
import { HOMOGRAPHY_WORKED } from "../../published/homography.ts";

let cv: OpenCv;
let deck: Deck;
let bytes: Buffer;
let corners: { corners: [number, number][] };
beforeAll(async () => {
  ({ cv } = await loadOpenCv());
  deck = describeDeck(JSON.parse(await readFile("sample-images/garnet-rill.deck.json", "utf8")));
  corners = JSON.parse(await readFile("sample-images/garnet-rill.corners.json", "utf8"));
  bytes = await readFile("sample-images/garnet-rill.jpg");
});
const spoilt = async (how: (image: Sharp) => Sharp): Promise<Photo> =>
  (await decode(await how(sharp(bytes)).jpeg({ quality: 92 }).toBuffer())).photo;
const judge = (photo: Photo, where = corners) => judgeFitness(cv, photo, deck, viewFromCorners(cv, photo, deck, where));
const kinds = (photo: Photo, where = corners) => judge(photo, where).issues.map(({ kind }) => kind);

it("finds nothing wrong with a plain sharp photo", async () => {
  const { usable, issues } = judge(await spoilt((image) => image));
  expect(issues).toEqual([]);
  expect(usable).toBe(true);
});

describe("light", () => {
  it.each([
    [0.2, ["dark"], true],
    [0.05, ["dark"], false],
  ])("times %d is told as %j, usable %j", async (gain, told, usable) => {
    const judged = judge(await spoilt((image) => image.linear(gain, 0)));
    expect(judged.issues.map(({ kind }) => kind)).toEqual(told);
    expect(judged.usable).toBe(usable);
  });
  it("burnt out: refused, with the share", async () => {
    const judged = judge(await spoilt((image) => image.linear(4, 0)));
    expect(judged.usable).toBe(false);
    expect(judged.issues.find(({ kind }) => kind === "burnt")?.share).toBeGreaterThan(0.4);
  });
});

describe("blur", () => {
  // A step blurred by a Gaussian is the normal distribution: Zhuo & Sim (2011), Pattern Recognition 44, 1852-1858, eq. 2.
  it.each([6, 9, 16, 24])("measures steps blurred by %i mm to 15 %", (blurMm) => {
    const [width, height] = [512, 256]; // 2 mm a pixel
    const rgba = new Uint8ClampedArray(width * height * 4);
    for (let i = 0; i < width * height; i++) {
      const grey = 20 + 210 * normalShare((Math.abs((i % 128) - 63.5) - 32) / (blurMm / 2));
      rgba.set([grey, grey, grey, 255], 4 * i);
    }
    const flat = describeDeck({ schemaVersion: 1, lengthMm: 1024, widthMm: 512 });
    const square = {
      corners: [
        [0, 0],
        [512, 0],
        [512, 256],
        [0, 256],
      ] as [number, number][],
    };
    const photo = { width, height, rgba };
    const { blurAlongMm, blurAcrossMm } = judgeFitness(
      cv,
      photo,
      flat,
      viewFromCorners(cv, photo, flat, square),
    ).measures;
    expect(blurAlongMm! / blurMm).toBeGreaterThan(0.85);
    expect(blurAlongMm! / blurMm).toBeLessThan(1.15);
    expect(blurAcrossMm).toBeNull();
  });
  it("out of focus: told, then refused", async () => {
    expect(kinds(await spoilt((image) => image.blur(6)))).toContain("blurred");
    expect(judge(await spoilt((image) => image.blur(25))).usable).toBe(false);
  });
  it("smeared along the riffles: told as the shake's", async () => {
    const [size, turn] = [25, Math.atan2(883.26 - 1113.34, 1860 - 140)];
    const kernel = Array.from({ length: size * size }, (_, i) => {
      const [x, y] = [(i % size) - 12, Math.floor(i / size) - 12];
      return Math.abs(y * Math.cos(turn) - x * Math.sin(turn)) < 0.6 ? 1 : 0;
    });
    const photo = await spoilt((image) => image.convolve({ width: size, height: size, kernel }));
    expect(kinds(photo)).toContain("shake-blur");
  });
});

/** Share of a normal distribution below z: Abramowitz & Stegun (1964), 7.1.26, to 1.5e-7. */
function normalShare(z: number): number {
  const x = Math.abs(z) / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const erf =
    1 -
    ((((1.061405429 * t - 1.453152027) * t + 1.421413741) * t - 0.284496736) * t + 0.254829592) * t * Math.exp(-x * x);
  return z < 0 ? (1 - erf) / 2 : (1 + erf) / 2;
}

describe("framing", () => {
  it("deck cut off: told with the share, refused beyond 40 %", async () => {
    const part = await spoilt((image) => image.extract({ left: 0, top: 0, width: 1700, height: 1500 }));
    const judged = judge(part);
    expect(judged.issues.map(({ kind }) => kind)).toEqual(["cut-off"]);
    expect(judged.issues[0]!.share).toBeGreaterThan(0.015);
    const half = await spoilt((image) => image.extract({ left: 0, top: 0, width: 900, height: 1500 }));
    expect(judge(half).usable).toBe(false);
  });
  it("too far away: few pixels, a small part of the picture", async () => {
    const photo = await spoilt((image) => image.resize(700).extend({ top: 300, bottom: 300, left: 400, right: 400 }));
    const small = { corners: corners.corners.map(([x, y]): [number, number] => [x * 0.35 + 400, y * 0.35 + 300]) };
    expect(kinds(photo, small)).toEqual(expect.arrayContaining(["far", "coarse"]));
  });
  it("too flat an angle", async () => {
    const photo = await spoilt((image) => image.resize(2000, 500, { fit: "fill" }));
    const flat = { corners: corners.corners.map(([x, y]): [number, number] => [x, y / 3]) };
    expect(kinds(photo, flat)).toContain("flat");
  });
});

it("stretches: the published local scale of the worked homography, to 1e-4", () => {
  for (const [mm, [most, least]] of HOMOGRAPHY_WORKED.pxPerMm) {
    const at = (x: number, y: number) => project(HOMOGRAPHY_WORKED.mmToPx, [x, y]);
    const h = 0.001;
    const [px, py] = at(...(mm as [number, number]));
    const [ax, ay] = at(mm[0] + h, mm[1]);
    const [bx, by] = at(mm[0], mm[1] + h);
    const found = stretches([
      [(ax - px) / h, (ay - py) / h],
      [(bx - px) / h, (by - py) / h],
    ]);
    expect(found[0]).toBeCloseTo(most, 3);
    expect(found[1]).toBeCloseTo(least, 3);
  }
});

it("a hopeless photo gives an unusable reading with the reason and what to do, and nothing else", async () => {
  const photo = await spoilt((image) => image.linear(0.05, 0));
  const source = { name: "dark.jpg", sha256: "0".repeat(64), takenAt: null };
  const { reading, classes } = analyse({ cv }, photo, { deck, corners, notes: {}, source });
  expect(classes).toBeNull();
  expect(reading.quality.usable).toBe(false);
  expect(reading.quality.issues[0]!.say).toContain("too dark");
  expect([reading.view, reading.grid, reading.cover, reading.bands]).toEqual([null, null, null, []]);
});
