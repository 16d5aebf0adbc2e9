import "./fonts.ts";
import sharp from "sharp";
import { Reading } from "../vision/contract/index.ts";
import { type Analysis, describeDeck, type Grid, overlaySvg, type Photo } from "../vision/index.ts";
import { overlayWords } from "../vision/telling/index.ts";
import type { Language } from "./speech.ts";
import type { Caller } from "./storage/caller.ts";
import type { Data } from "./storage/data.ts";

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

/** A kept reading drawn on its photo, JPEG: as it was drawn when it was made, in English; else on its preview. @returns null where there is no picture. */
export async function readingPicture(
  data: Data,
  caller: Caller,
  id: string,
  speech: Language,
): Promise<Uint8Array | null> {
  const english = await data.readings.picture(caller, id, "overlay");
  if (english === null) return null;
  if (speech.code === "en") return data.blobs.read(english);
  const { row, asked } = await data.readings.asked(caller, id);
  const photo = await data.photos.find(caller, row.photo);
  const [preview, classes] = await Promise.all([
    photo && data.blobs.read(photo.preview_sha256),
    data.blobs.read(row.classes_sha256!),
  ]);
  if (!preview || !classes) return null; // removed meanwhile
  const { width: widthPx, height: heightPx } = await sharp(preview).metadata();
  const reading = Reading.parse(JSON.parse(row.reading_json));
  const grid = reading.grid!; // it has a picture, so it was usable
  const labels = new Uint8Array(await sharp(classes).extractChannel(0).raw().toBuffer());
  const notDrawn = { confidence: new Uint8Array(), evidenceGrid: grid, evidence: new Float32Array() };
  const drawn = { reading, deck: describeDeck(asked.deck ?? null), classes: { grid, labels, ...notDrawn } };
  const drawing = overlaySvg(drawn, { widthPx, heightPx }, overlayWords(speech, speech.code));
  const picture = sharp(preview).composite([{ input: Buffer.from(drawing) }]);
  return picture.jpeg({ quality: 88 }).toBuffer();
}

const greyPng = (plane: Uint8Array, { columns, rows }: Grid) =>
  sharp(plane, { raw: { width: columns, height: rows, channels: 1 } })
    .toColourspace("b-w")
    .png()
    .toBuffer();
