/**
 * Does a burst tell a deck that runs from one that stands? `npm run bench:strokes [-- FOLDER]`.
 *
 * Each photo becomes seven frames: the hand moves all of it, the deck in it slides along its length to random places of its stroke, the
 * sensor's noise is another each time. What stands round the deck slides over or under its rims as it comes.
 */
import { fillPolygon, type Pair } from "../../vision/geometry.ts";
import { invert, multiply, project, squareTo } from "../../vision/homography.ts";
import { loadOpenCv, mergeBurst, type Photo } from "../../vision/index.ts";
import { bell, type Random, randomFrom } from "../../vision/scene/random.ts";
import { type Case, casesOf } from "./cases.ts";

const FRAMES = 7;
const STROKES_MM = [0, 0, 9, 14, 20];
/** Sd of the hand's shift, px, and turn, radians, and of noise, grey of 0 to 255. */
const [SHIFT_PX, TURN, NOISE] = [5, 0.002, 5];

const { cv } = await loadOpenCv();
const told = { running: { running: 0, stopped: 0, unknown: 0 }, stopped: { running: 0, stopped: 0, unknown: 0 } };
let seed = 0;
for await (const one of casesOf(process.argv[2] ?? "sample-images")) {
  const corners = one.corners.corners.map(([x, y]): Pair => [x, y]);
  if (corners.length !== 4) continue; // `squareTo` takes four
  const line = STROKES_MM.map((strokeMm) => {
    const random = randomFrom(++seed);
    const frames = Array.from({ length: FRAMES }, () => frameOf(one, corners, strokeMm, random));
    const { deckState } = mergeBurst(cv, frames, corners);
    told[strokeMm > 0 ? "running" : "stopped"][deckState]++;
    return `${strokeMm} mm ${deckState}`;
  });
  console.log(`${one.name.padEnd(24)} ${line.join(", ")}`);
}
for (const [is, { running, stopped, unknown }] of Object.entries(told))
  console.log(`${is.padEnd(8)} told running ${running}, stopped ${stopped}, unknown ${unknown}`);

function frameOf({ deck, photo }: Case, corners: readonly Pair[], strokeMm: number, random: Random): Photo {
  const { width, height } = photo;
  const fromMm = multiply(squareTo(corners), invert(squareTo(deck.outline.map(({ x, y }): Pair => [x, y]))));
  const along = (strokeMm / 2) * Math.sin(2 * Math.PI * random());
  const atRest = multiply(multiply(fromMm, [1, 0, -along, 0, 1, 0, 0, 0, 1]), invert(fromMm));
  const slid = fillPolygon(
    corners.map((corner) => project(invert(atRest), corner)),
    width,
    height,
  );
  const [dx, dy, turn] = [SHIFT_PX * bell(random), SHIFT_PX * bell(random), TURN * bell(random)];
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const rgba = new Uint8ClampedArray(photo.rgba.length).fill(255);
  for (let y = 0, i = 0; y < height; y++) {
    for (let x = 0; x < width; x++, i += 4) {
      let at: Pair = [
        c * (x - width / 2) - s * (y - height / 2) + width / 2 + dx,
        s * (x - width / 2) + c * (y - height / 2) + height / 2 + dy,
      ];
      if (slid[Math.floor(at[1]) * width + Math.floor(at[0])]) at = project(atRest, at);
      mixAt(photo, at, rgba, i);
      for (let k = 0; k < 3; k++) rgba[i + k]! += NOISE * bell(random);
    }
  }
  return { width, height, rgba };
}

/** Bilinear; beyond the photo its rim goes on. */
function mixAt({ width, height, rgba }: Photo, [x, y]: Pair, into: Uint8ClampedArray, i: number) {
  const [left, top] = [
    Math.min(width - 2, Math.max(0, Math.floor(x))),
    Math.min(height - 2, Math.max(0, Math.floor(y))),
  ];
  const [u, v] = [Math.min(1, Math.max(0, x - left)), Math.min(1, Math.max(0, y - top))];
  for (let k = 0; k < 3; k++) {
    const j = 4 * (top * width + left) + k;
    const below = j + 4 * width;
    into[i + k] =
      (1 - v) * ((1 - u) * rgba[j]! + u * rgba[j + 4]!) + v * ((1 - u) * rgba[below]! + u * rgba[below + 4]!);
  }
}
