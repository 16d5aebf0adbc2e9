import { expect, it } from "vitest";
import { takenAt } from "../../server/exif.ts";

/**
 * An EXIF block laid out as CIPA DC-008-2023 (Exif 3.0) 4.5.2 says: TIFF header, IFD0 with the Exif IFD pointer (8769),
 * Exif IFD with DateTimeOriginal (9003), twenty ASCII bytes with the final NUL.
 */
function block(time: string, little: boolean, prefix = ""): Uint8Array {
  const tiff = Buffer.alloc(64);
  const view = new DataView(tiff.buffer, tiff.byteOffset, tiff.length);
  tiff.write(little ? "II" : "MM", "latin1");
  view.setUint16(2, 42, little);
  view.setUint32(4, 8, little);
  const entry = (at: number, tag: number, type: number, count: number, value: number) => {
    view.setUint16(at, tag, little);
    view.setUint16(at + 2, type, little);
    view.setUint32(at + 4, count, little);
    view.setUint32(at + 8, value, little);
  };
  view.setUint16(8, 1, little);
  entry(10, 0x8769, 4, 1, 26);
  view.setUint16(26, 1, little);
  entry(28, 0x9003, 2, 20, 44);
  tiff.write(`${time}\0`, 44, "latin1");
  return Buffer.concat([Buffer.from(prefix, "latin1"), tiff]);
}

it.each([
  [true, "Exif\0\0"],
  [true, ""],
  [false, "Exif\0\0"],
])("reads the time, little-endian %s, prefix %j", (little, prefix) => {
  expect(takenAt(block("2031:05:04 13:05:09", little, prefix))).toBe("2031-05-04T13:05:09");
});

it.each([
  "0000:00:00 00:00:00",
  "    :  :     :  :  ",
  "2031:13:04 13:05:09",
  "2031:06:31 10:00:00",
  "not a time at all..",
])("takes %j for no time", (time) => expect(takenAt(block(time, true))).toBeNull());

it("takes a missing or damaged block for no time", () => {
  expect(takenAt(undefined)).toBeNull();
  const whole = block("2031:05:04 13:05:09", true);
  for (let bytes = 0; bytes < whole.length - 1; bytes++) expect(() => takenAt(whole.subarray(0, bytes))).not.toThrow();
  const wild = Uint8Array.from(whole);
  wild.fill(0xff, 18, 22); // the pointer leads far outside
  expect(takenAt(wild)).toBeNull();
});
