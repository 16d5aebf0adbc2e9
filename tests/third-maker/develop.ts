/** Traced light → a phone's photo: lens, exposure, tone, noise, sharpening. */
import type { Camera } from "./camera.ts";
import { straightened } from "./camera.ts";
import type { Dice } from "./dice.ts";
import type { Picture } from "./truth.ts";

/** Linear light, three numbers a pixel, 0 to 1. */
export interface Traced {
  readonly width: number;
  readonly height: number;
  readonly rgb: Float32Array;
}

/** Read a 16-bit binary PPM. */
export function parsePpm(bytes: Buffer): Traced {
  const head = /^P6\s+(?:#.*\s+)*(\d+)\s+(\d+)\s+65535\s/.exec(bytes.toString("latin1", 0, 200));
  if (!head) throw new Error("the ray tracer's picture is not a 16-bit PPM");
  const [width, height] = [Number(head[1]), Number(head[2])];
  const rgb = new Float32Array(width * height * 3);
  for (let i = 0, at = head[0].length; i < rgb.length; i++, at += 2) rgb[i] = bytes.readUInt16BE(at) / 65535;
  return { width, height, rgb };
}

/** The traced picture, a little finer than the photo, through the lens onto the photo's pixels. */
export function throughLens(traced: Traced, camera: Camera): Traced {
  const { width, height } = camera;
  const [finerX, finerY] = [traced.width / width, traced.height / height];
  const row = 3 * traced.width;
  const rgb = new Float32Array(3 * width * height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const [sx, sy] = straightened(camera, [x + 0.5, y + 0.5]);
      const cx = Math.min(traced.width - 1.001, Math.max(0, sx * finerX - 0.5));
      const cy = Math.min(traced.height - 1.001, Math.max(0, sy * finerY - 0.5));
      const [x0, y0] = [Math.floor(cx), Math.floor(cy)];
      const [u, v] = [cx - x0, cy - y0];
      const i = row * y0 + 3 * x0;
      for (let k = 0; k < 3; k++) {
        const top = traced.rgb[i + k]! * (1 - u) + traced.rgb[i + 3 + k]! * u;
        const low = traced.rgb[i + row + k]! * (1 - u) + traced.rgb[i + row + 3 + k]! * u;
        rgb[3 * (y * width + x) + k] = top * (1 - v) + low * v;
      }
    }
  }
  return { width, height, rgb };
}

/** Small Gaussian blur of an interleaved picture. */
function blur(rgb: Float32Array, width: number, height: number, sigma: number): Float32Array {
  if (sigma < 0.25) return rgb;
  const r = Math.ceil(2.6 * sigma);
  const kernel = Array.from({ length: 2 * r + 1 }, (_, k) => Math.exp(-((k - r) ** 2) / (2 * sigma ** 2)));
  const total = kernel.reduce((a, b) => a + b, 0);
  const pass = (from: Float32Array, step: number, limit: (i: number) => [at: number, length: number]) => {
    const out = new Float32Array(from.length);
    for (let p = 0; p < width * height; p++) {
      const [at, length] = limit(p);
      for (let k = -r; k <= r; k++) {
        const clamped = Math.min(length - 1, Math.max(0, at + k)) - at;
        const w = kernel[k + r]! / total;
        const q = 3 * (p + clamped * step);
        out[3 * p]! += w * from[q]!;
        out[3 * p + 1]! += w * from[q + 1]!;
        out[3 * p + 2]! += w * from[q + 2]!;
      }
    }
    return out;
  };
  const wide = pass(rgb, 1, (p) => [p % width, width]);
  return pass(wide, width, (p) => [Math.floor(p / width), height]);
}

export interface Phone {
  readonly exposure: number;
  readonly blurPx: number;
  readonly noise: number;
  readonly quality: number;
  readonly sharpen: number;
  /** Gain of red and blue. */
  readonly warmth: readonly [red: number, blue: number];
  readonly contrast: number;
  /** Does the phone widen dull tones? */
  readonly stretched: boolean;
}

export function phoneOf(dice: Dice, light: string): Phone {
  const dim = light === "night lamp" || light === "flash";
  const warm = dice.normal() * 0.045;
  return {
    exposure: dice.between(0.75, 1.2),
    blurPx: dice.chance(0.15) ? dice.between(1.1, 1.7) : dice.between(0.4, 0.9),
    noise: dim ? dice.between(0.006, 0.016) : dice.between(0.002, 0.007),
    quality: dice.whole(80, 94),
    sharpen: dice.between(0.2, 0.7),
    warmth: [1 + warm, 1 - warm],
    contrast: dice.between(0.85, 1.1),
    stretched: true,
  };
}

/**
 * @param onDeck  1 where the deck is, to expose by.
 * @returns 8-bit sRGB, before JPEG.
 */
export function develop(traced: Traced, onDeck: Uint8Array, phone: Phone, dice: Dice): Picture {
  const { width, height } = traced;
  let linear = blur(traced.rgb, width, height, phone.blurPx);
  const grey = (i: number) => 0.25 * linear[3 * i]! + 0.6 * linear[3 * i + 1]! + 0.15 * linear[3 * i + 2]!;
  const deck: number[] = [];
  const whole: number[] = [];
  for (let i = 0; i < width * height; i += 7) (onDeck[i] ? deck : whole).push(Math.min(1, grey(i)));
  const mean = (list: number[]) => list.reduce((a, b) => a + Math.sqrt(b), 0) / Math.max(1, list.length);
  const level = (deck.length > 0 ? 0.75 * mean(deck) + 0.25 * mean(whole) : mean(whole)) ** 2;
  const gain = (0.23 * phone.exposure) / Math.max(1e-4, level);
  const gains = [gain * phone.warmth[0], gain, gain * phone.warmth[1]];
  const tone = new Float32Array(linear.length);
  const shade = (i: number) => {
    const [x, y] = [(i % width) / width - 0.5, Math.floor(i / width) / height - 0.5];
    return 1 - 0.35 * (x * x + y * y);
  };
  for (let i = 0; i < width * height; i++) {
    const s = shade(i);
    // shot noise grows with the root of light; the same part in all channels is luma noise
    const common = dice.unit() + dice.unit() - 1;
    for (let k = 0; k < 3; k++) {
      const light = (0.8 * linear[3 * i + k]! + 0.2 * grey(i)) * gains[k]! * s;
      const own = dice.unit() + dice.unit() - 1;
      const noisy = light + phone.noise * (1.6 * common + 0.9 * own) * Math.sqrt(0.05 + 4 * Math.max(0, light)) * 1.2;
      tone[3 * i + k] = curve(Math.max(0, noisy), phone.contrast);
    }
  }
  linear = phone.stretched ? stretch(tone) : tone;
  const soft = blur(linear, width, height, 1.3);
  const rgb = new Uint8Array(linear.length);
  for (let i = 0; i < rgb.length; i++) {
    rgb[i] = Math.round(255 * Math.min(1, Math.max(0, linear[i]! + phone.sharpen * (linear[i]! - soft[i]!))));
  }
  return { width, height, rgb };
}

/** Phones widen a dull picture: the darkest and brightest hundredths go near black and white, within limits. */
function stretch(tone: Float32Array): Float32Array {
  const counts = new Uint32Array(257);
  for (let i = 1; i < tone.length; i += 3) counts[Math.round(256 * Math.min(1, Math.max(0, tone[i]!)))]!++;
  const at = (share: number) => {
    let [value, passed] = [0, 0];
    while (value < 256 && passed + counts[value]! < (share * tone.length) / 3) passed += counts[value++]!;
    return value / 256;
  };
  const black = Math.max(0, Math.min(0.12, at(0.01) - 0.03));
  const gain = Math.min(1.25, Math.max(0.92, 0.88 / Math.max(0.05, at(0.985) - black)));
  return tone.map((value) => (value - black) * gain);
}

/** Linear light → display value, with a shoulder for highlights and a little contrast. */
function curve(light: number, contrast: number): number {
  const held = light < 0.55 ? light : 0.55 + 0.45 * (1 - Math.exp(-(light - 0.55) / 0.52));
  const display = held <= 0.0031308 ? 12.92 * held : 1.055 * held ** (1 / 2.4) - 0.055;
  return 0.46 + (display - 0.46) * contrast + 0.02 * (1 - contrast);
}
