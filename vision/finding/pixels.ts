import { blockMeans, type OpenCv, withMats } from "../opencv.ts";
import type { Photo } from "../stages.ts";

/** Rec. 601 luma: a plain grey, 0 to 255, for finding edges; not a measured lightness. */
export const luma = (red: number, green: number, blue: number) => 0.299 * red + 0.587 * green + 0.114 * blue;

/** Grey, 0 to 255, at a place in the photo: bilinear. Pixels count from the outer corner; outside, the border goes on. */
export function greyAt({ width, height, rgba }: Photo, x: number, y: number): number {
  const left = Math.min(Math.max(x - 0.5, 0), width - 1);
  const top = Math.min(Math.max(y - 0.5, 0), height - 1);
  const [i, j] = [Math.min(Math.floor(left), width - 2), Math.min(Math.floor(top), height - 2)];
  const [u, v] = [left - i, top - j];
  const at = (k: number) => luma(rgba[k]!, rgba[k + 1]!, rgba[k + 2]!);
  const k = 4 * (j * width + i);
  const below = k + 4 * width;
  return (1 - v) * ((1 - u) * at(k) + u * at(k + 4)) + v * ((1 - u) * at(below) + u * at(below + 4));
}

/** Several stages look at the photo at this size, px, or at a fraction of it: each is made once a photo. */
const COMMON_PX = 1600;
const common = new WeakMap<Photo["rgba"], Map<number, Shrunk>>();
type Shrunk = Photo & { readonly scale: number };

/** The photo made smaller by averaging, so that its longer side is at most `longestPx`; unchanged when it is. */
export function shrink(cv: OpenCv, photo: Photo, longestPx: number): Shrunk {
  const scale = Math.max(photo.width, photo.height) / longestPx;
  if (scale <= 1) return { ...photo, scale: 1 };
  if (COMMON_PX % longestPx !== 0) return averaged(cv, photo, longestPx);
  const held = common.get(photo.rgba) ?? new Map<number, Shrunk>();
  common.set(photo.rgba, held);
  let small = held.get(longestPx);
  if (!small) {
    const from = longestPx === COMMON_PX ? photo : shrink(cv, photo, COMMON_PX);
    small = { ...averaged(cv, from, longestPx), scale };
    held.set(longestPx, small);
  }
  return small;
}

function averaged(cv: OpenCv, photo: Photo, longestPx: number): Shrunk {
  const scale = Math.max(photo.width, photo.height) / longestPx;
  return withMats(cv, (own) => {
    const halves = photo.width >= 2 * longestPx && photo.width % 2 === 0 && photo.height % 2 === 0;
    let from = blockMeans(
      cv,
      own,
      photo,
      { left: 0, top: 0, width: photo.width, height: photo.height },
      halves ? 2 : 1,
    );
    const to = (width: number, height: number) => {
      const small = own(new cv.Mat());
      // near full size bilinear means the same pixels, and is far quicker
      const how = from.cols < 1.5 * width ? cv.INTER_LINEAR : cv.INTER_AREA;
      cv.resize(from, small, new cv.Size(width, height), 0, 0, how);
      from = small;
    };
    // halving is many times faster than any other scale
    while (from.cols >= 2 * longestPx && from.rows % 2 === 0 && from.cols % 2 === 0) to(from.cols / 2, from.rows / 2);
    to(Math.round(photo.width / scale), Math.round(photo.height / scale));
    return { width: from.cols, height: from.rows, rgba: new Uint8ClampedArray(from.data), scale };
  });
}
