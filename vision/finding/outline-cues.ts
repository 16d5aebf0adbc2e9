import { inside, type Pair } from "../geometry.ts";
import { invert, multiply, project, squareTo } from "../homography.ts";
import type { Deck, Photo } from "../stages.ts";
import type { Straights } from "./straight-lines.ts";

/** A phone's main camera: focal length over the picture's diagonal, and the spread of its logarithm (24 to 28 mm on 43.3 mm film; common practice). */
const FOCAL = 0.6;
const FOCAL_SPREAD = 0.08;
/** Other cameras of a phone, zoom and cropped photos: from 13 to 80 mm on film, in steps of the spread; they cost no more than this, as one photo in some fifty each step. */
const FOCAL_STEPS = [-8, 14] as const;
const OTHER_FOCAL = 4;
/** How far the deck's shape may differ from the deck file's: the logarithm of its length over its width, and its corner angle, radians. */
const SHAPE_SPREAD = 0.012;
const ANGLE_SPREAD = 0.015;
/** Without a deck file only a usual shape is known. */
const ASSUMED_SPREAD = 0.25;
/** Colours differ clearly by this much, levels of 255. */
const LIKE_GREY = 14;
/** Where beside a side colours are compared, mm. */
const BESIDE_MM = [14, 30] as const;

/** How unlikely it is that a phone's camera sees this deck so: half the sum of squared misfits, over focal length, shape and angle. */
export function strangeness(
  { width, height }: Photo,
  corners: readonly Pair[],
  fromMain: readonly number[],
  deck: Deck,
): number {
  const centred = corners.map(([x, y]): Pair => [x - width / 2, y - height / 2]);
  const [h0, h1, , h3, h4, , h6, h7] = multiply(squareTo(centred), fromMain) as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  // columns of K⁻¹H: the deck's axes in the camera, equal in length and square to each other (Zhang 2000, PAMI 22, 1330, section 2.3)
  const [aa, bb, ab] = [h0 * h0 + h3 * h3, h1 * h1 + h4 * h4, h0 * h1 + h3 * h4];
  const spread = deck.scale === "deck file" ? SHAPE_SPREAD : ASSUMED_SPREAD;
  let best = Number.POSITIVE_INFINITY;
  for (let step = FOCAL_STEPS[0]; step <= FOCAL_STEPS[1]; step += 0.5) {
    const f2 = (FOCAL * Math.hypot(width, height) * Math.exp(step * FOCAL_SPREAD)) ** 2;
    const [la, lb] = [aa / f2 + h6 * h6, bb / f2 + h7 * h7];
    const shape = (0.5 * Math.log(la / lb)) / spread;
    const angle = Math.asin(Math.max(-1, Math.min(1, (ab / f2 + h6 * h7) / Math.sqrt(la * lb)))) / ANGLE_SPREAD;
    best = Math.min(best, Math.min(OTHER_FOCAL, 0.5 * step * step) + 0.5 * (shape * shape + angle * angle));
  }
  return best;
}

/**
 * Beside each side: does it look like the deck's middle within, and unlike it without? Mean difference of likeness, −1 to 1.
 * Likeness is by the nearest colour found in the middle.
 */
export function colourCue(
  { width, height, rgba }: Photo,
  corners: readonly Pair[],
  fromMain: readonly number[],
  deck: Deck,
): number {
  const toPhoto = multiply(squareTo(corners), fromMain);
  const { lengthMm: l, widthMm: w } = deck;
  const colourAt = (mm: Pair): readonly number[] | null => {
    const [x, y] = project(toPhoto, mm);
    if (!(x >= 0 && y >= 0 && x < width && y < height)) return null;
    const k = 4 * (Math.floor(y) * width + Math.floor(x));
    return [rgba[k]!, rgba[k + 1]!, rgba[k + 2]!];
  };
  const middle: (readonly number[])[] = [];
  for (let i = 0; i < 16; i++) {
    for (let j = 0; j < 10; j++) {
      const colour = colourAt([l * (0.1 + (0.8 * i) / 15), w * (0.12 + (0.76 * j) / 9)]);
      if (colour) middle.push(colour);
    }
  }
  const likeness = (colour: readonly number[] | null) => {
    if (!colour) return 0;
    let least = Number.POSITIVE_INFINITY;
    for (const [r, g, b] of middle as [number, number, number][]) {
      least = Math.min(least, (r - colour[0]!) ** 2 + (g - colour[1]!) ** 2 + (b - colour[2]!) ** 2);
    }
    return Math.exp(-least / (2 * LIKE_GREY ** 2));
  };
  const outline = deck.outline.map(({ x, y }): Pair => [x, y]);
  let [sum, count] = [0, 0];
  outline.forEach((from, i) => {
    const to = outline[(i + 1) % outline.length]!;
    const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
    // the outline runs clockwise in deck coordinates: its inside lies to the right of travel
    const [nx, ny] = [-(to[1] - from[1]) / length, (to[0] - from[0]) / length];
    for (let t = 0.08; t < 0.95; t += 0.06) {
      const [x, y] = [from[0] + (to[0] - from[0]) * t, from[1] + (to[1] - from[1]) * t];
      for (const d of BESIDE_MM) {
        sum += length * (likeness(colourAt([x + nx * d, y + ny * d])) - likeness(colourAt([x - nx * d, y - ny * d])));
        count += length;
      }
    }
  });
  return sum / Math.max(1, count);
}

/**
 * Riffles tell the way round: they run along x, fill the drive end and the low side, and leave the high corner of the
 * dense-product end smooth. Also, people stand on the low side, so the high side is mostly farther up the picture.
 */
export function riffleCue(
  straights: Straights,
  _small: Photo,
  corners: readonly Pair[],
  main: readonly Pair[],
  deck: Deck,
): number {
  const toPhoto = multiply(squareTo(corners), invert(squareTo(main)));
  const riffled = deck.file.riffled?.map(([x, y]): Pair => [x, y]);
  const outline = deck.outline.map(({ x, y }): Pair => [x, y]);
  const sums = { in: 0, inCount: 0, out: 0, outCount: 0 };
  for (let i = 1; i < 48; i++) {
    for (let j = 1; j < 24; j++) {
      const mm: Pair = [(i / 48) * deck.lengthMm, (j / 24) * deck.widthMm];
      if (!inside(outline, mm)) continue;
      const [x, y] = project(toPhoto, mm);
      const [ax, ay] = project(toPhoto, [mm[0] + 10, mm[1]]);
      const energy = straights.alongEnergy(x, y, Math.atan2(ay - y, ax - x));
      const isRiffled = riffled ? inside(riffled, mm) : mm[0] / deck.lengthMm < 0.55 + 0.3 * (mm[1] / deck.widthMm);
      if (isRiffled) {
        sums.in += energy;
        sums.inCount++;
      } else {
        sums.out += energy;
        sums.outCount++;
      }
    }
  }
  const [within, without] = [sums.in / Math.max(1, sums.inCount), sums.out / Math.max(1, sums.outCount)];
  const contrast = (within - without) / (within + without + 1e-6);
  const high = (corners[0]![1] + corners[1]![1]) / 2;
  const low = (corners[2]![1] + corners[3]![1]) / 2;
  return 2.5 * contrast + (high < low ? 0.5 : 0);
}
