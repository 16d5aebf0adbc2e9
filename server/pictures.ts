import "./fonts.ts";
import sharp from "sharp";
import { type Analysis, type Grid, overlaySvg, type Photo } from "../vision/index.ts";

/** What is drawn of one reading. */
export interface Pictures {
  /** The photo with the reading drawn on it, JPEG. */
  readonly overlay: Uint8Array;
  /** One deck cell a pixel, row 0 at y = 0, 8-bit grey PNG: class numbers 0 to 5, and confidence 0 to 255. */
  readonly classes: Uint8Array;
  readonly confidence: Uint8Array;
}

/** Longest side of an overlay picture, pixels: readable on a phone, small enough to send. */
const OVERLAY_PX = 2000;

/** Draw a reading. @returns null for an unusable photo, of which there is nothing to draw. */
export async function drawPictures(photo: Photo, analysis: Analysis): Promise<Pictures | null> {
  const { reading, deck, classes } = analysis;
  if (!classes) return null;
  const scale = Math.min(1, OVERLAY_PX / Math.max(photo.width, photo.height));
  const size = { widthPx: Math.round(photo.width * scale), heightPx: Math.round(photo.height * scale) };
  const { width, height, rgba } = photo;
  const drawing = Buffer.from(overlaySvg({ reading, deck, classes }, size));
  const overlay = await sharp(rgba, { raw: { width, height, channels: 4 } })
    .resize(size.widthPx, size.heightPx)
    .composite([{ input: drawing }])
    .jpeg({ quality: 88 })
    .toBuffer();
  return {
    overlay,
    classes: await greyPng(classes.labels, classes.grid),
    confidence: await greyPng(classes.confidence, classes.grid),
  };
}

const greyPng = (plane: Uint8Array, { columns, rows }: Grid) =>
  sharp(plane, { raw: { width: columns, height: rows, channels: 1 } })
    .toColourspace("b-w")
    .png()
    .toBuffer();
