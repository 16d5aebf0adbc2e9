// Makes tiny.heic, as a phone held upright does: stored lying down, an `irot` box and an EXIF orientation both saying how
// to turn it, a Display P3 profile, and the time of the shot. Invented content: four coloured quarters. Needs heif-enc
// (Debian package libheif-examples 1.15.1, encoder x265). Run: node tests/server/make-tiny-heic.mjs
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import sharp from "sharp";

const quarter = (background, left, top) => ({
  input: { create: { width: 160, height: 200, channels: 3, background } },
  left,
  top,
});
const upright = await sharp({ create: { width: 320, height: 400, channels: 3, background: "#000000" } })
  .composite([
    quarter("#b04040", 0, 0),
    quarter("#40b040", 160, 0),
    quarter("#4040b0", 0, 200),
    quarter("#c0c0c0", 160, 200),
  ])
  .png()
  .toBuffer();
const lying = await sharp(upright).rotate(270).png().toBuffer();
const jpeg = await sharp(lying)
  .withExifMerge({ IFD2: { DateTimeOriginal: "2031:05:04 13:05:09" } })
  .withMetadata({ orientation: 6 })
  .withIccProfile("p3")
  .jpeg({ quality: 100, chromaSubsampling: "4:4:4" })
  .toBuffer();

const folder = mkdtempSync(join(tmpdir(), "heic-"));
writeFileSync(join(folder, "lying.jpg"), jpeg);
execFileSync("heif-enc", ["-q", "80", "-p", "chroma=444", join(folder, "lying.jpg"), "-o", join(folder, "lying.heic")]);
writeFileSync(new URL("tiny.heic", import.meta.url), turned(readFileSync(join(folder, "lying.heic")), 3));
rmSync(folder, { recursive: true });

/** Add an `irot` box (quarter turns anticlockwise; ISO/IEC 23008-12, 6.5.10) to every item that has properties. */
function turned(file, quarterTurns) {
  const meta = box(file, 0, file.length, "meta");
  const iprp = box(file, meta.at + 12, meta.end, "iprp");
  const ipco = box(file, iprp.at + 8, iprp.end, "ipco");
  const ipma = box(file, iprp.at + 8, iprp.end, "ipma");
  let properties = 0;
  for (let at = ipco.at + 8; at < ipco.end; at += file.readUInt32BE(at)) properties++;

  const irot = Buffer.from([0, 0, 0, 9, ...Buffer.from("irot"), quarterTurns]);
  const items = file.readUInt32BE(ipma.at + 12);
  const entries = [];
  for (let i = 0, at = ipma.at + 16; i < items; i++) {
    const count = file[at + 2];
    entries.push(file.subarray(at, at + 2), Buffer.from([count + 1]), file.subarray(at + 3, at + 3 + count));
    entries.push(Buffer.from([0x80 | (properties + 1)]));
    at += 3 + count;
  }
  const newIpma = Buffer.concat([file.subarray(ipma.at, ipma.at + 16), ...entries]);
  newIpma.writeUInt32BE(newIpma.length, 0);
  const grown = irot.length + newIpma.length - (ipma.end - ipma.at);

  const head = Buffer.from(file.subarray(0, ipco.end));
  head.writeUInt32BE(ipco.end - ipco.at + irot.length, ipco.at);
  head.writeUInt32BE(iprp.end - iprp.at + grown, iprp.at);
  head.writeUInt32BE(meta.end - meta.at + grown, meta.at);
  const after = Buffer.concat([head, irot, file.subarray(ipco.end, ipma.at), newIpma, file.subarray(ipma.end)]);
  shiftOffsets(after, box(after, meta.at + 12, meta.end, "iloc"), grown);
  return after;
}

/** Item places (`iloc`, version 0, all sizes four bytes) have a base that counts from the file's start: move it on. */
function shiftOffsets(file, iloc, by) {
  if (file.readUInt32BE(iloc.at + 8) !== 0 || file.readUInt16BE(iloc.at + 12) !== 0x4440)
    throw new Error("another iloc");
  for (let i = 0, at = iloc.at + 16; i < file.readUInt16BE(iloc.at + 14); i++, at += 18) {
    if (file.readUInt16BE(at + 8) !== 1) throw new Error("an item in several pieces");
    file.writeUInt32BE(file.readUInt32BE(at + 4) + by, at + 4);
  }
}

function box(file, from, to, type) {
  for (let at = from; at < to; at += file.readUInt32BE(at)) {
    if (file.toString("latin1", at + 4, at + 8) === type) return { at, end: at + file.readUInt32BE(at) };
  }
  throw new Error(`no ${type} box`);
}
