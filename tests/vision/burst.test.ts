import { beforeAll, expect, it } from "vitest";
import { mergeBurst } from "../../vision/burst.ts";
import { loadOpenCv, type OpenCv } from "../../vision/opencv.ts";
import { makeNoise, randomFrom } from "../../vision/scene/random.ts";
import type { Photo } from "../../vision/stages.ts";

/** A burst laid on each other: an invented wall of blotches, a hand that shakes, glints that wander. */

let cv: OpenCv;
beforeAll(async () => {
  ({ cv } = await loadOpenCv());
});

const [WIDTH, HEIGHT] = [480, 360];
const blotch = makeNoise(randomFrom(3));
const fine = makeNoise(randomFrom(4));
const wall = (x: number, y: number) => 110 + 55 * blotch(x / 21, y / 21) + 35 * fine(x / 10, y / 10);
/** The wall seen with the camera moved by (dx, dy) and turned, and a white spot at `glint`. */
function frame({ dx = 0, dy = 0, turn = 0, glint = [-999, -999] as readonly [number, number], see = wall }): Photo {
  const rgba = new Uint8ClampedArray(4 * WIDTH * HEIGHT).fill(255);
  for (let i = 0; i < WIDTH * HEIGHT; i++) {
    const [x, y] = [(i % WIDTH) - WIDTH / 2, Math.floor(i / WIDTH) - HEIGHT / 2];
    const [u, v] = [x * Math.cos(turn) - y * Math.sin(turn) + dx, x * Math.sin(turn) + y * Math.cos(turn) + dy];
    const isGlint = Math.hypot(u - glint[0], v - glint[1]) < 30;
    rgba.fill(isGlint ? 255 : see(u + WIDTH / 2, v + HEIGHT / 2), 4 * i, 4 * i + 3);
  }
  return { width: WIDTH, height: HEIGHT, rgba };
}
const still = frame({});
/** Root mean square difference of grey away from the rims. */
function apart(a: Photo, b: Photo, rim = 24): number {
  let [sum, count] = [0, 0];
  for (let y = rim; y < HEIGHT - rim; y++) {
    for (let x = rim; x < WIDTH - rim; x++, count++) {
      sum += (a.rgba[4 * (y * WIDTH + x)]! - b.rgba[4 * (y * WIDTH + x)]!) ** 2;
    }
  }
  return Math.sqrt(sum / count);
}
const wandering = (i: number) => [-150 + 60 * i, -60 + 25 * i] as const;

it("takes glints that wander away, and lays shaken frames on each other to less than a pixel", () => {
  const shakes = [
    { dx: 0, dy: 0, turn: 0 },
    { dx: 5.3, dy: -3.6, turn: 0.004 },
    { dx: -4.1, dy: 6.2, turn: -0.006 },
    { dx: 2.7, dy: 2.2, turn: 0.003 },
    { dx: -6.4, dy: -1.9, turn: -0.002 },
  ];
  const frames = shakes.map((shake, i) => frame({ ...shake, glint: wandering(i) }));
  const merged = mergeBurst(cv, frames, null);
  expect(merged.frames).toBe(5);
  expect(apart(merged.photo, frame(shakes[merged.onto]!))).toBeLessThan(2);
  expect(apart(frames[0]!, still)).toBeGreaterThan(15); // what one frame's glint does
  expect(apart(frame({ dx: 1 }), still)).toBeGreaterThan(3); // what one pixel off does
  expect(merged.photo.rgba.every((value, i) => i % 4 < 3 || value === 255)).toBe(true);
});

it("is the frame itself for one frame, and for frames that are the same", () => {
  expect(mergeBurst(cv, [still], null)).toEqual({ photo: still, frames: 1, onto: 0, deckState: "unknown" });
  const merged = mergeBurst(cv, [still, still, still], null);
  expect(merged.frames).toBe(3);
  expect(apart(merged.photo, still)).toBeLessThan(1);
});

it("leaves out a frame of something else, and one that was shaken", () => {
  const other = makeNoise(randomFrom(9));
  const elsewhere = frame({ see: (x, y) => 110 + 80 * other(x / 8, y / 8) });
  const shaken = frame({ see: (x, y) => [-9, -6, -3, 0, 3, 6, 9].reduce((sum, s) => sum + wall(x + s, y), 0) / 7 });
  const frames = [still, frame({ dx: 3 }), elsewhere, shaken, frame({ dy: 2 })];
  expect(mergeBurst(cv, frames, null).frames).toBe(3);
});

it("goes by the deck where it is given: its surroundings may move otherwise", () => {
  // the middle of the picture is a deck that shakes by 4 px, round it stands the floor
  const onDeck = (x: number, y: number) => x > 90 && x < 390 && y > 70 && y < 290;
  const floor = makeNoise(randomFrom(12));
  const rig = (shift: number) => (x: number, y: number) =>
    onDeck(x, y) ? wall(x + shift, y) : 110 + 60 * floor(x / 14, y / 14);
  const frames = [0, 4, -4, 4, -4].map((shift) => frame({ see: rig(shift) }));
  const deck = [
    [90, 70],
    [390, 70],
    [390, 290],
    [90, 290],
  ] as const;
  const away = (deckOf: typeof deck | null) => {
    const { photo, frames: used, onto } = mergeBurst(cv, frames, deckOf);
    return { used, off: apart(photo, frames[onto]!, 110) };
  };
  expect(away(deck)).toMatchObject({ used: 5 });
  expect(away(deck).off).toBeLessThan(3);
  expect(away(null).off).toBeGreaterThan(4);
});

it("tells a deck that shakes against its surroundings from one that stands, whatever the hand does", () => {
  // a deck of 300 px shakes along its length by 1 % of it; the hand moves the whole picture
  const onDeck = (x: number, y: number) => x > 90 && x < 390 && y > 90 && y < 270;
  const floor = makeNoise(randomFrom(12));
  const rig = (along: number, down: number) => (x: number, y: number) =>
    onDeck(x - along, y - down) ? wall(x - along, y - down) : 110 + 60 * floor(x / 14, y / 14);
  const deck = [
    [90, 90],
    [390, 90],
    [390, 270],
    [90, 270],
  ] as const;
  const hand = [
    { dx: 0, dy: 0 },
    { dx: 4.4, dy: -3.1 },
    { dx: -2.6, dy: 3.7 },
    { dx: 3.2, dy: 1.5 },
    { dx: -4.1, dy: -2.2 },
  ];
  const stateOf = (shakes: readonly number[], way: readonly [number, number], deckOf: typeof deck | null = deck) =>
    mergeBurst(
      cv,
      hand.map((shake, i) => frame({ ...shake, see: rig(shakes[i]! * way[0], shakes[i]! * way[1]) })),
      deckOf,
    ).deckState;
  const stroke = [0, 1.5, -1.4, 0.8, -0.6];
  expect(stateOf(stroke, [1, 0])).toBe("running");
  expect(stateOf([0, 0, 0, 0, 0], [1, 0])).toBe("stopped");
  // no deck shakes across its riffles: something else moved
  expect(stateOf(stroke, [0, 1])).toBe("unknown");
  expect(stateOf(stroke, [1, 0], null)).toBe("unknown");
});

it("refuses no frames, and frames of different sizes", () => {
  expect(() => mergeBurst(cv, [], null)).toThrow(RangeError);
  expect(() => mergeBurst(cv, [still, { ...still, width: 10 }], null)).toThrow(RangeError);
});
