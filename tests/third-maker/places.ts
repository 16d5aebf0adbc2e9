/** The traced map of deck places → what of the deck the photo shows, and whether our projection agrees with the ray tracer's. */
import { type Camera, type Lie, onDeck, see, straightened } from "./camera.ts";
import type { Traced } from "./develop.ts";
import { PLACE_SCALE } from "./scene-pov.ts";
import type { Table } from "./tables.ts";

export interface Places {
  /** 1 where the deck is seen, for each pixel of the traced picture. */
  readonly mask: Uint8Array;
  /** Is the deck what the final photo shows at this place? */
  deckAt(px: number, py: number): boolean;
  /**
   * Distance between the place a pixel shows by the ray tracer and by our projection, mm: the fifth part of all pixels is nearer,
   * so that riffles, which stand above the plane, do not count.
   */
  readonly offMm: number;
}

/** Riffles stand above the plane, so their places may look this far off. */
const PARALLAX_MM = 45;

export function placesIn(traced: Traced, table: Table, camera: Camera, lie: Lie): Places {
  const { width, height, rgb } = traced;
  const mask = new Uint8Array(width * height);
  const flat: Camera = { ...camera, bulge: 0 };
  const offs: number[] = [];
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      if (rgb[3 * i + 2]! < 0.999) continue;
      const place = [
        rgb[3 * i]! * table.lengthMm * PLACE_SCALE,
        rgb[3 * i + 1]! * table.widthMm * PLACE_SCALE,
      ] as const;
      const [px, py] = see(flat, onDeck(lie, place[0], place[1]));
      const offPx = Math.hypot(px - x - 0.5, py - y - 0.5);
      const mmPerPx = camera.distanceMm / camera.focalPx;
      if (offPx * mmPerPx > PARALLAX_MM) continue;
      mask[i] = 1;
      if (i % 11 === 0) offs.push(offPx * mmPerPx);
    }
  }
  offs.sort((a, b) => a - b);
  const deckAt = (px: number, py: number) => {
    const [sx, sy] = straightened(camera, [px, py]);
    if (!(sx >= 0 && sy >= 0 && sx < width && sy < height)) return false;
    return mask[Math.floor(sy) * width + Math.floor(sx)] === 1;
  };
  return { mask, deckAt, offMm: offs[Math.floor(offs.length * 0.2)] ?? Number.POSITIVE_INFINITY };
}
