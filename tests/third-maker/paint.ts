/** Cover → pictures that the ray tracer lays on the deck: colours, film and relief. */
import sharp from "sharp";
import { type Cover, finer } from "./cover.ts";
import type { Dice } from "./dice.ts";
import { type Field, lumps, ramp, smooth } from "./fields.ts";
import type { Grains } from "./minerals.ts";
import type { Scenario } from "./scenario.ts";
import type { Skin } from "./tables.ts";

type Colour = [r: number, g: number, b: number];

export interface Paint {
  readonly width: number;
  readonly height: number;
  /** sRGB. */
  readonly colour: Uint8Array;
  /** 0 dry and matte, 128 wet grains, 255 whole water film. */
  readonly film: Uint8Array;
  /** Height of what light meets, mm above the deck: grains and ripples, without riffles. */
  readonly reliefMm: Float32Array;
}

export const parseColour = (hex: string): Colour =>
  [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16)) as Colour;

export function paintDeck(scene: Scenario, cover: Cover, perMm: number): Paint {
  const { table, ore } = scene;
  const width = Math.round(table.lengthMm * perMm);
  const height = Math.round(table.widthMm * perMm);
  const dice = scene.dice.on("paint");
  const base = paintSkin(dice.on("skin"), table.skin, width, height, perMm);
  const at = cover.solids.map((s) => finer(s, perMm));
  const [bedAt, brokenAt, riffleAt] = [cover.bed, cover.broken, cover.riffle].map((f) => finer(f, perMm)) as [
    ReturnType<typeof finer>,
    ReturnType<typeof finer>,
    ReturnType<typeof finer>,
  ];
  const grains = grainPicker(
    dice.on("grain"),
    [ore.dense, ore.middling, ore.light],
    width,
    height,
    ore.grainMm * perMm,
  );
  const presence = evenNoise(dice.on("presence"), width, height, perMm);
  const tone = lumps(dice.on("tone"), width, height, 220 * perMm, 9 * perMm, 2);
  const ripple = ripples(scene, cover, width, height, perMm);
  const riffleTint = parseColour(table.skin.riffleColour);
  const slime = meanColour(ore.light);
  const cloudy = dice.between(0.02, 0.14);
  const colour = new Uint8Array(width * height * 3);
  const film = new Uint8Array(width * height);
  const reliefMm = new Float32Array(width * height);
  const noise = dice.on("pixel");
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      const shares = [at[0]!(x, y), at[1]!(x, y), at[2]!(x, y)] as const;
      const all = shares[0] + shares[1] + shares[2];
      const broken = brokenAt(x, y);
      const bed = bedAt(x, y);
      const there = all > 0.01 && presence.data[i]! < all;
      let c: Colour;
      if (there) {
        c = grains(x, y, shares, all);
        const shade = 1 + 0.1 * tone.data[i]!;
        c = [c[0] * shade, c[1] * shade, c[2] * shade];
      } else {
        c = [base[3 * i]!, base[3 * i + 1]!, base[3 * i + 2]!];
        if (riffleAt(x, y) > 0.15) c = mix(c, riffleTint, 0.65);
        c = mix(c, slime, cloudy * Math.min(1, 0.25 + 2 * shares[2]));
      }
      if (broken > 0.02) {
        // drying pales and greys; the border keeps a dark wet rim
        const grey = 0.3 * c[0] + 0.5 * c[1] + 0.2 * c[2];
        const pale = mix(mix(c, [grey, grey, grey], 0.3), [214, 208, 198], there ? 0.33 : 0.26);
        c = mix(c, pale, ramp(0.35, 0.8, broken));
        const rim = 1 - 0.22 * ramp(0.1, 0.4, broken) * (1 - ramp(0.4, 0.6, broken));
        c = [c[0] * rim, c[1] * rim, c[2] * rim];
      }
      for (let k = 0; k < 3; k++) colour[3 * i + k] = Math.max(0, Math.min(255, c[k]!));
      const rough = there ? Math.min(1, 0.45 + 0.5 * bed) : 0;
      film[i] = 255 * (1 - broken) * (1 - 0.5 * rough);
      const lump = there ? ore.grainMm * (0.12 + 0.3 * noise.unit()) : 0;
      reliefMm[i] = 0.9 * ore.grainMm * Math.min(3, bed) + lump + (1 - broken) * ripple.data[i]!;
    }
  }
  foam(dice.on("foam"), scene, { width, height, colour, film, reliefMm }, perMm);
  return { width, height, colour, film, reliefMm };
}

const mix = (a: Colour, b: Colour, t: number): Colour => [
  a[0] + (b[0] - a[0]) * t,
  a[1] + (b[1] - a[1]) * t,
  a[2] + (b[2] - a[2]) * t,
];

function meanColour(grains: Grains): Colour {
  const total = grains.reduce((sum, [, share]) => sum + share, 0);
  return grains.reduce<Colour>((sum, [hex, share]) => mix(sum, parseColour(hex), share / total), [128, 128, 128]);
}

/** 0 to 1, each value as likely, drawn out along the flow: so a share of cells below c is c, in streaks. */
function evenNoise(dice: Dice, width: number, height: number, perMm: number): Field {
  const streak = lumps(dice, width, height, 26 * perMm, 2.4 * perMm, 2);
  const long = lumps(dice, width, height, 120 * perMm, 5 * perMm, 1);
  const [streaky, lasting] = [dice.between(0.1, 0.5), dice.between(0.05, 0.35)];
  let [sum, squares] = [0, 0];
  for (let i = 0; i < streak.data.length; i++) {
    const value =
      streaky * streak.data[i]! + lasting * long.data[i]! + 0.9 * (dice.unit() + dice.unit() + dice.unit() - 1.5);
    streak.data[i] = value;
    sum += value;
    squares += value * value;
  }
  const mean = sum / streak.data.length;
  const spread = Math.sqrt(squares / streak.data.length - mean ** 2);
  // logistic curve near the normal distribution's (Bowling et al. 2009, from memory)
  for (let i = 0; i < streak.data.length; i++)
    streak.data[i] = 1 / (1 + Math.exp((-1.702 * (streak.data[i]! - mean)) / spread));
  return streak;
}

/** A grain's colour at a texel: grains larger than a texel are cells round scattered middles. */
function grainPicker(dice: Dice, kinds: readonly Grains[], width: number, height: number, sizeTx: number) {
  const tables = kinds.map((grains) => {
    const total = grains.reduce((sum, [, share]) => sum + share, 0);
    return grains.flatMap(([hex, share]) =>
      Array<Colour>(Math.max(1, Math.round((40 * share) / total))).fill(parseColour(hex)),
    );
  });
  const size = Math.max(1, sizeTx);
  const [nx, ny] = [Math.ceil(width / size) + 2, Math.ceil(height / size) + 2];
  const random = () => Float32Array.from({ length: nx * ny }, () => dice.unit());
  const [ox, oy, kind, which, light] = [random(), random(), random(), random(), random()];
  return (x: number, y: number, shares: readonly [number, number, number], all: number): Colour => {
    const [cx, cy] = [Math.floor(x / size) + 1, Math.floor(y / size) + 1];
    let best = cy * nx + cx;
    if (size > 1) {
      let near = 9;
      for (let dy = -1; dy <= 0; dy++) {
        for (let dx = -1; dx <= 0; dx++) {
          const k = (cy + dy) * nx + cx + dx;
          const d = (x / size + 1 - (cx + dx) - ox[k]!) ** 2 + (y / size + 1 - (cy + dy) - oy[k]!) ** 2;
          if (d < near) [near, best] = [d, k];
        }
      }
    }
    const r = kind[best]! * all;
    const table = tables[r < shares[0] ? 0 : r < shares[0] + shares[1] ? 1 : 2]!;
    const c = table[Math.min(table.length - 1, Math.floor(which[best]! * table.length))]!; // a float of 32 bits may come out as 1
    const shade = 0.8 + 0.4 * light[best]!;
    return [c[0] * shade, c[1] * shade, c[2] * shade];
  };
}

/** The deck without anything on it, sRGB, 0 to 255. */
function paintSkin(dice: Dice, skin: Skin, width: number, height: number, perMm: number): Float32Array {
  const out = new Float32Array(width * height * 3);
  const base = parseColour(skin.colour);
  const along = lumps(
    dice,
    width,
    height,
    (skin.grain === "brushed" ? 400 : 150) * perMm,
    (skin.grain === "moulded" ? 60 : 1.6) * perMm,
    2,
  );
  const blotch = lumps(dice, width, height, 190 * perMm, 120 * perMm, 4);
  const drip = lumps(dice, width, height, 26 * perMm, 260 * perMm, 2);
  const [grainDepth, rust]: [number, Colour] = [
    { planks: 0.13, moulded: 0.03, sheet: 0.035, brushed: 0.05 }[skin.grain],
    dice.pick<Colour>([
      [110, 70, 40],
      [90, 84, 60],
      [70, 66, 62],
      [150, 140, 120],
    ]),
  ];
  const plank = dice.between(70, 130) * perMm;
  const tones = Array.from({ length: 60 }, () => dice.between(0.86, 1.1));
  for (let y = 0; y < height; y++) {
    const n = Math.floor(y / plank);
    const seam = skin.grain === "planks" && y - n * plank < 1.4 * perMm ? 0.55 : 1;
    const tone = skin.grain === "planks" ? tones[n % tones.length]! * seam : 1;
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      const shade =
        tone * (1 + grainDepth * along.data[i]! + skin.wear * 0.1 * blotch.data[i]! + 0.02 * (dice.unit() - 0.5));
      const stain = skin.wear * 0.4 * ramp(0.25, 1, 0.6 * blotch.data[i]! + 0.6 * drip.data[i]!);
      for (let k = 0; k < 3; k++) out[3 * i + k] = shade * (base[k]! + (rust[k]! - base[k]!) * stain);
    }
  }
  return out;
}

/** Water surface, mm: combed by the riffles, choppy, with fine wavelets. */
function ripples(scene: Scenario, cover: Cover, width: number, height: number, perMm: number): Field {
  const dice = scene.dice.on("ripples");
  const chop = lumps(dice, width, height, dice.between(16, 34) * perMm, dice.between(10, 22) * perMm, 2);
  const wavelet = lumps(dice, width, height, 6 * perMm, 9 * perMm, 1);
  const wobble = lumps(dice, width, height, 90 * perMm, 30 * perMm, 1);
  const riffle = finer(smooth(cover.riffle, 3, 4, 2), perMm);
  const [strongChop, strongWavelet, comb] = [
    dice.between(0.1, 0.42),
    dice.between(0.015, 0.07),
    dice.between(0.03, 0.12),
  ];
  const out = chop;
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const i = y * width + x;
      const phase = (2 * Math.PI * (y / perMm)) / scene.table.pitchMm + 1.4 * wobble.data[i]!;
      out.data[i] =
        strongChop * chop.data[i]! + strongWavelet * wavelet.data[i]! + comb * Math.sin(phase) + 0.35 * riffle(x, y);
    }
  }
  return smooth(out, 1, 1, 1);
}

/** Bubbles adrift, thickest at the feed. */
function foam(dice: Dice, scene: Scenario, paint: Paint, perMm: number): void {
  const { table } = scene;
  const count = dice.chance(0.45) ? dice.whole(40, 500) : 0;
  for (let n = 0; n < count; n++) {
    const t = dice.unit() ** 1.5;
    const x = (table.feed[0][0] + t * 0.9 * table.lengthMm + dice.normal() * 20) * perMm;
    const y = (t * 0.6 + 0.4 * dice.unit()) * table.widthMm * perMm;
    const r = dice.between(0.7, 2.4) * perMm;
    for (let v = Math.floor(y - r); v <= y + r; v++) {
      for (let u = Math.floor(x - r); u <= x + r; u++) {
        const off = Math.hypot(u - x, v - y) / r;
        if (off > 1 || u < 0 || v < 0 || u >= paint.width || v >= paint.height) continue;
        const i = v * paint.width + u;
        if (paint.film[i]! < 60) continue;
        for (let k = 0; k < 3; k++)
          paint.colour[3 * i + k]! += (off > 0.6 ? 0.45 : 0.2) * (232 - paint.colour[3 * i + k]!);
        paint.reliefMm[i]! += 0.6 * (1 - off);
      }
    }
  }
}

/**
 * Write the three pictures the scene file names. Relief is padded to a square, since scaling it unevenly would bend its slopes.
 *
 * @returns height that white in the relief picture stands for, mm.
 */
export async function savePaint(paint: Paint, folder: string): Promise<number> {
  const { width, height } = paint;
  const raw = (channels: 1 | 3) => ({ raw: { width, height, channels } });
  await sharp(Buffer.from(paint.colour), raw(3)).png({ compressionLevel: 1 }).toFile(`${folder}/colour.png`);
  await sharp(Buffer.from(paint.film), raw(1))
    .toColourspace("b-w")
    .png({ compressionLevel: 1 })
    .toFile(`${folder}/film.png`);
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const z of paint.reliefMm) [low, high] = [Math.min(low, z), Math.max(high, z)];
  const range = Math.max(0.01, high - low);
  const side = Math.max(width, height);
  const square = new Uint16Array(side * side);
  for (let y = 0; y < side; y++) {
    for (let x = 0; x < side; x++) {
      const i = Math.min(height - 1, y) * width + Math.min(width - 1, x);
      square[y * side + x] = (65535 * (paint.reliefMm[i]! - low)) / range;
    }
  }
  await sharp(square, { raw: { width: side, height: side, channels: 1 } })
    .toColourspace("grey16")
    .png({ compressionLevel: 1 })
    .toFile(`${folder}/relief.png`);
  return range;
}
