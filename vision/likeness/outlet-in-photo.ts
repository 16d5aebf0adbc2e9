import type { Reading, Reference } from "../contract/index.ts";
import type { Pair } from "../geometry.ts";
import { invert, project } from "../homography.ts";
import { bend } from "../lens-bulge.ts";

/** Places are told about so far apart, mm. */
const STEP_MM = 60;

/**
 * Where an outlet shows in a photo: its corners, and places between them.
 *
 * @param toPhoto  Deck mm → photo pixel.
 */
export function outletInPhoto(
  path: readonly Pair[],
  toPhoto: (at: Pair) => Pair,
  { width, height }: { readonly width: number; readonly height: number },
): Reference["outletInPhoto"] {
  const told: Reference["outletInPhoto"] = [];
  const share = (px: number, all: number) => Math.round((1e4 * px) / all) / 1e4;
  let before = 0;
  for (const [n, [x2, y2]] of path.slice(1).entries()) {
    const [x1, y1] = path[n]!;
    const length = Math.hypot(x2 - x1, y2 - y1);
    const steps = Math.max(1, Math.round(length / STEP_MM));
    for (let k = n === 0 ? 0 : 1; k <= steps; k++) {
      const t = k / steps;
      const [px, py] = toPhoto([x1 + t * (x2 - x1), y1 + t * (y2 - y1)]);
      told.push([Math.round(10 * (before + t * length)) / 10, share(px, width), share(py, height)]);
    }
    before += length;
  }
  return told.length <= 400 ? told : told.filter((_, n) => n % Math.ceil(told.length / 400) === 0);
}

/** Deck mm → photo pixel, as a reading's view has it; null where it has none. */
export function placeByView({ view, photo }: Pick<Reading, "view" | "photo">): ((at: Pair) => Pair) | null {
  const { widthPx: width, heightPx: height } = photo;
  if (!view || !width || !height) return null;
  const toPhoto = invert(view.photoToDeck);
  return (at) => bend({ width, height }, view.lens, project(toPhoto, at));
}
