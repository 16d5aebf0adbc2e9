/**
 * Scenes as bytes for training: `node feed.mjs FIRST_SEED STEP` writes records to standard output without end, seeds
 * FIRST_SEED, FIRST_SEED + STEP, …; `train.py` starts one for each core and reads them.
 *
 * A record: flat deck RGB (288 × 576 × 3), classes (288 × 576), small photo RGB (320 × 320 × 3, stretched), the deck with
 * what stands round it laid on a square (96 × 96 × 3), corners (8 float32, shares of the photo's width and height),
 * state (1 running, 0 stopped), hand (1 right, 0 left), two bytes unused.
 */
import { writeSync } from "node:fs";
import { squareRound } from "../finding/way-round.ts";
import { flatten } from "../scene/flatten.ts";
import { makeScene, type Scene } from "../scene/index.ts";
import { bell, between, chance, randomFrom } from "../scene/random.ts";

const COLUMNS = 576;
const ROWS = 288;
const SMALL = 320;
const SQUARE = 96;

const [first = 1, step = 1, count = Number.POSITIVE_INFINITY] = process.argv.slice(2).map(Number);
for (let n = 0; n < count; n++) send(record(first + n * step));

function record(seed: number): Uint8Array {
  const scene = makeScene(seed);
  const random = randomFrom(seed ^ 0x5bd1e995);
  // a person or a finder places corners a little off
  const size = Math.max(scene.photo.width, scene.photo.height);
  const off = chance(random, 0.3) ? 0 : between(random, 0, chance(random, 0.3) ? 0.02 : 0.008) * size;
  const given = scene.corners.map(([x, y]) => [x + off * bell(random), y + off * bell(random)] as const);
  const { rgb, classes } = flatten(scene, given, COLUMNS, ROWS);
  const bytes = new Uint8Array(rgb.length + classes.length + SMALL * SMALL * 3 + SQUARE * SQUARE * 3 + 36);
  bytes.set(rgb, 0);
  bytes.set(classes, rgb.length);
  bytes.set(shrink(scene), rgb.length + classes.length);
  bytes.set(squareRound(scene.photo, given, SQUARE), bytes.length - 36 - SQUARE * SQUARE * 3);
  const tail = new DataView(bytes.buffer, bytes.length - 36);
  scene.corners.forEach(([x, y], k) => {
    tail.setFloat32(8 * k, x / scene.photo.width, true);
    tail.setFloat32(8 * k + 4, y / scene.photo.height, true);
  });
  tail.setUint8(32, scene.work.state === "running" ? 1 : 0);
  tail.setUint8(33, scene.deckFile.hand === "right" ? 1 : 0);
  return bytes;
}

/** The photo stretched to `SMALL × SMALL`, each byte the mean of 2 × 2 places. */
function shrink({ photo: { width, height, rgba } }: Scene): Uint8Array {
  const out = new Uint8Array(SMALL * SMALL * 3);
  for (let row = 0, i = 0; row < SMALL; row++) {
    for (let column = 0; column < SMALL; column++, i++) {
      for (let k = 0; k < 3; k++) {
        let sum = 0;
        for (let n = 0; n < 4; n++) {
          const x = Math.floor(((column + (n & 1 ? 0.75 : 0.25)) / SMALL) * width);
          const y = Math.floor(((row + (n & 2 ? 0.75 : 0.25)) / SMALL) * height);
          sum += rgba[4 * (y * width + x) + k]!;
        }
        out[3 * i + k] = sum / 4;
      }
    }
  }
  return out;
}

function send(bytes: Uint8Array) {
  for (let at = 0; at < bytes.length; ) {
    try {
      at += writeSync(1, bytes, at);
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== "EAGAIN") throw error;
    }
  }
}
