import type { Pair } from "../geometry.ts";
import { invert, project } from "../view.ts";
import { classInPhoto, type Scene } from "./index.ts";

/**
 * Homography of the unit square's corners (0,0), (1,0), (1,1), (0,1) onto four points.
 * Source: P. Heckbert, Fundamentals of Texture Mapping and Image Warping (1989), section 2.2.3.
 */
export function squareTo([[x0, y0], [x1, y1], [x2, y2], [x3, y3]]: readonly [Pair, Pair, Pair, Pair]): number[] {
  const [dx1, dx2, sx] = [x1 - x2, x3 - x2, x0 - x1 + x2 - x3];
  const [dy1, dy2, sy] = [y1 - y2, y3 - y2, y0 - y1 + y2 - y3];
  const under = dx1 * dy2 - dx2 * dy1;
  const [g, h] = [(sx * dy2 - dx2 * sy) / under, (dx1 * sy - sx * dy1) / under];
  return [x1 - x0 + g * x1, x3 - x0 + h * x3, x0, y1 - y0 + g * y1, y3 - y0 + h * y3, y0, g, h, 1];
}

/**
 * The scene's deck laid flat by given corners, with the truth at the same places, errors of the corners included.
 *
 * @param corners  Where a person or a finder says the four outline corners show, photo pixels.
 * @returns `rows × columns` over the bounding box: RGB bytes (mean of four places a cell), and classes, 0 where the deck is
 *          hidden, outside or burnt out.
 */
export function flatten(scene: Scene, corners: readonly Pair[], columns: number, rows: number) {
  const { lengthMm, widthMm } = scene.deckFile;
  const outline = scene.deckFile.outline ?? [
    [0, 0],
    [lengthMm, 0],
    [lengthMm, widthMm],
    [0, widthMm],
  ];
  const toSquare = invert(squareTo(outline as unknown as [Pair, Pair, Pair, Pair]));
  const toPhoto = squareTo(corners as unknown as [Pair, Pair, Pair, Pair]);
  const { width, height, rgba } = scene.photo;
  const rgb = new Uint8Array(columns * rows * 3);
  const classes = new Uint8Array(columns * rows);
  const sum = [0, 0, 0];
  for (let row = 0, i = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++, i++) {
      const place = (du: number, dv: number) =>
        project(toPhoto, project(toSquare, [((column + du) / columns) * lengthMm, ((row + dv) / rows) * widthMm]));
      const middle = place(0.5, 0.5);
      classes[i] = classInPhoto(scene, middle);
      sum.fill(0);
      for (let n = 0; n < 4; n++) {
        const [px, py] = place(n & 1 ? 0.75 : 0.25, n & 2 ? 0.75 : 0.25);
        const at =
          4 *
          (Math.min(height - 1, Math.max(0, Math.floor(py))) * width +
            Math.min(width - 1, Math.max(0, Math.floor(px))));
        for (let k = 0; k < 3; k++) sum[k]! += rgba[at + k]!;
      }
      if (Math.min(...sum) >= 4 * 250) classes[i] = 0;
      const [x, y] = project(toSquare, [((column + 0.5) / columns) * lengthMm, ((row + 0.5) / rows) * widthMm]);
      const inFrame = middle[0] >= 0 && middle[1] >= 0 && middle[0] < width && middle[1] < height;
      if (inFrame && x >= 0 && y >= 0 && x <= 1 && y <= 1)
        for (let k = 0; k < 3; k++) rgb[3 * i + k] = Math.round(sum[k]! / 4);
    }
  }
  return { rgb, classes };
}
