import { beforeAll, describe, expect, it } from "vitest";
import { describeDeck } from "../../vision/index.ts";
import { bulged, type Camera, lieOf, onDeck, see, stand, straightened } from "./camera.ts";
import { type Cover, coverDeck, MM_PER_CELL } from "./cover.ts";
import { parsePpm, throughLens } from "./develop.ts";
import { Dice } from "./dice.ts";
import { blank } from "./fields.ts";
import { aboutOf, deckFileOf, splittersOf } from "./papers.ts";
import { plan, type Scenario } from "./scenario.ts";
import { isOnDeck } from "./tables.ts";
import { classesOf, discMean, seenIn } from "./truth.ts";

/** No ray tracer needed: all but the light is checked here. */

const SEEDS = [10, 11];
let made: { scene: Scenario; cover: Cover; ids: Uint8Array }[];
beforeAll(() => {
  made = SEEDS.map((seed) => {
    const scene = plan(seed);
    const cover = coverDeck(scene);
    return { scene, cover, ids: classesOf(cover, scene.table) };
  });
});

describe("truth maps", () => {
  it("have the deck's 2 mm grid and class ids 0 to 5, 0 just off the outline", () => {
    for (const { scene, cover, ids } of made) {
      const { lengthMm, widthMm } = scene.table;
      expect([cover.columns, cover.rows]).toEqual([Math.ceil(lengthMm / 2), Math.ceil(widthMm / 2)]);
      ids.forEach((id, i) => {
        const [x, y] = [((i % cover.columns) + 0.5) * MM_PER_CELL, (Math.floor(i / cover.columns) + 0.5) * MM_PER_CELL];
        if (id > 5 || (id === 0) === isOnDeck(scene.table, x, y)) throw new Error(`class ${id} at ${x}, ${y}`);
      });
    }
  });

  it("name the solid with the largest share where a third of the 20 mm disc is covered, else bare; broken film is dry", () => {
    const scene = plan(3);
    const [columns, rows] = [Math.ceil(scene.table.lengthMm / 2), Math.ceil(scene.table.widthMm / 2)];
    const solids = [blank(columns, rows), blank(columns, rows), blank(columns, rows)] as const;
    const broken = blank(columns, rows);
    for (let y = 0; y < rows; y++) {
      for (let x = 0; x < columns; x++) {
        const i = y * columns + x;
        solids[0].data[i] = x < columns / 3 ? 0.2 : 0;
        solids[1].data[i] = 0.1;
        solids[2].data[i] = x < columns / 3 ? 0 : x < columns / 2 ? 0.24 : 0.22;
        broken.data[i] = y > rows - 40 ? 1 : 0;
      }
    }
    const ids = classesOf(
      { columns, rows, solids, bed: blank(columns, rows), broken, riffle: blank(columns, rows) },
      scene.table,
    );
    const at = (x: number, y: number) => ids[y * columns + Math.round(x * columns)];
    expect([at(0.2, 100), at(0.42, 100), at(0.7, 100), at(0.7, rows - 10)]).toEqual([1, 4, 1, 5]);
  });

  it("average over the disc: one covered cell weighs one in all cells of it", () => {
    const field = blank(41, 41);
    field.data[20 * 41 + 20] = 1;
    const cells = [...Array(41 * 41).keys()].filter((i) => Math.hypot((i % 41) - 20, Math.floor(i / 41) - 20) <= 5);
    const mean = discMean(field, new Uint8Array(41 * 41).fill(1), 5);
    for (const i of [20 * 41 + 20, 20 * 41 + 25, 17 * 41 + 24]) expect(mean.data[i]).toBeCloseTo(1 / cells.length, 6);
    expect(mean.data[20 * 41 + 26]).toBe(0);
  });

  it("hide what is out of the frame, behind something or burnt out, and nothing else", () => {
    const ids = new Uint8Array([2, 2, 2, 2, 0]);
    const rgb = new Uint8Array([9, 9, 9, 250, 251, 255, 249, 255, 255, 9, 9, 9]);
    const toPhoto = (x: number) => [(x - 1) / 2 + 0.5, 0.5] as const;
    const seen = seenIn(ids, 5, { width: 3, height: 1, rgb }, toPhoto, (px) => px > 1);
    expect([...seen]).toEqual([0, 0, 2, 0, 0]);
  });

  it("order the fan: dense nearest the wash water at the product end, light lowest", () => {
    const { cover } = made.find(({ scene }) => scene.fault !== "no middling")!;
    const centre = cover.solids.map((solid) => {
      let [sum, all] = [0, 0];
      for (let y = 0; y < cover.rows; y++) {
        const share = solid.data[y * cover.columns + Math.floor(cover.columns * 0.8)]!;
        sum += y * share;
        all += share;
      }
      return sum / all;
    });
    expect(centre[0]).toBeLessThan(centre[1]!);
    expect(centre[1]).toBeLessThan(centre[2]!);
  });
});

describe("corners", () => {
  const pinhole = (bulge: number): Camera => ({
    width: 1600,
    height: 1200,
    at: [0, 0, 2000],
    forward: [0, 0, -1],
    right: [1, 0, 0],
    down: [0, -1, 0],
    focalPx: 1000,
    bulge,
    elevationDegrees: 90,
    distanceMm: 2000,
    side: "above",
  });

  it("project by similar triangles: 2 m above, 1000 px of focal length, one pixel is 2 mm", () => {
    expect(see(pinhole(0), [200, 100, 0])).toEqual([900, 550]);
  });

  it("lie clockwise in a photo from above for a right-hand deck, and mirrored for a left-hand one", () => {
    for (const hand of ["right", "left"] as const) {
      const table = { ...plan(3).table, hand };
      const corners = table.outline.map(([x, y]) => see(pinhole(0), onDeck(lieOf(table), x, y)));
      const area = corners.reduce((sum, [x, y], i) => {
        const [u, v] = corners[(i + 1) % 4]!;
        return sum + (x * v - u * y) / 2;
      }, 0);
      expect(Math.sign(area)).toBe(hand === "right" ? 1 : -1); // y of pixels runs down: positive is clockwise
    }
  });

  it("go through the bulge and back within a thousandth of a pixel", () => {
    const camera = pinhole(0.012);
    const [x, y] = straightened(camera, bulged(camera, [123.4, 987.6]));
    expect(Math.hypot(x - 123.4, y - 987.6)).toBeLessThan(0.001);
  });

  it("and the traced picture go through the same bulge, though it is traced finer: below a twentieth of a pixel", () => {
    const camera = { ...pinhole(-0.011), width: 300, height: 200 };
    const [width, height] = [315, 210];
    const rgb = new Float32Array(width * height * 3);
    for (let i = 0; i < width * height; i++) {
      rgb[3 * i] = ((i % width) + 0.5) / 1.05; // the place of the photo without bulge that the pixel shows
      rgb[3 * i + 1] = (Math.floor(i / width) + 0.5) / 1.05;
    }
    const photo = throughLens({ width, height, rgb }, camera);
    for (const [x, y] of [
      [20.5, 30.5],
      [150.5, 100.5],
      [271.5, 33.5],
      [40.5, 180.5],
    ] as const) {
      const at = 3 * (Math.floor(y) * 300 + Math.floor(x));
      const [px, py] = bulged(camera, [photo.rgb[at]!, photo.rgb[at + 1]!]);
      expect(Math.hypot(px - x, py - y)).toBeLessThan(0.05);
    }
  });

  it("lie in the frame for every seed, and the deck lies down toward y and up toward x", () => {
    for (let seed = 1; seed <= 40; seed++) {
      const { table, dice } = plan(seed);
      const lie = lieOf(table);
      const camera = stand(dice.on("stand"), table, lie);
      for (const [x, y] of table.outline) {
        const [px, py] = see(camera, onDeck(lie, x, y));
        expect(px > 0 && py > 0 && px < camera.width && py < camera.height).toBe(true);
      }
      expect(lie.y[2]).toBeLessThan(0);
      expect(lie.x[2]).toBeGreaterThanOrEqual(0);
    }
  });
});

it("deck files obey the contract, hand and outline included", () => {
  for (const { scene, cover, ids } of made) {
    const deck = describeDeck(deckFileOf(scene, splittersOf(scene, ids, cover.columns)));
    expect(deck.hand).toBe(scene.table.hand);
    expect(deck.outline.map(({ x, y }) => [x, y])).toEqual(scene.table.outline);
    const about = aboutOf(scene, stand(scene.dice.on("stand"), scene.table, lieOf(scene.table)), ids, 0);
    expect(about.licence).toBe("CC0-1.0");
    expect(Object.values(about.shares).reduce((a, b) => a + b, 0)).toBeCloseTo(1, 2);
  }
});

it("the same seed gives the same picture, the next another", () => {
  expect(
    Buffer.from(coverDeck(plan(SEEDS[0]!)).bed.data.buffer).equals(Buffer.from(made[0]!.cover.bed.data.buffer)),
  ).toBe(true);
  const first = (seed: number) => Array.from({ length: 8 }, () => new Dice(seed, "x").unit());
  for (let seed = 1; seed < 50; seed++) expect(first(seed)).not.toEqual(first(seed + 1));
});

it("reads the ray tracer's 16-bit pictures, comments and all", () => {
  const bytes = Buffer.concat([
    Buffer.from("P6\n# made by\n# day\n1 2\n65535\n"),
    Buffer.from([255, 255, 0, 0, 128, 0, 0, 0, 0, 0, 0, 1]),
  ]);
  const { width, height, rgb } = parsePpm(bytes);
  expect([width, height]).toEqual([1, 2]);
  expect(rgb[0]).toBe(1);
  expect(rgb[5]).toBeCloseTo(1 / 65535, 8);
});
