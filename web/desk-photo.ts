import type { Reading } from "../vision/contract/index.ts";
import { bend, invert, project } from "./desk-sums.ts";

/** The photo of a reading laid flat on this device, as fine as the photo is, without the engines that read. */

/** Most pixels of the flat picture: browsers of phones give no larger canvas. */
const MOST_PIXELS = 12_000_000;
/** The way from deck to photo is worked out at each node of a mesh this wide, px, and is straight between. */
const MESH_PX = 16;

/**
 * @param photo     Upright, of any size.
 * @param lengthMm  Of the deck; @param widthMm
 * @returns a canvas, row 0 at y = 0, drive end left.
 */
export function layFlat(
  photo: ImageBitmap,
  { view, photo: { widthPx, heightPx } }: Pick<Reading, "view" | "photo">,
  lengthMm: number,
  widthMm: number,
): HTMLCanvasElement {
  const scale = photo.width / widthPx!;
  const toPhoto = invert(view!.photoToDeck);
  const whole = { width: widthPx!, height: heightPx! };
  const place = (x: number, y: number) => bend(whole, view!.lens, project(toPhoto, [x, y]));
  const pxPerMm = finest(place, lengthMm, widthMm, scale);
  const [width, height] = [Math.round(lengthMm * pxPerMm), Math.round(widthMm * pxPerMm)];
  const from = pixelsOf(photo);
  const flat = new ImageData(width, height);
  const [source, target] = [new Uint32Array(from.data.buffer), new Uint32Array(flat.data.buffer)];
  for (let top = 0; top < height; top += MESH_PX) {
    for (let left = 0; left < width; left += MESH_PX) {
      const corner = (dx: number, dy: number) => place((left + dx) / pxPerMm, (top + dy) / pxPerMm);
      const [a, b, c, d] = [corner(0, 0), corner(MESH_PX, 0), corner(0, MESH_PX), corner(MESH_PX, MESH_PX)];
      for (let dy = 0; dy < Math.min(MESH_PX, height - top); dy++) {
        const v = (dy + 0.5) / MESH_PX;
        for (let dx = 0; dx < Math.min(MESH_PX, width - left); dx++) {
          const u = (dx + 0.5) / MESH_PX;
          const along = (k: 0 | 1) => (a[k] * (1 - u) + b[k] * u) * (1 - v) + (c[k] * (1 - u) + d[k] * u) * v;
          const [x, y] = [Math.floor(along(0) * scale), Math.floor(along(1) * scale)];
          if (x < 0 || y < 0 || x >= from.width || y >= from.height) continue;
          target[(top + dy) * width + left + dx] = source[y * from.width + x]!;
        }
      }
    }
  }
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [width, height];
  canvas.getContext("2d")!.putImageData(flat, 0, 0);
  return canvas;
}

/** Pixels for each mm, so that the photo loses nothing where it is finest, within what a canvas holds. */
function finest(place: (x: number, y: number) => readonly number[], lengthMm: number, widthMm: number, scale: number) {
  const apart = ([x1 = 0, y1 = 0]: readonly number[], [x2 = 0, y2 = 0]: readonly number[]) =>
    Math.hypot(x2 - x1, y2 - y1);
  const shares = [0.1, 0.5, 0.9];
  const fine = shares.flatMap((s) =>
    shares.map((t) => {
      const [x, y] = [s * lengthMm, t * widthMm];
      return scale * Math.max(apart(place(x, y), place(x + 1, y)), apart(place(x, y), place(x, y + 1)));
    }),
  );
  return Math.min(Math.max(...fine), Math.sqrt(MOST_PIXELS / (lengthMm * widthMm)));
}

function pixelsOf(photo: ImageBitmap): ImageData {
  const canvas = new OffscreenCanvas(photo.width, photo.height);
  const pen = canvas.getContext("2d")!;
  pen.drawImage(photo, 0, 0);
  return pen.getImageData(0, 0, photo.width, photo.height);
}
