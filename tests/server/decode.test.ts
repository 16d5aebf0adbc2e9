import { readFileSync } from "node:fs";
import { crc32, deflateSync } from "node:zlib";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { decode, MAX_PIXELS, MIN_SIDE_PX, preview } from "../../server/decode.ts";
import { farthest, HEIGHT, QUARTERS, quarterColours, quarters, WIDTH } from "./pictures.ts";

const HEIC = readFileSync(new URL("tiny.heic", import.meta.url));

describe("formats", () => {
  const still = () => quarters();
  const twoFrames = async () =>
    sharp([await quarters().png().toBuffer(), await quarters().negate().png().toBuffer()], {
      join: { animated: true },
    });
  it.each([
    ["jpeg", 3, async () => still().jpeg({ quality: 95 }).toBuffer()],
    ["png", 0, async () => still().png().toBuffer()],
    ["webp", 0, async () => still().webp({ lossless: true }).toBuffer()],
    ["avif", 4, async () => still().avif({ quality: 90 }).toBuffer()],
    ["tiff", 0, async () => still().tiff({ compression: "lzw" }).toBuffer()],
    ["gif", 2, async () => still().gif().toBuffer()],
    ["png", 1, async () => still().toColourspace("rgb16").png().toBuffer()],
    ["png", 2, async () => still().png({ palette: true }).toBuffer()],
    ["webp", 0, async () => (await twoFrames()).webp({ lossless: true }).toBuffer()],
    ["gif", 2, async () => (await twoFrames()).gif().toBuffer()],
    ["jpeg", 3, async () => still().jpeg({ quality: 95, progressive: true }).toBuffer()],
  ])("reads %s to within %i levels: upright RGBA, sRGB, first frame", async (format, levels, make) => {
    const { photo, ...header } = await decode(await make());
    expect(header).toMatchObject({ format, width: WIDTH, height: HEIGHT, takenAt: null });
    expect(photo).toMatchObject({ width: WIDTH, height: HEIGHT });
    expect(photo.rgba).toHaveLength(WIDTH * HEIGHT * 4);
    expect(farthest(quarterColours(photo), QUARTERS)).toBeLessThanOrEqual(levels);
    expect(photo.rgba.every((level, i) => i % 4 !== 3 || level === 255)).toBe(true);
  });

  it("reads a grey photo as three equal channels", async () => {
    const { photo } = await decode(await quarters().greyscale().toColourspace("b-w").png().toBuffer());
    for (const [r, g, b] of quarterColours(photo)) expect([g, b]).toEqual([r, r]);
  });

  it("reads a CMYK photo: colours come near, limited by the press profile", async () => {
    const { photo } = await decode(await quarters().toColourspace("cmyk").jpeg({ quality: 95 }).toBuffer());
    expect(farthest(quarterColours(photo), QUARTERS)).toBeLessThan(40);
  });

  it("lays a transparent photo on white", async () => {
    const background = { r: 255, g: 0, b: 0, alpha: 0.5 };
    const clear = await sharp({ create: { width: 400, height: 400, channels: 4, background } })
      .png()
      .toBuffer();
    const [colour] = quarterColours((await decode(clear)).photo);
    expect(farthest([colour ?? [0, 0, 0]], [[255, 127, 127]])).toBeLessThanOrEqual(1);
  });

  it("reads HEIC once turned, although a box and EXIF both say to turn it; its P3 colours come out as sRGB", async () => {
    const { photo, ...header } = await decode(HEIC); // see make-tiny-heic.mjs
    expect(header).toMatchObject({ format: "heic", width: 320, height: 400, takenAt: "2031-05-04T13:05:09" });
    expect(photo).toMatchObject({ width: 320, height: 400 });
    expect(farthest(quarterColours(photo), QUARTERS)).toBeLessThanOrEqual(3);
  });
});

// CIPA DC-008-2023 (Exif 3.0), 4.6.5.1, tag 0112: which visual sides the stored 0th row and 0th column are.
describe("EXIF orientation", () => {
  const right = WIDTH - 1;
  const bottom = HEIGHT - 1;
  const swapped: [number, number] = [HEIGHT, WIDTH];
  const same: [number, number] = [WIDTH, HEIGHT];
  it.each([
    [1, "top, left", (c: number, r: number) => [c, r] as const, same],
    [2, "top, right", (c: number, r: number) => [right - c, r] as const, same],
    [3, "bottom, right", (c: number, r: number) => [right - c, bottom - r] as const, same],
    [4, "bottom, left", (c: number, r: number) => [c, bottom - r] as const, same],
    [5, "left, top", (c: number, r: number) => [r, c] as const, swapped],
    [6, "right, top", (c: number, r: number) => [right - r, c] as const, swapped],
    [7, "right, bottom", (c: number, r: number) => [right - r, bottom - c] as const, swapped],
    [8, "left, bottom", (c: number, r: number) => [r, bottom - c] as const, swapped],
  ])("%i: the stored first row and column are the %s", async (orientation, _sides, from, size) => {
    const upright = (await decode(await quarters().png().toBuffer())).photo;
    const stored = quarters(from, size).withMetadata({ orientation });
    const png = (await decode(await stored.clone().png().toBuffer())).photo;
    expect(png).toMatchObject({ width: WIDTH, height: HEIGHT });
    expect(Buffer.compare(new Uint8Array(png.rgba), new Uint8Array(upright.rgba))).toBe(0);
    const jpeg = await decode(await stored.clone().jpeg({ quality: 95 }).toBuffer());
    expect(jpeg).toMatchObject({ width: WIDTH, height: HEIGHT });
    expect(farthest(quarterColours(jpeg.photo), QUARTERS)).toBeLessThanOrEqual(3);
  });
});

// CSS Color Module Level 4 (W3C), section 18, sample code: lin_P3_to_XYZ, then XYZ_to_lin_sRGB, both D65.
it("takes Display P3 to sRGB as CSS Color 4 does", async () => {
  const p3: readonly [number, number, number] = [0.65, 0.4, 0.35];
  const linear = p3.map((v) => ((v + 0.055) / 1.055) ** 2.4);
  const times = (rows: readonly (readonly number[])[], v: readonly number[]) =>
    rows.map((row) => row.reduce((sum, cell, i) => sum + cell * (v[i] ?? 0), 0));
  const xyz = times(
    [
      [608311 / 1250200, 189793 / 714400, 198249 / 1000160],
      [35783 / 156275, 247089 / 357200, 198249 / 2500400],
      [0, 32229 / 714400, 5220557 / 5000800],
    ],
    linear,
  );
  const srgb = times(
    [
      [12831 / 3959, -329 / 214, -1974 / 3959],
      [-851781 / 878810, 1648619 / 878810, 36519 / 878810],
      [705 / 12673, -2585 / 12673, 705 / 667],
    ],
    xyz,
  ).map((v) => Math.round(255 * (1.055 * v ** (1 / 2.4) - 0.055)));

  const stored = p3.map((v) => Math.round(v * 255));
  const flat = Buffer.from(Array.from({ length: 400 * 400 }, () => stored).flat());
  // sharp would convert on the way in: the profile is put on pixels that are in it already
  const png = await sharp(flat, { raw: { width: 400, height: 400, channels: 3 } })
    .png()
    .toBuffer();
  const profiled = await sharp(await quarters().withIccProfile("p3").png().toBuffer()).metadata();
  const { photo } = await decode(withIcc(png, profiled.icc ?? Buffer.alloc(0)));
  expect(farthest(quarterColours(photo).slice(0, 1), [[srgb[0] ?? 0, srgb[1] ?? 0, srgb[2] ?? 0]])).toBeLessThanOrEqual(
    1,
  );
});

describe("what is refused", () => {
  const text = (words: string) => Buffer.from(words);
  it.each([
    ["an empty file", "photo-empty", text("")],
    ["a text", "photo-not-an-image", text("hello, this is no photo")],
    ["zeros", "photo-not-an-image", Buffer.alloc(5000)],
    ["a drawing", "photo-format", text('<svg xmlns="http://www.w3.org/2000/svg" width="900" height="900"/>')],
    ["a drawing behind a prologue", "photo-format", text('\ufeff<?xml version="1.0"?>\n<!-- x -->\n<svg/>')],
    ["a PDF", "photo-format", text("%PDF-1.7\n")],
    ["a film", "photo-format", Buffer.from("\0\0\0\x18ftypmp42\0\0\0\0mp42isom", "latin1")],
    ["the start of a JPEG", "photo-broken", Buffer.from([0xff, 0xd8, 0xff, 0xe0])],
    ["the start of a HEIC", "photo-broken", HEIC.subarray(0, 64)],
  ])("%s: %s", async (_what, code, bytes) => {
    await expect(decode(bytes)).rejects.toMatchObject({ code, message: expect.stringMatching(/^[A-Z].*\.|\)$/) });
  });

  it.each([
    ["jpeg", () => quarters().jpeg()],
    ["png", () => quarters().png()],
    ["webp", () => quarters().webp()],
    ["avif", () => quarters().avif()],
    ["tiff", () => quarters().tiff()],
    ["gif", () => quarters().gif()],
  ])("a %s cut short", async (_format, make) => {
    const bytes = await make().toBuffer();
    for (const share of [0.3, 0.8]) {
      const cut = bytes.subarray(0, Math.floor(bytes.length * share));
      await expect(decode(cut)).rejects.toMatchObject({ code: "photo-broken" });
    }
  });

  it("a HEIC cut short", async () => {
    await expect(decode(HEIC.subarray(0, HEIC.length - 400))).rejects.toMatchObject({ code: "photo-broken" });
  });

  it("a PNG and a JPEG with a damaged body", async () => {
    const png = await quarters().png({ compressionLevel: 0 }).toBuffer();
    png.fill(0x55, png.length >> 1, (png.length >> 1) + 40);
    await expect(decode(png)).rejects.toMatchObject({ code: "photo-broken" });
    const jpeg = await quarters().jpeg().toBuffer();
    jpeg.fill(0xff, jpeg.length - 300, jpeg.length - 100);
    await expect(decode(jpeg)).rejects.toMatchObject({ code: "photo-broken" });
  });

  it("a photo below the least side, and reads one at it", async () => {
    const blank = (side: number) =>
      sharp({ create: { width: 600, height: side, channels: 3, background: "#808080" } })
        .png()
        .toBuffer();
    await expect(decode(await blank(MIN_SIDE_PX - 1))).rejects.toMatchObject({ code: "photo-too-small" });
    expect(await decode(await blank(MIN_SIDE_PX))).toMatchObject({ height: MIN_SIDE_PX });
  });

  it("a small file that would unfold to more pixels than are read, before it unfolds", async () => {
    const side = Math.ceil(Math.sqrt(MAX_PIXELS)) + 1;
    const bomb = await sharp({ create: { width: side, height: side, channels: 3, background: "#808080" } })
      .png()
      .toBuffer();
    expect(bomb.length).toBeLessThan(1e6);
    await expect(decode(bomb)).rejects.toMatchObject({ code: "photo-too-large" });
  });

  it("a file that is too large", async () => {
    await expect(decode(Buffer.alloc(60e6 + 1, 0xff))).rejects.toMatchObject({ code: "photo-too-large" });
  });
});

it("previews a photo upright, no larger than asked and never enlarged", async () => {
  const { header, jpeg } = await preview(await quarters().withMetadata({ orientation: 6 }).jpeg().toBuffer(), 200);
  expect(header).toMatchObject({ width: HEIGHT, height: WIDTH });
  expect(await sharp(jpeg).metadata()).toMatchObject({ format: "jpeg", width: 165, height: 200 });
  const whole = await preview(await quarters().jpeg().toBuffer(), 2000);
  expect(await sharp(whole.jpeg).metadata()).toMatchObject({ width: WIDTH, height: HEIGHT });
});

/** Put an iCCP chunk into a PNG, behind its header (W3C PNG 3rd ed., 11.3.2.3). */
function withIcc(png: Buffer, icc: Buffer): Buffer {
  const data = Buffer.concat([Buffer.from("P3\0\0", "latin1"), deflateSync(icc)]);
  const body = Buffer.concat([Buffer.from("iCCP", "latin1"), data]);
  const chunk = Buffer.alloc(body.length + 8);
  chunk.writeUInt32BE(data.length, 0);
  chunk.set(body, 4);
  chunk.writeUInt32BE(crc32(body), body.length + 4);
  return Buffer.concat([png.subarray(0, 33), chunk, png.subarray(33)]);
}
