/** What a JPEG made by this program says of itself: Exif 2.3 (CIPA DC-008), tags of its tables 4 and 8. Pure. */

/** Tags, and the types of their values (TIFF 6.0, section 2). */
const [IMAGE_DESCRIPTION, EXIF_POINTER, DATE_TIME_ORIGINAL] = [0x010e, 0x8769, 0x9003];
const [ASCII, LONG] = [2, 4];

/**
 * The same JPEG with a description and the moment of the shot.
 *
 * @param description  Letters of ASCII; others become “?”.
 * @param takenAt  Written in local time, as cameras do.
 */
export function withNote(jpeg: Uint8Array, description: string, takenAt: Date): Uint8Array<ArrayBuffer> {
  const two = (n: number) => String(n).padStart(2, "0");
  const day = `${takenAt.getFullYear()}:${two(takenAt.getMonth() + 1)}:${two(takenAt.getDate())}`;
  const time = `${two(takenAt.getHours())}:${two(takenAt.getMinutes())}:${two(takenAt.getSeconds())}`;
  const [says, when] = [ascii(description), ascii(`${day} ${time}`)];
  // header 8, first directory 2 + 2 · 12 + 4, second directory 2 + 12 + 4, then the texts
  const [first, second] = [8, 38];
  const [saysAt, whenAt] = [56, 56 + says.length];
  const block = new Uint8Array(whenAt + when.length);
  const view = new DataView(block.buffer);
  block.set([0x4d, 0x4d, 0, 42]); // big-endian TIFF
  view.setUint32(4, first);
  directory(view, first, [
    [IMAGE_DESCRIPTION, ASCII, says.length, saysAt],
    [EXIF_POINTER, LONG, 1, second],
  ]);
  directory(view, second, [[DATE_TIME_ORIGINAL, ASCII, when.length, whenAt]]);
  block.set(says, saysAt);
  block.set(when, whenAt);
  const name = [0x45, 0x78, 0x69, 0x66, 0, 0]; // "Exif"
  const length = 2 + name.length + block.length;
  const marker = [0xff, 0xe1, length >> 8, length & 255, ...name];
  const out = new Uint8Array(jpeg.length + marker.length + block.length);
  out.set(jpeg.subarray(0, 2)); // start of image
  out.set(marker, 2);
  out.set(block, 2 + marker.length);
  out.set(jpeg.subarray(2), 2 + marker.length + block.length);
  return out;
}

type Entry = readonly [tag: number, type: number, count: number, value: number];
function directory(view: DataView, at: number, entries: readonly Entry[]): void {
  view.setUint16(at, entries.length);
  for (const [i, [tag, type, count, value]] of entries.entries()) {
    const start = at + 2 + 12 * i;
    view.setUint16(start, tag);
    view.setUint16(start + 2, type);
    view.setUint32(start + 4, count);
    view.setUint32(start + 8, value);
  }
  view.setUint32(at + 2 + 12 * entries.length, 0); // no further one
}

/** Bytes of a text with the zero that ends it; of even length, at least 6, so that it never fits into an entry itself. */
function ascii(text: string): Uint8Array {
  const bytes = [...text].map((c) => (c.charCodeAt(0) < 128 ? c.charCodeAt(0) : 63));
  while (bytes.length < 5 || bytes.length % 2 === 0) bytes.push(32);
  return Uint8Array.from([...bytes, 0]);
}
