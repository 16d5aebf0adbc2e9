import type { CornersFile } from "./contract/index.ts";
import { ViewError } from "./errors.ts";
import { type Pair, selfCrossing, signedArea } from "./geometry.ts";
import { invert, multiply, project } from "./homography.ts";
import { type OpenCv, withMats } from "./opencv.ts";
import { asShare, said } from "./said.ts";
import { type Deck, type DeckPoint, deckPoint, type Photo, type PhotoPoint, photoPoint, type View } from "./stages.ts";

/** One standard error of a corner dragged or typed by hand: this share of the photo's longer side, and at least MIN_PX (common practice; two screen pixels on a 2000 px picture). */
const CORNER_SHARE = 0.001;
const MIN_PX = 1;

/**
 * The homography that takes `from` to `to`, row-major, h33 = 1: exact for four pairs, least squares in the
 * coordinates of `to` for more.
 *
 * Method: direct linear transform on normalised points (Hartley & Zisserman, Multiple View Geometry, 2nd ed. (2004),
 * algorithm 4.2), solved by singular values.
 */
export function fitHomography(cv: OpenCv, from: readonly Pair[], to: readonly Pair[]): number[] {
  const [a, b] = [normaliser(from), normaliser(to)];
  const rows = from.flatMap((p, i) => {
    const [x, y] = project(a, p);
    const [u, v] = project(b, to[i]!);
    return [
      [x, y, 1, 0, 0, 0, -u * x, -u * y],
      [0, 0, 0, x, y, 1, -v * x, -v * y],
    ];
  });
  const right = to.flatMap((p) => project(b, p));
  const h = withMats(cv, (own) => {
    const left = own(cv.matFromArray(rows.length, 8, cv.CV_64F, rows.flat()));
    const target = own(cv.matFromArray(rows.length, 1, cv.CV_64F, right));
    const solved = own(new cv.Mat());
    cv.solve(left, target, solved, cv.DECOMP_SVD);
    return [...solved.data64F, 1] as number[];
  });
  const full = multiply(multiply(invert(b), h), a);
  return full.map((value) => value / full[8]!);
}

/** Similarity that moves points to their centroid and scales their mean distance to √2. */
function normaliser(points: readonly Pair[]): number[] {
  const cx = points.reduce((s, p) => s + p[0], 0) / points.length;
  const cy = points.reduce((s, p) => s + p[1], 0) / points.length;
  const spread = points.reduce((s, p) => s + Math.hypot(p[0] - cx, p[1] - cy), 0) / points.length;
  const k = Math.SQRT2 / spread;
  return [k, 0, -k * cx, 0, k, -k * cy, 0, 0, 1];
}

/**
 * The view from corners that a person gave, one for each corner of the deck's outline, in its order.
 *
 * `errorMm` follows from the corners' own uncertainty: each coordinate is moved by one standard error, the homography
 * fitted anew, and the shifts of a mapped point added in quadrature (first-order propagation; Hartley & Zisserman,
 * section 5.2). With more than four corners the misfit of the fit raises that uncertainty where it is the larger.
 *
 * @throws {ViewError} when the corners cannot be a picture of this deck, in words, with what to do.
 */
export function viewFromCorners(cv: OpenCv, photo: Photo, deck: Deck, { corners, errorPx }: CornersFile): View {
  checkCorners(corners, photo, deck);
  const onDeck = deck.outline.map(({ x, y }): Pair => [x, y]);
  const photoToDeck = fitHomography(cv, corners, onDeck);
  const deckToPhoto = invert(photoToDeck);
  const stated = errorPx ?? Math.max(MIN_PX, CORNER_SHARE * Math.max(photo.width, photo.height));
  const misfit = onDeck.reduce((sum, p, i) => {
    const [x, y] = project(deckToPhoto, p);
    return sum + (x - corners[i]![0]) ** 2 + (y - corners[i]![1]) ** 2;
  }, 0);
  const freedom = 2 * corners.length - 8;
  const sigma = freedom > 0 ? Math.max(stated, Math.sqrt(misfit / freedom)) : stated;
  const moved = corners.flatMap((_, i) =>
    [0, 1].map((axis) => {
      const shifted = corners.map(
        (c, j): Pair => (i !== j ? c : axis === 0 ? [c[0] + sigma, c[1]] : [c[0], c[1] + sigma]),
      );
      return fitHomography(cv, shifted, onDeck);
    }),
  );
  const errorAt = ({ x, y }: DeckPoint): [number, number] => {
    const pixel = project(deckToPhoto, [x, y]);
    let [xx, yy] = [0, 0];
    for (const h of moved) {
      const [u, v] = project(h, pixel);
      xx += (u - x) ** 2;
      yy += (v - y) ** 2;
    }
    return [Math.sqrt(xx), Math.sqrt(yy)];
  };
  return {
    source: "corners",
    photoToDeck,
    lens: 0,
    errorMm: rmsOver(deck, errorAt),
    orientationConfidence: 1, // a person said which corner is which
    cornersPx: corners.map(photoPoint),
    errorAt,
  };
}

function rmsOver({ lengthMm, widthMm }: Deck, errorAt: View["errorAt"]): number {
  let sum = 0;
  for (let i = 0; i <= 8; i++) {
    for (let j = 0; j <= 4; j++) {
      const [x, y] = errorAt(deckPoint([(i / 8) * lengthMm, (j / 4) * widthMm]));
      sum += x * x + y * y;
    }
  }
  return Math.sqrt(sum / 45);
}

/** A deck that fills less of the photo than this cannot be read. */
const LEAST_SHARE = 0.01;

function checkCorners(corners: readonly Pair[], photo: Photo, deck: Deck) {
  if (corners.length !== deck.outline.length) {
    throw new ViewError(
      "corners-count",
      said("said.refused.cornersCount", { wanted: deck.outline.length, given: corners.length }),
    );
  }
  const margin = Math.max(photo.width, photo.height);
  if (corners.some(([x, y]) => x < -margin || y < -margin || x > photo.width + margin || y > photo.height + margin)) {
    throw new ViewError("corners-outside", said("said.refused.cornersFar"));
  }
  if (selfCrossing(corners)) {
    throw new ViewError("corners-cross", said("said.refused.cornersCross"));
  }
  const area = signedArea(corners);
  if (Math.abs(area) < LEAST_SHARE * photo.width * photo.height) {
    throw new ViewError("corners-small", said("said.refused.cornersSmall", { share: asShare(LEAST_SHARE) }));
  }
  const [clockwise, expected] = [area > 0, deck.hand === "right"];
  if (clockwise !== expected) {
    throw new ViewError(
      "corners-hand",
      said("said.refused.handCorners", { seen: clockwise ? "right" : "left", stated: deck.hand }),
    );
  }
}

/** Where a photo pixel lies on the deck. */
export function toDeck(view: View, { x, y }: PhotoPoint): DeckPoint {
  return deckPoint(project(view.photoToDeck, [x, y]));
}
