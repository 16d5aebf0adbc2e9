import { squareRound } from "../finding/way-round.ts";
import type { Pair } from "../geometry.ts";
import type { Photo } from "../stages.ts";
import { classifier, loadNetwork, uNet, type WeightList } from "./network.ts";

/** Side of the stretched photo it takes, and of the planes it gives. */
const PHOTO = 320;
const PLANE = 160;
const SQUARE = 96;
export const OUTLINE_INTAKE = { rows: PHOTO, columns: PHOTO, channels: 3 };
export const OUTLINE_BODY = uNet([24, 48, 96, 160, 192]);
export const WAY_INTAKE = { rows: SQUARE, columns: SQUARE, channels: 3 };

/** What the network makes of a photo: chances at `size × size` places over the stretched photo. */
export interface DeckLook {
  readonly size: number;
  /** That each of the outline's four corners, in its order, lies there. */
  readonly corners: readonly Float32Array[];
  /** That the deck, or one of its sides, shows there. */
  readonly deck: Float32Array;
  readonly sides: Float32Array;
}
export interface DeckEyes {
  readonly seeDeck: (photo: Photo) => DeckLook;
  /**
   * The chance of each way round: that the quadrilateral's corners, in their order, are the outline's from its corner k on,
   * turned the same way (k) or the other way (4 + k).
   */
  readonly seeWayRound: (photo: Photo, corners: readonly Pair[]) => number[];
}

/** Build both networks once. @param weights  float16 numbers in each list's order. */
export function loadDeckEyes(
  outline: { list: WeightList; weights: Uint16Array },
  wayRound: { list: WeightList; weights: Uint16Array },
): DeckEyes {
  const seeOutline = loadNetwork(OUTLINE_INTAKE, OUTLINE_BODY, outline.list, outline.weights);
  const seeSquare = loadNetwork(WAY_INTAKE, classifier, wayRound.list, wayRound.weights);
  return {
    seeDeck(photo) {
      const logits = seeOutline(stretched(photo));
      const plane = (k: number) =>
        Float32Array.from({ length: PLANE * PLANE }, (_, i) => 1 / (1 + Math.exp(-logits[6 * i + k]!)));
      return { size: PLANE, corners: [0, 1, 2, 3].map(plane), deck: plane(4), sides: plane(5) };
    },
    seeWayRound(photo, corners) {
      const bytes = squareRound(photo, corners, SQUARE);
      const logits = seeSquare(Float32Array.from(bytes, (byte) => byte / 255 - 0.5));
      const most = Math.max(...logits);
      const weights = Array.from(logits, (logit) => Math.exp(logit - most));
      const total = weights.reduce((a, b) => a + b, 0);
      return weights.map((weight) => weight / total);
    },
  };
}

/** The photo less a half, stretched to `PHOTO × PHOTO`: each place the mean of 2 × 2 of the photo's pixels. */
function stretched({ width, height, rgba }: Photo): Float32Array {
  const out = new Float32Array(PHOTO * PHOTO * 3);
  for (let row = 0, i = 0; row < PHOTO; row++) {
    for (let column = 0; column < PHOTO; column++, i += 3) {
      for (let n = 0; n < 4; n++) {
        const x = Math.floor(((column + (n & 1 ? 0.75 : 0.25)) / PHOTO) * width);
        const y = Math.floor(((row + (n & 2 ? 0.75 : 0.25)) / PHOTO) * height);
        for (let k = 0; k < 3; k++) out[i + k]! += rgba[4 * (y * width + x) + k]! / 4 / 255;
      }
      for (let k = 0; k < 3; k++) out[i + k]! -= 0.5;
    }
  }
  return out;
}
