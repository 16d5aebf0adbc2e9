import { sha256 } from "@noble/hashes/sha2.js";
import { bytesToHex } from "@noble/hashes/utils.js";
import { parse } from "exifr/dist/mini.esm.mjs";
import type { Photo } from "../vision/index.ts";
import { LIMITS, type Opened, type OpeningFault } from "./photo-limits.ts";

/** A photo file → what the page shows of it and what a reading needs. Runs in the reader's worker. */

/** Most pixels looked at here: phones give a page no larger canvas. A larger photo is made smaller. */
const CANVAS_PIXELS = 16_000_000;

/** Longest side of the small picture in a list, pixels: sharp where it is shown at half of that. */
const THUMB_PX = 192;

/** Why a file was not opened. */
export class OpeningError extends Error {
  readonly code: OpeningFault;
  /** SHA-256 of the file, where it is one to be sent on. */
  readonly id: string | null;
  constructor(code: OpeningFault, id: string | null = null) {
    super(code);
    this.code = code;
    this.id = id;
  }
}

/**
 * Decode a photo: upright, sRGB, transparency on white.
 *
 * @param previewPx  Longest side of the preview, pixels.
 * @returns `photo`, its pixels: at full size, or smaller where that is more than a canvas holds.
 * @throws {OpeningError}
 */
export async function openPhoto(file: Blob, previewPx: number): Promise<Opened & { readonly photo: Photo }> {
  if (file.size === 0) throw new OpeningError("photo-empty");
  if (file.size > LIMITS.bytes) throw new OpeningError("photo-too-large");
  const bytes = new Uint8Array(await file.arrayBuffer());
  // the browser's own digest is quicker; it has one at secure addresses only
  const id = bytesToHex(crypto.subtle ? new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)) : sha256(bytes));
  if (typeof OffscreenCanvas === "undefined") throw new OpeningError("photo-unknown-here", id); // an old browser
  // upright by its EXIF orientation, colours by its profile: both are what happens where nothing is said
  const bitmap = await createImageBitmap(file).catch(() => {
    throw isOneForTheServer(bytes) ? new OpeningError("photo-unknown-here", id) : new OpeningError("photo-broken");
  });
  try {
    const { width: widthPx, height: heightPx } = bitmap;
    if (widthPx * heightPx > LIMITS.pixels) throw new OpeningError("photo-too-large");
    if (Math.min(widthPx, heightPx) < LIMITS.sidePx) throw new OpeningError("photo-too-small");
    const jpeg = (mostPx: number) =>
      drawn(bitmap, mostPx / Math.max(widthPx, heightPx)).convertToBlob({ type: "image/jpeg", quality: 0.85 });
    const [preview, thumb] = await Promise.all([jpeg(previewPx), jpeg(THUMB_PX)]);
    const thumbUrl = new FileReaderSync().readAsDataURL(thumb);
    return { id, widthPx, heightPx, takenAt: await takenAt(bytes), preview, thumbUrl, photo: pixelsOf(bitmap) };
  } finally {
    bitmap.close();
  }
}

function pixelsOf(bitmap: ImageBitmap): Photo {
  const canvas = drawn(bitmap, Math.sqrt(CANVAS_PIXELS / (bitmap.width * bitmap.height)));
  const { width, height } = canvas;
  const rgba = canvas.getContext("2d")!.getImageData(0, 0, width, height).data;
  return { width, height, rgba };
}

/** At `most` this large beside the photo, never larger than it. */
function drawn(bitmap: ImageBitmap, most: number): OffscreenCanvas {
  const scale = Math.min(1, most);
  const canvas = new OffscreenCanvas(Math.round(bitmap.width * scale), Math.round(bitmap.height * scale));
  const pen = canvas.getContext("2d", { willReadFrequently: true })!;
  pen.fillStyle = "#ffffff";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.imageSmoothingQuality = "high";
  pen.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  return canvas;
}

/** HEIC or AVIF (ISO/IEC 14496-12, box `ftyp`), or TIFF: some browsers do not know them, the server does. */
function isOneForTheServer(bytes: Uint8Array): boolean {
  const text = String.fromCharCode(...bytes.subarray(0, 12));
  return text.slice(4, 8) === "ftyp" || text.startsWith("II*\0") || text.startsWith("MM\0*");
}

/** The EXIF tags between the start of the block and the moment of the shot (CIPA DC-008 tables 4 and 8). */
const EXIF_POINTER = 0x8769;
const DATE_TIME_ORIGINAL = 0x9003;
const ONLY_THE_TIME = {
  ifd0: { pick: [EXIF_POINTER] },
  exif: { pick: [DATE_TIME_ORIGINAL] },
  translateKeys: false,
  translateValues: false,
  reviveValues: false,
};

/** A missing or damaged time is no fault of the photo. */
async function takenAt(bytes: Uint8Array): Promise<string | null> {
  const told = await parse(bytes, ONLY_THE_TIME).catch(() => null);
  const parts = /^(\d{4}):(\d\d):(\d\d) (\d\d:\d\d:\d\d)/.exec(String(told?.[DATE_TIME_ORIGINAL] ?? ""));
  if (!parts) return null;
  const iso = `${parts[1]}-${parts[2]}-${parts[3]}T${parts[4]}`;
  const time = new Date(`${iso}Z`); // an impossible date does not survive the round trip
  return !Number.isNaN(time.getTime()) && time.toISOString().startsWith(iso) ? iso : null;
}
