import { ViewError } from "./errors.ts";
import { fillPolygon, type Pair } from "./geometry.ts";
import { invert, project } from "./homography.ts";
import { bend } from "./lens-bulge.ts";
import { type Box, blockMeans, type OpenCv, withMats } from "./opencv.ts";
import { said } from "./said.ts";
import type { Deck, FlatDeck, Grid, Photo, View } from "./stages.ts";

/** Side of a deck cell, mm, as the contract fixes it. */
const MM_PER_CELL = 2;

/** The deck's grid: cell i spans [2i, 2i + 2) mm. */
export function gridOf({ lengthMm, widthMm }: Pick<Deck, "lengthMm" | "widthMm">): Grid {
  return { mmPerCell: MM_PER_CELL, columns: Math.ceil(lengthMm / MM_PER_CELL), rows: Math.ceil(widthMm / MM_PER_CELL) };
}

/** 1 for each cell whose centre is inside the outline, `rows × columns`. */
export function insideOutline(deck: Deck, { mmPerCell, columns, rows }: Grid): Uint8Array {
  const polygon = deck.outline.map(({ x, y }): Pair => [x / mmPerCell, y / mmPerCell]);
  return fillPolygon(polygon, columns, rows);
}

/**
 * Warp the deck out of the photo, so that one cell is the same length everywhere on it.
 *
 * @param photo  RGBA, `height × width × 4` bytes. Not modified.
 * @returns RGBA, `rows × columns × 4` bytes at 2 mm a cell. Alpha 0 where the photo does not show the deck and
 *          outside the outline.
 * @throws {ViewError} `corners-outside` when the photo shows nothing of the deck.
 *
 * Method: homography, bilinear sampling, after averaging whole photo pixels down to about a cell (area averaging), so
 * that fine grain does not alias. Source: Hartley & Zisserman, Multiple View Geometry, 2nd ed. (2004), section 4.1;
 * Wolberg, Digital Image Warping (1990), chapter 6.
 */
export function rectify(cv: OpenCv, photo: Photo, deck: Deck, view: View): FlatDeck {
  const grid = gridOf(deck);
  const { mmPerCell, columns, rows } = grid;
  const deckToPhoto = invert(view.photoToDeck);
  const pxPerMm = scaleAtCentre(deck, deckToPhoto);
  const shrink = Math.max(1, Math.floor(pxPerMm * mmPerCell));
  const box = boundingBox(view, photo, shrink);
  const rgba = withMats(cv, (own) => {
    const source = blockMeans(cv, own, photo, box, shrink);
    // cell centre → photo pixel centre of the shrunk box; OpenCV's origin is a pixel's centre, ours its outer corner
    const cellToSource = (i: number, j: number) => {
      const [x, y] = bend(photo, view.lens, project(deckToPhoto, [(i + 0.5) * mmPerCell, (j + 0.5) * mmPerCell]));
      return [(x - box.left) / shrink - 0.5, (y - box.top) / shrink - 0.5];
    };
    const ends: Pair[] = [
      [0, 0],
      [columns - 1, 0],
      [columns - 1, rows - 1],
      [0, rows - 1],
    ];
    const from = own(cv.matFromArray(4, 1, cv.CV_32FC2, ends.flat()));
    const to = own(
      cv.matFromArray(
        4,
        1,
        cv.CV_32FC2,
        ends.flatMap(([i, j]) => cellToSource(i, j)),
      ),
    );
    const flat = own(new cv.Mat());
    if (view.lens !== 0) {
      const [xs, ys] = [own(new cv.Mat(rows, columns, cv.CV_32F)), own(new cv.Mat(rows, columns, cv.CV_32F))];
      for (let j = 0; j < rows; j++) {
        for (let i = 0; i < columns; i++) {
          const [x, y] = cellToSource(i, j);
          xs.data32F[j * columns + i] = x!;
          ys.data32F[j * columns + i] = y!;
        }
      }
      cv.remap(source, flat, xs, ys, cv.INTER_LINEAR, cv.BORDER_CONSTANT, new cv.Scalar());
      return new Uint8ClampedArray(flat.data);
    }
    const map = own(cv.getPerspectiveTransform(from, to));
    const how = cv.INTER_LINEAR | cv.WARP_INVERSE_MAP;
    cv.warpPerspective(source, flat, map, new cv.Size(columns, rows), how, cv.BORDER_CONSTANT, new cv.Scalar());
    return new Uint8ClampedArray(flat.data); // copied out before the Mat is freed
  });
  const within = insideOutline(deck, grid);
  for (let i = 0; i < within.length; i++) if (!within[i] || rgba[4 * i + 3]! < 255) rgba[4 * i + 3] = 0;
  return { grid, rgba, pxPerMm };
}

/** The photo's part that holds the deck, a few pixels wider, in whole blocks of n × n pixels; what is left of one at the photo's rim is not in it. */
function boundingBox({ cornersPx, lens }: View, { width, height }: Photo, n: number): Box {
  const xs = cornersPx.map((p) => p.x);
  const ys = cornersPx.map((p) => p.y);
  // a bulging lens bows the sides out beyond their corners
  const margin = 8 + Math.ceil(Math.abs(lens) * Math.max(width, height));
  const left = Math.max(0, Math.floor(Math.min(...xs)) - margin);
  const top = Math.max(0, Math.floor(Math.min(...ys)) - margin);
  const right = Math.min(width, Math.ceil(Math.max(...xs)) + margin);
  const bottom = Math.min(height, Math.ceil(Math.max(...ys)) + margin);
  if (right - left < 2 * n || bottom - top < 2 * n) {
    throw new ViewError("corners-outside", said("said.refused.cornersNothing"));
  }
  const whole = (size: number, most: number) => n * Math.min(Math.ceil(size / n), Math.floor(most / n));
  return { left, top, width: whole(right - left, width - left), height: whole(bottom - top, height - top) };
}

/** Photo pixels per mm at the middle of the deck: root of the area ratio there. */
function scaleAtCentre({ lengthMm, widthMm }: Deck, deckToPhoto: readonly number[]): number {
  const middle: Pair = [lengthMm / 2, widthMm / 2];
  const [x, y] = project(deckToPhoto, middle);
  const [ax, ay] = project(deckToPhoto, [middle[0] + 1, middle[1]]);
  const [bx, by] = project(deckToPhoto, [middle[0], middle[1] + 1]);
  return Math.sqrt(Math.abs((ax - x) * (by - y) - (ay - y) * (bx - x)));
}
