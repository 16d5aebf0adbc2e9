import exifr from "exifr";
import sharp from "sharp";
import { expect, it } from "vitest";
import { decode } from "../../server/decode.ts";
import { withNote } from "../../web/photo-note.ts";

/** A JPEG's note of itself is read by programs that were not made here: exifr, and libvips behind sharp. */

const plain = await sharp({ create: { width: 640, height: 480, channels: 3, background: "#357" } })
  .jpeg()
  .toBuffer();
const TAKEN = new Date(2026, 0, 31, 9, 45, 12); // local time

it.each(["One frame", "Median of 7 frames, laid on each other", "x"])("holds “%s” and the local time", async (says) => {
  const noted = Buffer.from(withNote(plain, says, TAKEN));
  const told = await exifr.parse(noted, { reviveValues: false });
  expect(told.ImageDescription.trim()).toBe(says);
  expect(told.DateTimeOriginal.trim()).toBe("2026:01:31 09:45:12");
  const { photo, takenAt } = await decode(noted);
  expect(takenAt).toBe("2026-01-31T09:45:12");
  expect(Buffer.from(photo.rgba).equals(Buffer.from((await decode(plain)).photo.rgba))).toBe(true);
});

it("writes only ASCII, as Exif wants it", async () => {
  const told = await exifr.parse(Buffer.from(withNote(plain, "Größe 7", TAKEN)));
  expect(told.ImageDescription.trim()).toBe("Gr??e 7");
});
