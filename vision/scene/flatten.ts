import type { Pair } from "../geometry.ts";
import { invert, project, squareTo } from "../homography.ts";
import { classInPhoto, type Scene } from "./index.ts";

/**
 * The scene's deck laid flat by given corners, with the truth at the same places, errors of the corners included.
 *
 * @param corners  Where a person or a finder says the four outline corners show, photo pixels.
 * @returns `rows × columns` over the bounding box: RGB bytes (mean of four places a cell), and classes, 0 where the deck is
 *          hidden, outside or burnt out.
 */
export function flatten(scene: Scene, corners: readonly Pair[], columns: number, rows: number) {
  const { lengthMm, widthMm } = scene.deckFile;
  const toSquare = invert(squareTo(scene.outline));
  const toPhoto = squareTo(corners);
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
