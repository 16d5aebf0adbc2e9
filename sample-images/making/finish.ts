import sharp from "sharp";
import type { Scenario } from "./scenario.ts";

const SATURATION = 0.77; // Filmic's contrast look makes colours too rich for a phone photo
const HEADROOM = 1.07; // the brightest glare clips, as in a phone photo
const COLOUR_BLUR_PX = 1.4; // phones smear colour noise, not light and dark

/**
 * Raw render to phone photo: white balance, vignette, softness, sensor noise, sharpening, JPEG.
 *
 * @param balance  Mean red, green and blue of the metered picture over its green.
 */
export async function finish(s: Scenario, rawFile: string, balance: number[], file: string): Promise<void> {
  const { pixels: raw, width, height } = await sixteenBit(rawFile, 0.3 + s.photo.blur * 0.5);
  const { pixels: chroma } = await sixteenBit(rawFile, Math.max(COLOUR_BLUR_PX, 0.3 + s.photo.blur * 0.5));
  const out = Buffer.alloc(width * height * 3);
  const gain = balance.map((b, c) => b ** (-0.6 / 2.2) * (1 + s.photo.warmth * [1, 0.1, -1][c]!)); // 60 % of the way to grey, on display values
  const gauss = normalFrom(s.seed);
  for (let j = 0; j < height; j++)
    for (let i = 0; i < width; i++) {
      const r2 = (((i - width / 2) ** 2 + (j - height / 2) ** 2) / (width ** 2 + height ** 2)) * 4;
      const shade = 1 - s.photo.vignette * r2;
      const luma = gauss();
      const at = (j * width + i) * 3;
      const [grey, smoothGrey] = [greyOf(raw, at), greyOf(chroma, at)];
      for (let c = 0; c < 3; c++) {
        const v =
          Math.min(255, ((grey + (chroma[at + c]! - smoothGrey) * SATURATION) / 257) * gain[c]! * HEADROOM) * shade;
        const sigma = s.photo.noise * 0.6 * (0.9 + 1.3 * Math.sqrt(Math.max(0, 1 - v / 255)));
        out[at + c] = Math.max(0, Math.min(255, v + sigma * (0.8 * luma + 0.6 * gauss())));
      }
    }
  await sharp(out, { raw: { width, height, channels: 3 } })
    .sharpen({ sigma: 0.9, m1: 0.5, m2: 1.4 })
    .withExif({
      IFD0: {
        Software: "deckbands sample maker",
        ImageDescription: s.title,
        Copyright: "CC0-1.0",
        DateTime: s.photo.date,
      },
    })
    .jpeg({ quality: s.photo.quality, chromaSubsampling: "4:2:0", mozjpeg: true })
    .toFile(file);
}

async function sixteenBit(file: string, blurPx: number) {
  const { data, info } = await sharp(file)
    .blur(blurPx)
    .removeAlpha()
    .toColourspace("rgb16")
    .raw({ depth: "ushort" })
    .toBuffer({ resolveWithObject: true });
  const pixels = new Uint16Array(data.buffer, data.byteOffset, data.length / 2);
  return { pixels, width: info.width, height: info.height };
}

const greyOf = (pixels: Uint16Array, at: number) => (pixels[at]! + 2 * pixels[at + 1]! + pixels[at + 2]!) / 4;

/** Normal noise: a sum of four numbers of a linear congruential generator. */
function normalFrom(seed: number): () => number {
  let state = (seed * 2654435761) >>> 0;
  const random = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 4294967296;
  };
  return () => (random() + random() + random() + random() - 2) * 1.73;
}
