import type { RawPicture } from "./heic.ts";

/**
 * Put raw RGB pixels into an uncompressed TIFF with their colour profile, so that sharp takes them to sRGB exactly as it
 * does any other photo (it has no way to say that raw pixels have a profile).
 *
 * Source: TIFF 6.0 (Adobe, 1992), section 2 and 6; tag 34675 from ICC.1, annex B.4.
 *
 * @returns little-endian TIFF: header, pixels in one strip, profile, one directory.
 */
export function asTiff({ width, height, rgb }: RawPicture, icc: Uint8Array | undefined): Buffer {
  const SHORT = 3;
  const LONG = 4;
  const UNDEFINED = 7;
  const pixelsAt = 16; // after the header (8 bytes) and BitsPerSample (3 × 2 bytes), on a multiple of 4
  const iccAt = pixelsAt + even(rgb.length);
  const directoryAt = iccAt + even(icc?.length ?? 0);
  const tags: [tag: number, type: number, count: number, value: number][] = [
    [256, LONG, 1, width],
    [257, LONG, 1, height],
    [258, SHORT, 3, 8], // BitsPerSample: three values, at byte 8
    [259, SHORT, 1, 1], // no compression
    [262, SHORT, 1, 2], // RGB
    [273, LONG, 1, pixelsAt],
    [277, SHORT, 1, 3], // samples for each pixel
    [278, LONG, 1, height], // rows in the one strip
    [279, LONG, 1, rgb.length],
  ];
  if (icc) tags.push([34675, UNDEFINED, icc.length, iccAt]);
  const file = Buffer.alloc(directoryAt + 2 + 12 * tags.length + 4);
  file.write("II*\0", "latin1");
  file.writeUInt32LE(directoryAt, 4);
  for (const sample of [0, 1, 2]) file.writeUInt16LE(8, 8 + 2 * sample);
  file.set(rgb, pixelsAt);
  if (icc) file.set(icc, iccAt);
  file.writeUInt16LE(tags.length, directoryAt);
  tags.forEach(([tag, type, count, value], i) => {
    const at = directoryAt + 2 + 12 * i;
    file.writeUInt16LE(tag, at);
    file.writeUInt16LE(type, at + 2);
    file.writeUInt32LE(count, at + 4);
    file.writeUInt32LE(value, at + 8);
  });
  return file;
}

const even = (bytes: number) => bytes + (bytes % 2);
