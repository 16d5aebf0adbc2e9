import { PhotoError } from "../vision/index.ts";

/** Formats that photos may come in. The name of a file says nothing; its first bytes do. */
export type Format = "jpeg" | "png" | "webp" | "avif" | "heic" | "tiff" | "gif";

const WANTED = "Send a photo as JPEG, PNG, WebP, AVIF, HEIC, TIFF or GIF.";
/** Pictures, documents and films that people send by mistake, by how they begin. */
const REFUSED: readonly (readonly [start: string, what: string])[] = [
  ["BM", "a BMP picture"],
  ["%PDF", "a PDF document"],
  ["PK\x03\x04", "a ZIP archive or office document"],
  ["\xff\x0a", "a JPEG XL picture"],
  ["\0\0\0\x0cJXL ", "a JPEG XL picture"],
  ["\0\0\0\x0cjP  ", "a JPEG 2000 picture"],
  ["8BPS", "a Photoshop document"],
  ["\x1a\x45\xdf\xa3", "a film"],
];
const AVIF_BRANDS = new Set(["avif", "avis"]);
const HEIC_BRANDS = new Set(["heic", "heix", "heim", "heis", "hevc", "hevx", "hevm", "hevs", "mif1", "msf1"]);

/**
 * The format of a photo, from its content.
 *
 * @throws {PhotoError} `photo-empty`; `photo-format`: a kind of file that is known and not read here;
 *   `photo-not-an-image`: anything else.
 */
export function sniff(bytes: Uint8Array): Format {
  if (bytes.length === 0) throw new PhotoError("photo-empty", "The photo file is empty. Send it again.");
  const head = Buffer.from(bytes.buffer, bytes.byteOffset, Math.min(bytes.length, 1024)).toString("latin1");
  if (head.startsWith("\xff\xd8\xff")) return "jpeg";
  if (head.startsWith("\x89PNG\r\n\x1a\n")) return "png";
  if (head.startsWith("RIFF") && head.slice(8, 12) === "WEBP") return "webp";
  if (/^GIF8[79]a/.test(head)) return "gif";
  if (head.startsWith("II*\0") || head.startsWith("MM\0*")) return "tiff";
  if (head.slice(4, 8) === "ftyp") return boxed(head);
  const known = REFUSED.find(([start]) => head.startsWith(start))?.[1] ?? (isSvg(head) ? "a drawing (SVG)" : undefined);
  if (known) throw new PhotoError("photo-format", `This is ${known}, not a photo that can be read. ${WANTED}`);
  throw new PhotoError("photo-not-an-image", `This file is not a photo. ${WANTED}`);
}

/** HEIC, AVIF and films share one container; its brands (ISO/IEC 14496-12, `ftyp`) tell them apart. */
function boxed(head: string): Format {
  const end = Math.min(head.length, head.charCodeAt(2) * 256 + head.charCodeAt(3));
  const brands = [head.slice(8, 12)];
  for (let at = 16; at + 4 <= end; at += 4) brands.push(head.slice(at, at + 4));
  if (brands.some((brand) => AVIF_BRANDS.has(brand))) return "avif";
  if (brands.some((brand) => HEIC_BRANDS.has(brand))) return "heic";
  throw new PhotoError("photo-format", `This is a film, not a photo. Take a still photo. ${WANTED}`);
}

const isSvg = (head: string) =>
  /^(?:\xef\xbb\xbf)?\s*(?:<\?xml|<!--|<!DOCTYPE svg|<svg)/i.test(head) && /<svg/i.test(head);
