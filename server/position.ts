import { crc32 } from "node:zlib";

/** EXIF tags of the first directory (CIPA DC-008-2019, table 4; Adobe XMP part 3, table 12). */
const GPS_POINTER = 0x8825;
const PACKETS: ReadonlySet<number> = new Set([700, 33723, 34377]); // XMP, IPTC, image resources: places in words
/** Bytes of one value of each EXIF type, 1 to 12 (CIPA DC-008-2019, section 4.6.2). */
const TYPE_BYTES = [0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8];
/** The GPS directory has tags 0 to 31 (table 15 there). */
const LAST_GPS_TAG = 31;

/**
 * A photo without the position it was taken at: EXIF's GPS directory, and XMP and IPTC packets, which may say it too, are
 * emptied. Pixels, size, time and all else stay, byte for byte.
 *
 * Works on the bytes of JPEG, PNG, WebP, TIFF, HEIC and AVIF alike, since each of them holds EXIF as one TIFF block.
 * Not reached: what makers hide in their own notes.
 */
export function withoutPosition(photo: Uint8Array): Buffer {
  const bytes = Buffer.from(photo); // a copy
  for (const mark of ["II*\0", "MM\0*"]) {
    for (let at = bytes.indexOf(mark, 0, "latin1"); at >= 0; at = bytes.indexOf(mark, at + 1, "latin1")) {
      emptyDirectory(bytes.subarray(at));
    }
  }
  emptyBetween(bytes, "<x:xmpmeta", "</x:xmpmeta>");
  for (const signature of ["http://ns.adobe.com/xmp/extension/\0", "Photoshop 3.0\0"]) emptySegments(bytes, signature);
  return bytes.subarray(0, 8).equals(PNG) ? mendPng(bytes) : bytes;
}

/** Empty the position in a TIFF block, if this is one: by chance, four such bytes also occur in pixels. */
function emptyDirectory(block: Buffer): void {
  try {
    const view = new DataView(block.buffer, block.byteOffset, block.byteLength);
    const little = view.getUint16(0) === 0x4949;
    for (const entry of entriesAt(view, view.getUint32(4, little), little)) {
      if (PACKETS.has(entry.tag)) empty(block, view, entry, little);
      if (entry.tag !== GPS_POINTER || entry.type !== 4 || entry.count !== 1) continue;
      const start = view.getUint32(entry.at + 8, little);
      const gps = entriesAt(view, start, little);
      if (gps.some(({ tag }) => tag > LAST_GPS_TAG)) continue;
      for (const each of gps) empty(block, view, each, little);
      block.fill(0, start, start + 2 + 12 * gps.length);
    }
  } catch (error) {
    if (!(error instanceof RangeError)) throw error; // an offset past the end: no directory, or a damaged one
  }
}

interface Entry {
  readonly at: number;
  readonly tag: number;
  readonly type: number;
  readonly count: number;
}

/** @throws {RangeError} when there is no directory at `start`. */
function entriesAt(view: DataView, start: number, little: boolean): Entry[] {
  const count = view.getUint16(start, little);
  return Array.from({ length: count }, (_, i) => {
    const at = start + 2 + 12 * i;
    const type = view.getUint16(at + 2, little);
    if (type < 1 || type > 13) throw new RangeError("no directory");
    return { at, tag: view.getUint16(at, little), type, count: view.getUint32(at + 4, little) };
  });
}

/** Zero a value: beside its tag where it has four bytes at most, else where its offset says. */
function empty(block: Buffer, view: DataView, { at, type, count }: Entry, little: boolean): void {
  const size = (TYPE_BYTES[type] ?? 4) * count;
  const from = size <= 4 ? at + 8 : view.getUint32(at + 8, little);
  if (from + size > block.length) throw new RangeError("a value past the end");
  block.fill(0, from, from + size);
}

function emptyBetween(bytes: Buffer, start: string, end: string): void {
  for (let at = bytes.indexOf(start); at >= 0; at = bytes.indexOf(start, at + 1)) {
    const to = bytes.indexOf(end, at);
    if (to < 0) return;
    bytes.fill(" ", at, to + end.length);
  }
}

/** Zero what follows the signature in JPEG segments that begin with it; two bytes before it say how long they are. */
function emptySegments(bytes: Buffer, signature: string): void {
  for (let at = bytes.indexOf(signature); at >= 2; at = bytes.indexOf(signature, at + 1)) {
    if (bytes[at - 4] !== 0xff) continue;
    bytes.fill(0, at + signature.length, Math.min(bytes.length, at - 2 + bytes.readUInt16BE(at - 2)));
  }
}

const PNG = Buffer.from("\x89PNG\r\n\x1a\n", "latin1");

/** PNG: leave out texts, which may hold any of this packed, and count the checksums anew (ISO/IEC 15948, section 5.3). */
function mendPng(bytes: Buffer): Buffer {
  const chunks: Buffer[] = [PNG];
  for (let at = PNG.length; at + 12 <= bytes.length; ) {
    const end = at + 12 + bytes.readUInt32BE(at);
    const chunk = bytes.subarray(at, end);
    if (!/^(tEXt|zTXt|iTXt)$/.test(chunk.toString("latin1", 4, 8))) {
      chunk.writeUInt32BE(crc32(chunk.subarray(4, -4)), chunk.length - 4);
      chunks.push(chunk);
    }
    at = end;
  }
  return Buffer.concat(chunks);
}
