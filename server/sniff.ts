import { PhotoError, said } from "../vision/index.ts";

/** Formats that photos may come in. The name of a file says nothing; its first bytes do. */
export type Format = "jpeg" | "png" | "webp" | "avif" | "heic" | "tiff" | "gif";

const WANTED = said("said.file.wanted", { formats: "JPEG, PNG, WebP, AVIF, HEIC, TIFF, GIF" });
/** Pictures, documents and films that people send by mistake, by how they begin. */
const REFUSED: readonly (readonly [start: string, what: string])[] = [
  ["BM", "BMP"],
  ["%PDF", "PDF"],
  ["PK\x03\x04", "ZIP"],
  ["\xff\x0a", "JPEG XL"],
  ["\0\0\0\x0cJXL ", "JPEG XL"],
  ["\0\0\0\x0cjP  ", "JPEG 2000"],
  ["8BPS", "PSD"],
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
  if (bytes.length === 0) throw new PhotoError("photo-empty", said("said.file.empty"));
  const head = Buffer.from(bytes.buffer, bytes.byteOffset, Math.min(bytes.length, 1024)).toString("latin1");
  if (head.startsWith("\xff\xd8\xff")) return "jpeg";
  if (head.startsWith("\x89PNG\r\n\x1a\n")) return "png";
  if (head.startsWith("RIFF") && head.slice(8, 12) === "WEBP") return "webp";
  if (/^GIF8[79]a/.test(head)) return "gif";
  if (head.startsWith("II*\0") || head.startsWith("MM\0*")) return "tiff";
  if (head.slice(4, 8) === "ftyp") return boxed(head);
  if (head.startsWith("\x1a\x45\xdf\xa3")) throw film();
  const known = REFUSED.find(([start]) => head.startsWith(start))?.[1] ?? (isSvg(head) ? "SVG" : undefined);
  if (known) throw new PhotoError("photo-format", [...said("said.file.known", { kind: known }), ...WANTED]);
  throw new PhotoError("photo-not-an-image", [...said("said.file.noPhoto"), ...WANTED]);
}

const film = () => new PhotoError("photo-format", [...said("said.file.film"), ...WANTED]);

/** HEIC, AVIF and films share one container; its brands (ISO/IEC 14496-12, `ftyp`) tell them apart. */
function boxed(head: string): Format {
  const end = Math.min(head.length, head.charCodeAt(2) * 256 + head.charCodeAt(3));
  const brands = [head.slice(8, 12)];
  for (let at = 16; at + 4 <= end; at += 4) brands.push(head.slice(at, at + 4));
  if (brands.some((brand) => AVIF_BRANDS.has(brand))) return "avif";
  if (brands.some((brand) => HEIC_BRANDS.has(brand))) return "heic";
  throw film();
}

const isSvg = (head: string) =>
  /^(?:\xef\xbb\xbf)?\s*(?:<\?xml|<!--|<!DOCTYPE svg|<svg)/i.test(head) && /<svg/i.test(head);
