import type { QualityIssue } from "../contract/index.ts";
import { fillPolygon, type Pair, signedArea } from "../geometry.ts";
import { invert, project } from "../homography.ts";
import { bend, straighten } from "../lens-bulge.ts";
import type { OpenCv } from "../opencv.ts";
import { withMats } from "../opencv.ts";
import { asMm, asShare, issueOf, said, type Text } from "../said.ts";
import type { Deck, Photo, View } from "../stages.ts";
import { luma, shrink } from "./pixels.ts";

/**
 * Is the photo fit to be read? Each property is one number; beyond `poor` it is told, beyond `hopeless` the photo is refused.
 * The limits are common practice, set so that 2 mm cells and bands of some 50 mm come out; none is published for decks.
 */
export const LIMITS = {
  /** Grey in the middle of the deck's pixels, 0 to 255: less is too dark. */
  darkGrey: { poor: 45, hopeless: 18 },
  /** Share of the deck that is burnt out. */
  burntShare: { poor: 0.08, hopeless: 0.4 },
  /** Share of the deck that is black. */
  blackShare: { poor: 0.3, hopeless: 0.8 },
  /** Share of the picture that the deck fills: less is poor. */
  deckShare: { poor: 0.12, hopeless: 0.03 },
  /** Share of the deck that the picture holds: less is poor. */
  inPicture: { poor: 0.985, hopeless: 0.6 },
  /** Length on the deck of one photo pixel at the deck's far side, mm. */
  mmPerPx: { poor: 2.5, hopeless: 7 },
  /** Angle of the line of sight above the deck at its middle, degrees: less is too flat. */
  sightDegrees: { poor: 22, hopeless: 10 },
  /** Standard deviation of the blur of the middle edge, mm on the deck. */
  blurMm: { poor: 3.5, hopeless: 10 },
  /** Blur along the shake, mm, and how many times the blur across it: both beyond these is motion blur. */
  shakeMm: { poor: 2, hopeless: 12 },
  shakeRatio: 1.5,
} as const;

export interface Fitness {
  readonly usable: boolean;
  readonly issues: readonly QualityIssue[];
  /** What was measured; null where the photo gave nothing to measure it by. */
  readonly measures: {
    readonly medianGrey: number;
    readonly burntShare: number;
    readonly blackShare: number;
    readonly deckShare: number;
    readonly inPicture: number;
    readonly mmPerPx: number;
    readonly sightDegrees: number;
    /** Blur across edges that run across the riffles, that is along the shake; and across the riffles. */
    readonly blurAlongMm: number | null;
    readonly blurAcrossMm: number | null;
  };
}

/** Longest side of the picture judged, px: blur that matters on 2 mm cells still shows. */
const JUDGED_PX = 1600;
/** Grey from which a pixel is burnt out in all colours, and up to which it is black. */
const [BURNT, BLACK] = [250, 10];

/** Judge the deck's part of a photo. */
export function judgeFitness(cv: OpenCv, photo: Photo, deck: Deck, view: View): Fitness {
  const small = shrink(cv, photo, JUDGED_PX);
  const onPhoto = viewer(photo, deck, view);
  const polygon = onPhoto.outline.map(([x, y]): Pair => [x / small.scale, y / small.scale]);
  const mask = fillPolygon(polygon, small.width, small.height);
  const { pixels, ...tones } = tonesOf(small, mask);
  const blur = blurOf(cv, small, fillPolygon(wider(polygon), small.width, small.height), onPhoto);
  const measures = {
    ...tones,
    deckShare: pixels / (small.width * small.height),
    inPicture: onPhoto.inPicture,
    mmPerPx: onPhoto.mmPerPx,
    sightDegrees: onPhoto.sightDegrees,
    blurAlongMm: blur.along,
    blurAcrossMm: blur.across,
  };
  return { ...verdict(measures, blur.endsLost), measures };
}

/** A little more than the deck, so that its rims are in: their edges are the surest. */
function wider(polygon: readonly Pair[]): Pair[] {
  const [cx, cy] = [0, 1].map((k) => polygon.reduce((sum, p) => sum + p[k]!, 0) / polygon.length) as [number, number];
  return polygon.map(([x, y]): Pair => [cx + 1.03 * (x - cx), cy + 1.03 * (y - cy)]);
}

/** What the view alone tells. */
function viewer({ width, height }: Photo, deck: Deck, view: View) {
  const deckToPhoto = invert(view.photoToDeck);
  const toPx = (mm: Pair): Pair => bend({ width, height }, view.lens, project(deckToPhoto, mm));
  const toMm = (px: Pair): Pair => project(view.photoToDeck, straighten({ width, height }, view.lens, px));
  const outline = deck.outline.map(({ x, y }) => toPx([x, y]));
  /** Pixels for one mm along x and along y at a place. */
  const steps = ([x, y]: Pair): [Pair, Pair] => {
    const [px, py] = toPx([x, y]);
    const [ax, ay] = toPx([x + 1, y]);
    const [bx, by] = toPx([x, y + 1]);
    return [
      [ax - px, ay - py],
      [bx - px, by - py],
    ];
  };
  const middle: Pair = [deck.lengthMm / 2, deck.widthMm / 2];
  const [most, least] = stretches(steps(middle));
  const mmPerPx = Math.max(
    ...deck.outline.map(({ x, y }) => {
      const [long, short] = stretches(steps([x, y]));
      return 1 / Math.sqrt(long * short);
    }),
  );
  const [, down] = steps(middle);
  const [inPicture, whole] = [clippedArea(outline, width, height), Math.abs(signedArea(outline))];
  return {
    toMm,
    steps,
    outline,
    mmPerPx,
    endsPx: 2 * deck.widthMm * Math.hypot(...down),
    // a plane seen at an angle of elevation e is foreshortened by sin e (weak perspective; Hartley & Zisserman, section 6.3)
    sightDegrees: (Math.asin(Math.min(1, least / most)) * 180) / Math.PI,
    inPicture: whole > 0 ? inPicture / whole : 0,
  };
}

/** Singular values of a 2 × 2 matrix given by its columns, larger first. */
export function stretches([[a, c], [b, d]]: readonly [Pair, Pair]): [number, number] {
  const sum = a * a + b * b + c * c + d * d;
  const det = Math.abs(a * d - b * c);
  const root = Math.sqrt(Math.max(0, sum * sum - 4 * det * det));
  return [Math.sqrt((sum + root) / 2), Math.sqrt(Math.max(0, (sum - root) / 2))];
}

/** Area of the polygon inside the picture. Source: Sutherland & Hodgman (1974), Commun. ACM 17, 32. */
function clippedArea(polygon: readonly Pair[], width: number, height: number): number {
  const sides: ((p: Pair) => number)[] = [(p) => p[0], (p) => width - p[0], (p) => p[1], (p) => height - p[1]];
  let points = [...polygon];
  for (const within of sides) {
    points = points.flatMap((p, i) => {
      const q = points[(i + 1) % points.length]!;
      const [a, b] = [within(p), within(q)];
      const cut: Pair = [p[0] + ((q[0] - p[0]) * a) / (a - b), p[1] + ((q[1] - p[1]) * a) / (a - b)];
      return a >= 0 ? (b >= 0 ? [p] : [p, cut]) : b >= 0 ? [cut] : [];
    });
  }
  return points.length > 2 ? Math.abs(signedArea(points)) : 0;
}

/** Every so many pixels one is looked at for tones, and every so many rows for blur: thousands are left. */
const PIXEL_STEP = 3;
const ROW_STEP = 2;

function tonesOf({ rgba }: Photo, mask: Uint8Array) {
  const counts = new Uint32Array(256);
  let [pixels, burnt, black] = [0, 0, 0];
  for (let i = 0; i < mask.length; i += PIXEL_STEP) {
    if (!mask[i]) continue;
    const [r, g, b] = [rgba[4 * i]!, rgba[4 * i + 1]!, rgba[4 * i + 2]!];
    pixels++;
    counts[Math.round(luma(r, g, b))]!++;
    if (Math.min(r, g, b) >= BURNT) burnt++;
    if (Math.max(r, g, b) <= BLACK) black++;
  }
  let [medianGrey, passed] = [0, 0];
  while (medianGrey < 255 && passed + counts[medianGrey]! < pixels / 2) passed += counts[medianGrey++]!;
  return {
    pixels: pixels * PIXEL_STEP,
    medianGrey,
    burntShare: burnt / Math.max(1, pixels),
    blackShare: black / Math.max(1, pixels),
  };
}

/** Gaussian blur added to compare with, px. */
const REBLUR_PX = 1.2;
/** Only edges this steep, grey for one px after the added blur, count: weaker ones are noise. */
const LEAST_SLOPE = 4;
/** Fewer edges than this tell nothing. */
const FEWEST = 50;
/** A sharp photo shows the deck's two ends; with edges on less than this share of their length, they are smeared away. */
const ENDS_SHOWN = 0.25;

/**
 * Standard deviation of the blur in the deck's picture, mm: the photo is blurred once more; a sharp edge loses much of its slope,
 * a blurred one little: `s = added / √(ratio² − 1)`. The middle one of all edges is taken.
 *
 * Source: Zhuo & Sim (2011), Pattern Recognition 44, 1852-1858, section 3 (from memory).
 */
function blurOf(cv: OpenCv, small: Photo & { scale: number }, mask: Uint8Array, onPhoto: ReturnType<typeof viewer>) {
  const { width, height, scale } = small;
  const { endsPx } = onPhoto;
  const sides = withMats(cv, (own) => {
    const colour = own(new cv.Mat(height, width, cv.CV_8UC4));
    colour.data.set(small.rgba);
    const [grey, grey32, soft] = [own(new cv.Mat()), own(new cv.Mat()), own(new cv.Mat())];
    cv.cvtColor(colour, grey, cv.COLOR_RGBA2GRAY);
    grey.convertTo(grey32, cv.CV_32F);
    cv.GaussianBlur(grey32, soft, new cv.Size(0, 0), REBLUR_PX, REBLUR_PX, cv.BORDER_REFLECT);
    return { sharp: new Float32Array(grey32.data32F), soft: new Float32Array(soft.data32F) };
  });
  // Axes of the deck as they run in each block of the picture, with the pixels for one mm across each family of edges.
  const blocks = new Map<number, ReturnType<typeof axesOf>>();
  const axesAt = (x: number, y: number) => {
    const key = (y >> 5) * 4096 + (x >> 5);
    let axes = blocks.get(key);
    if (!axes) {
      axes = axesOf(onPhoto.steps(onPhoto.toMm([((x | 31) - 15) * scale, ((y | 31) - 15) * scale])), scale);
      blocks.set(key, axes);
    }
    return axes;
  };
  const found: { along: number[]; across: number[] } = { along: [], across: [] };
  const { sharp, soft } = sides;
  const steepness = (i: number) => {
    const [gx, gy] = [soft[i + 1]! - soft[i - 1]!, soft[i + width]! - soft[i - width]!];
    return (gx * gx + gy * gy) / 4;
  };
  for (let y = 2; y < height - 2; y += ROW_STEP) {
    for (let x = 2; x < width - 2; x++) {
      const i = y * width + x;
      if (!mask[i]) continue;
      const gx = (soft[i + 1]! - soft[i - 1]!) / 2;
      const gy = (soft[i + width]! - soft[i - width]!) / 2;
      const steep = gx * gx + gy * gy;
      if (steep < LEAST_SLOPE ** 2) continue;
      const slope = Math.sqrt(steep);
      // only the crest of an edge, where the slope peaks
      const beside = Math.round(gy / slope) * width + Math.round(gx / slope);
      if (steepness(i + beside) > steep || steepness(i - beside) > steep) continue;
      const hx = (sharp[i + 1]! - sharp[i - 1]!) / 2;
      const hy = (sharp[i + width]! - sharp[i - width]!) / 2;
      const ratio = (hx * gx + hy * gy) / steep;
      // central differences over 2 px act as a blur of their own: variance 1/3 (box of 2 px)
      const s2 = ratio > 1.001 ? REBLUR_PX ** 2 / (ratio ** 2 - 1) - 1 / 3 : Number.POSITIVE_INFINITY;
      const s = Math.sqrt(Math.max(0, s2));
      const { acrossY, acrossX, pxPerMmX, pxPerMmY } = axesAt(x, y);
      const u = Math.abs(gx * acrossY[0] + gy * acrossY[1]) / slope;
      const v = Math.abs(gx * acrossX[0] + gy * acrossX[1]) / slope;
      // an edge belongs to the axis it runs across, when clearly so (within some 18 degrees)
      if (u > 0.95 && v < 0.85) found.along.push(s / pxPerMmX);
      else if (v > 0.95 && u < 0.85) found.across.push(s / pxPerMmY);
    }
  }
  const middle = (all: number[]) => {
    if (all.length < FEWEST) return null;
    const value = Float64Array.from(all).sort()[all.length >> 1]!;
    return Number.isFinite(value) ? value : null;
  };
  return {
    along: middle(found.along),
    across: middle(found.across),
    endsLost: found.along.length < ENDS_SHOWN * (endsPx / scale / ROW_STEP) && found.across.length >= FEWEST,
  };
}

/** Unit normals of the images of the deck's axes, and pixels of the small picture for one mm across them. */
function axesOf([[ax, ay], [bx, by]]: readonly [Pair, Pair], scale: number) {
  const [a, b] = [Math.hypot(ax, ay), Math.hypot(bx, by)];
  const acrossX: Pair = [-ay / a, ax / a];
  const acrossY: Pair = [-by / b, bx / b];
  return {
    acrossX,
    acrossY,
    pxPerMmX: Math.abs(ax * acrossY[0] + ay * acrossY[1]) / scale,
    pxPerMmY: Math.abs(bx * acrossX[0] + by * acrossX[1]) / scale,
  };
}

function verdict(m: Fitness["measures"], endsLost: boolean): Pick<Fitness, "usable" | "issues"> {
  const issues: QualityIssue[] = [];
  let usable = true;
  const tell = (kind: string, hopeless: boolean, text: Text, share?: number) => {
    if (hopeless) usable = false;
    issues.push(issueOf(kind, text, share));
  };
  const low = (value: number, { poor, hopeless }: { poor: number; hopeless: number }) =>
    value < hopeless ? 2 : value < poor ? 1 : 0;
  const high = (value: number, { poor, hopeless }: { poor: number; hopeless: number }) =>
    value > hopeless ? 2 : value > poor ? 1 : 0;

  const cut = low(m.inPicture, LIMITS.inPicture);
  if (cut) {
    tell("cut-off", cut === 2, said("said.photo.cutOff", { share: asShare(1 - m.inPicture) }), 1 - m.inPicture);
  }
  const far = low(m.deckShare, LIMITS.deckShare);
  if (far) {
    tell("far", far === 2, said("said.photo.far", { share: asShare(m.deckShare) }), m.deckShare);
  }
  const flat = low(m.sightDegrees, LIMITS.sightDegrees);
  if (flat) {
    tell(
      "flat",
      flat === 2,
      said("said.photo.flat", { angle: { value: Math.round(m.sightDegrees), unit: "degrees" } }),
    );
  }
  const coarse = high(m.mmPerPx, LIMITS.mmPerPx);
  if (coarse) {
    tell("coarse", coarse === 2, said("said.photo.coarse", { pixel: asMm(Math.round(10 * m.mmPerPx) / 10) }));
  }
  const dark = Math.max(low(m.medianGrey, LIMITS.darkGrey), high(m.blackShare, LIMITS.blackShare));
  if (dark) tell("dark", dark === 2, said("said.photo.dark"));
  const burnt = high(m.burntShare, LIMITS.burntShare);
  if (burnt) {
    tell("burnt", burnt === 2, said("said.photo.burnt", { share: asShare(m.burntShare) }), m.burntShare);
  }
  const known = [m.blurAlongMm, m.blurAcrossMm].filter((b) => b !== null);
  if (known.length === 0) {
    if (!dark) tell("blurred", true, said("said.photo.noEdges"));
    return { usable, issues };
  }
  const [along, across] = [m.blurAlongMm ?? 0, m.blurAcrossMm ?? 0];
  const least = Math.min(...known);
  const smeared = along > LIMITS.shakeMm.poor && m.blurAcrossMm !== null && along > LIMITS.shakeRatio * across;
  if (endsLost && !dark && across > LIMITS.shakeMm.poor) {
    tell("blurred", true, said("said.photo.smeared"));
  } else if ((smeared || endsLost) && across < LIMITS.blurMm.poor) {
    tell("shake-blur", along > LIMITS.shakeMm.hopeless, said("said.photo.shaken"));
  } else {
    const soft = high(least, LIMITS.blurMm);
    if (soft) tell("blurred", soft === 2, said("said.photo.blurred"));
  }
  return { usable, issues };
}
