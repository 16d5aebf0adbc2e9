import type { QualityIssue } from "../contract/index.ts";
import { fillPolygon, type Pair, signedArea } from "../geometry.ts";
import { invert, project } from "../homography.ts";
import { bend } from "../lens-bulge.ts";
import type { OpenCv } from "../opencv.ts";
import { asMm, asShare, issueOf, said, type Text } from "../said.ts";
import type { Deck, Photo, View } from "../stages.ts";
import { luma, shrink } from "./pixels.ts";
import { blurOf } from "./sharpness.ts";

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
  /** Standard deviation of the blur in its worse direction, mm on the deck. */
  blurMm: { poor: 6, hopeless: 8 },
  /** Blur in one direction so many times that in another is a smear. */
  smearRatio: 2,
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
    /** Standard deviation of the blur along the riffles, that is along the shake; and across them. */
    readonly blurAlongMm: number | null;
    readonly blurAcrossMm: number | null;
  };
}

/** Longest side of the picture whose light is judged, px, and of the one whose edges are. */
const TONES_PX = 800;
const EDGES_PX = 1600;
/** Grey from which a pixel is burnt out in all colours, and up to which it is black. */
const [BURNT, BLACK] = [250, 10];

/** Judge the deck's part of a photo. */
export function judgeFitness(cv: OpenCv, photo: Photo, deck: Deck, view: View): Fitness {
  const small = shrink(cv, photo, TONES_PX);
  const onPhoto = viewer(photo, deck, view);
  const polygon = onPhoto.outline.map(([x, y]): Pair => [x / small.scale, y / small.scale]);
  const mask = fillPolygon(polygon, small.width, small.height);
  const { pixels, ...tones } = tonesOf(small, mask);
  const blur = blurOf(cv, shrink(cv, photo, EDGES_PX), deck, view);
  const measures = {
    ...tones,
    deckShare: pixels / (small.width * small.height),
    inPicture: onPhoto.inPicture,
    mmPerPx: onPhoto.mmPerPx,
    sightDegrees: onPhoto.sightDegrees,
    blurAlongMm: blur.alongMm,
    blurAcrossMm: blur.acrossMm,
  };
  return { ...verdict(measures), measures };
}

/** What the view alone tells. */
function viewer({ width, height }: Photo, deck: Deck, view: View) {
  const deckToPhoto = invert(view.photoToDeck);
  const toPx = (mm: Pair): Pair => bend({ width, height }, view.lens, project(deckToPhoto, mm));
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
  const [inPicture, whole] = [clippedArea(outline, width, height), Math.abs(signedArea(outline))];
  return {
    outline,
    mmPerPx,
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

function tonesOf({ rgba }: Photo, mask: Uint8Array) {
  const counts = new Uint32Array(256);
  let [pixels, burnt, black] = [0, 0, 0];
  for (let i = 0; i < mask.length; i++) {
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
    pixels,
    medianGrey,
    burntShare: burnt / Math.max(1, pixels),
    blackShare: black / Math.max(1, pixels),
  };
}

function verdict(m: Fitness["measures"]): Pick<Fitness, "usable" | "issues"> {
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
  // in what is too dark to see there are no edges
  if (dark === 2) return { usable, issues };
  const known = [m.blurAlongMm, m.blurAcrossMm].filter((mm) => mm !== null);
  if (known.length === 0) {
    if (!dark) tell("blurred", true, said("said.photo.noEdges"));
    return { usable, issues };
  }
  const blurred = high(Math.max(...known), LIMITS.blurMm);
  const oneWay = Math.max(...known) > LIMITS.smearRatio * Math.min(...known);
  if (blurred === 2) {
    tell("blurred", true, said(oneWay ? "said.photo.smeared" : "said.photo.blurred"));
  } else if (blurred) {
    const shaken = oneWay && m.blurAlongMm === Math.max(...known);
    tell(shaken ? "shake-blur" : "blurred", false, said(shaken ? "said.photo.shaken" : "said.photo.blurred"));
  }
  return { usable, issues };
}
