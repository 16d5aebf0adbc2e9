import type { Pair } from "../geometry.ts";
import { project, squareTo } from "../homography.ts";
import type { Photo } from "../stages.ts";

/** How much of what stands round the deck is shown with it, as a share of each side. */
const MARGIN = 0.22;

/**
 * The deck and what stands round it, laid on a square: the first corner top left, the second top right.
 *
 * @param corners  Four, photo pixels, in order round the deck.
 * @returns `size × size × 3`, RGB bytes, the mean of four places a cell; black beyond the photo.
 */
export function squareRound({ width, height, rgba }: Photo, corners: readonly Pair[], size: number): Uint8Array {
  const toPhoto = squareTo(corners);
  const out = new Uint8Array(size * size * 3);
  const share = (k: number) => (k / size) * (1 + 2 * MARGIN) - MARGIN;
  for (let row = 0, i = 0; row < size; row++) {
    for (let column = 0; column < size; column++, i += 3) {
      let [red, green, blue] = [0, 0, 0];
      for (let n = 0; n < 4; n++) {
        const [px, py] = project(toPhoto, [share(column + (n & 1 ? 0.75 : 0.25)), share(row + (n & 2 ? 0.75 : 0.25))]);
        if (!(px >= 0 && py >= 0 && px < width && py < height)) continue;
        const at = 4 * (Math.floor(py) * width + Math.floor(px));
        red += rgba[at]!;
        green += rgba[at + 1]!;
        blue += rgba[at + 2]!;
      }
      out[i] = red / 4;
      out[i + 1] = green / 4;
      out[i + 2] = blue / 4;
    }
  }
  return out;
}
