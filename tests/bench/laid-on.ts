import type { Pair } from "../../vision/geometry.ts";
import { project } from "../../vision/homography.ts";
import { type Deck, type OpenCv, type Photo, viewFromCorners } from "../../vision/index.ts";
import { straighten } from "../../vision/lens-bulge.ts";
import { withMats } from "../../vision/opencv.ts";
import { between, makeNoise, type Random, randomFrom } from "../../vision/scene/random.ts";
import type { Case } from "./cases.ts";

/** Shadow and glare laid on a photo of a deck whose place is known, and blur laid on any. */

/** The photo with a hard shadow of a rail across the deck that takes this share of the light. */
export function withShadow(cv: OpenCv, one: Case, share: number, random: Random): Photo {
  const under = railShadow(one.deck, random);
  // what the sky still lights is a little bluer
  const left = [1 - share * 1.05, 1 - share, 1 - share * 0.92];
  return painted(cv, one, (value, k, at) => (under(at) ? dimmed(value, left[k]!) : value));
}

/** The photo with this share of the deck burnt out, and where, deck mm. */
export function withGlare(cv: OpenCv, one: Case, share: number, random: Random) {
  const burnt = glareOn(one.deck, share, random);
  const photo = painted(cv, one, (value, _, at) => {
    const t = burnt(at);
    return t > 0 ? Math.min(255, value + 400 * t) : value;
  });
  return { photo, hidden: (at: Pair) => burnt(at) > 0 };
}

/** 0 to 1 at a place of the deck, mm. */
type Cover = (at: Pair) => number;

/** Change each colour of each pixel that shows the deck. */
function painted(
  cv: OpenCv,
  { photo, deck, corners }: Case,
  paint: (value: number, k: number, at: Pair) => number,
): Photo {
  const view = viewFromCorners(cv, photo, deck, corners);
  const rgba = photo.rgba.slice();
  for (let y = 0, i = 0; y < photo.height; y++) {
    for (let x = 0; x < photo.width; x++, i += 4) {
      const at = project(view.photoToDeck, straighten(photo, view.lens, [x + 0.5, y + 0.5]));
      if (at[0] < -100 || at[1] < -100 || at[0] > deck.lengthMm + 100 || at[1] > deck.widthMm + 100) continue;
      for (let k = 0; k < 3; k++) rgba[i + k] = paint(rgba[i + k]!, k, at);
    }
  }
  return { ...photo, rgba };
}

/** Less light on a code of 0 to 255: gamma 2.2. */
function dimmed(value: number, left: number): number {
  return value * left ** (1 / 2.2);
}

/** A straight shadow as wide as a seventh to a third of the deck, over it from side to side, sharp at its rims. */
function railShadow({ lengthMm, widthMm }: Deck, random: Random): (at: Pair) => boolean {
  const turn = between(random, -0.6, 0.6);
  const middle = between(random, 0.3, 0.85) * lengthMm;
  const half = between(random, 0.07, 0.17) * lengthMm;
  return ([x, y]) => Math.abs((x - middle) * Math.cos(turn) + (y - widthMm / 2) * Math.sin(turn)) < half;
}

/** Ragged bright spots, more of them until they cover so much of the deck; their middles are burnt out, their rims pale. */
function glareOn({ lengthMm, widthMm }: Deck, share: number, random: Random): Cover {
  const ripples = makeNoise(random);
  const spots: { x: number; y: number; r: number }[] = [];
  let area = 0;
  while (area < share * lengthMm * widthMm) {
    const r = between(random, 0.03, 0.12) * lengthMm;
    spots.push({ x: random() * lengthMm, y: random() * widthMm, r });
    area += Math.PI * r * r;
  }
  return ([x, y]) => {
    const ragged = 0.35 * ripples(x / 40, y / 15);
    return Math.max(0, ...spots.map((s) => 1 + ragged - Math.hypot(x - s.x, y - s.y) / s.r));
  };
}

/** Out of focus by this standard deviation, px. */
export function outOfFocus(cv: OpenCv, photo: Photo, sigmaPx: number): Photo {
  return filtered(cv, photo, (from, to) =>
    cv.GaussianBlur(from, to, new cv.Size(0, 0), sigmaPx, sigmaPx, cv.BORDER_REFLECT),
  );
}

/** Smeared evenly along a line of this length, px; turn in radians from the photo's x axis. */
export function smeared(cv: OpenCv, photo: Photo, longPx: number, turn: number): Photo {
  const size = 2 * Math.ceil(longPx / 2) + 1;
  const kernel = new Float32Array(size * size);
  for (let k = 0; k < 4 * size; k++) {
    const along = ((k + 0.5) / (4 * size) - 0.5) * longPx;
    const [x, y] = [
      Math.round(size / 2 - 0.5 + along * Math.cos(turn)),
      Math.round(size / 2 - 0.5 + along * Math.sin(turn)),
    ];
    kernel[y * size + x]! += 1 / (4 * size);
  }
  return withMats(cv, (own) => {
    const mat = own(cv.matFromArray(size, size, cv.CV_32F, Array.from(kernel)));
    return filtered(cv, photo, (from, to) =>
      cv.filter2D(from, to, -1, mat, new cv.Point(-1, -1), 0, cv.BORDER_REFLECT),
    );
  });
}

type Mat = InstanceType<OpenCv["Mat"]>;
/** Filtered, then the sensor's noise on top, as a camera's. */
function filtered(cv: OpenCv, { width, height, rgba }: Photo, filter: (from: Mat, to: Mat) => void): Photo {
  const soft = withMats(cv, (own) => {
    const [from, to] = [own(new cv.Mat(height, width, cv.CV_8UC4)), own(new cv.Mat())];
    from.data.set(rgba);
    filter(from, to);
    return new Uint8ClampedArray(to.data);
  });
  const random = randomFrom(width);
  return { width, height, rgba: soft.map((value, i) => (i % 4 === 3 ? 255 : value + 6 * (random() + random() - 1))) };
}
