import sharp, { type Metadata, type Sharp } from "sharp";
import { type Photo, PhotoError, said } from "../vision/index.ts";
import { takenAt } from "./exif.ts";
import { decodeHeic } from "./heic.ts";
import { sha256 } from "./sha256.ts";
import { type Format, sniff } from "./sniff.ts";
import { asTiff } from "./tiff.ts";

/** Most bytes of a photo file, and most pixels of a photo; more is refused before anything is decoded. */
export const MAX_BYTES = 60e6;
export const MAX_PIXELS = 60e6;
/** Least pixels on the shorter side: below this bands cannot be told apart. */
export const MIN_SIDE_PX = 320;

/** What a photo's header says. Width and height upright, pixels. */
export interface Header {
  readonly format: Format;
  readonly sha256: string;
  readonly width: number;
  readonly height: number;
  /** Local time of the camera, ISO 8601 without a zone; null where it is not told. */
  readonly takenAt: string | null;
}
export interface Decoded extends Header {
  readonly photo: Photo;
}

sharp.cache(false); // each photo is seen once
sharp.concurrency(2);

/**
 * Look at a photo's header and refuse what cannot be read, before any pixel is decoded.
 *
 * @throws {PhotoError} `photo-empty`, `photo-not-an-image`, `photo-format`, `photo-broken`, `photo-too-small`,
 *   `photo-too-large`.
 */
export async function inspect(bytes: Uint8Array): Promise<Header> {
  if (bytes.length > MAX_BYTES) {
    throw new PhotoError("photo-too-large", said("said.file.tooLarge", { most: MAX_BYTES / 1e6 }));
  }
  const format = sniff(bytes);
  const found = await metadata(bytes);
  const { width, height } = found.autoOrient;
  if (width * height > MAX_PIXELS) {
    const millions = Math.round((width * height) / 1e6);
    throw new PhotoError("photo-too-large", said("said.file.manyPixels", { millions, most: MAX_PIXELS / 1e6 }));
  }
  if (Math.min(width, height) < MIN_SIDE_PX) {
    throw new PhotoError("photo-too-small", said("said.file.fewPixels", { width, height, least: MIN_SIDE_PX }));
  }
  return { format, sha256: sha256(bytes), width, height, takenAt: takenAt(found.exif) };
}

/**
 * Decode a photo: upright, sRGB, 8 bits, without transparency (white shows through), first frame only.
 *
 * @throws {PhotoError} as `inspect`; `photo-broken` also when only the picture's body is damaged or cut short.
 */
export async function decode(bytes: Uint8Array): Promise<Decoded> {
  const header = await inspect(bytes);
  const picture = (await upright(bytes, header)).ensureAlpha().raw({ depth: "uchar" });
  const { data, info } = await whole(picture.toBuffer({ resolveWithObject: true }));
  const rgba = new Uint8ClampedArray(data.buffer, data.byteOffset, data.byteLength);
  return { ...header, photo: { width: info.width, height: info.height, rgba } };
}

/** The photo upright as a JPEG of at most `maxPx` on its longer side, and its header. Errors as `decode`. */
export async function preview(bytes: Uint8Array, maxPx: number): Promise<{ header: Header; jpeg: Buffer }> {
  const header = await inspect(bytes);
  const small = (await upright(bytes, header)).resize(maxPx, maxPx, { fit: "inside", withoutEnlargement: true });
  return { header, jpeg: await whole(small.jpeg({ quality: 85 }).toBuffer()) };
}

/** One way for every format: turned upright, flattened on white, colours taken from the photo's profile to sRGB. */
async function upright(bytes: Uint8Array, header: Header): Promise<Sharp> {
  let source = bytes;
  if (header.format === "heic") {
    const { icc } = await metadata(bytes);
    source = asTiff(await decodeHeic(bytes), icc);
  }
  return sharp(source, { failOn: "warning", pages: 1, limitInputPixels: MAX_PIXELS })
    .autoOrient()
    .flatten({ background: "#ffffff" })
    .toColourspace("srgb");
}

/** The size is checked by `inspect`, in words; the library's own limit would only say that there is one. */
async function metadata(bytes: Uint8Array): Promise<Metadata> {
  return whole(sharp(bytes, { failOn: "warning", limitInputPixels: false }).metadata());
}

async function whole<T>(work: Promise<T>): Promise<T> {
  try {
    return await work;
  } catch (error) {
    throw Object.assign(new PhotoError("photo-broken", said("said.file.broken")), { cause: error });
  }
}
