/** The two EXIF tags between the start of the block and the moment of the shot (CIPA DC-008 tables 4 and 8). */
const EXIF_POINTER = 0x8769;
const DATE_TIME_ORIGINAL = 0x9003;

/**
 * When the photo was taken, by the camera's own clock: `2031-05-04T13:05:09`, without a zone, which EXIF seldom knows.
 *
 * @param exif  An EXIF block, with or without its `Exif\0\0` prefix.
 * @returns null where there is none, or where it is damaged or blank: a missing time is no fault of the photo.
 */
export function takenAt(exif: Uint8Array | undefined): string | null {
  if (!exif) return null;
  try {
    const prefixed = Buffer.from(exif.subarray(0, 6)).toString("latin1") === "Exif\0\0";
    const block = prefixed ? exif.subarray(6) : exif;
    const view = new DataView(block.buffer, block.byteOffset, block.byteLength);
    const little = view.getUint16(0) === 0x4949;
    const pointer = entry(view, view.getUint32(4, little), EXIF_POINTER, little);
    if (pointer === null) return null;
    const at = entry(view, view.getUint32(pointer + 8, little), DATE_TIME_ORIGINAL, little);
    if (at === null) return null;
    return isoTime(
      Buffer.from(block)
        .toString("latin1", view.getUint32(at + 8, little))
        .slice(0, 19),
    );
  } catch (error) {
    if (error instanceof RangeError) return null; // an offset past the end of a damaged block
    throw error;
  }
}

/** Where the twelve bytes of `tag` begin in the directory at `start`; null when it is not there. */
function entry(view: DataView, start: number, tag: number, little: boolean): number | null {
  const count = view.getUint16(start, little);
  for (let i = 0; i < count; i++) {
    const at = start + 2 + 12 * i;
    if (view.getUint16(at, little) === tag) return at;
  }
  return null;
}

function isoTime(exifTime: string): string | null {
  const parts = /^(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)$/.exec(exifTime);
  if (!parts) return null;
  const [, year, month, day, hour, minute, second] = parts;
  const iso = `${year}-${month}-${day}T${hour}:${minute}:${second}`;
  const time = new Date(`${iso}Z`); // an impossible date (month 0, 31 June) does not survive the round trip
  return !Number.isNaN(time.getTime()) && time.toISOString().startsWith(iso) ? iso : null;
}
