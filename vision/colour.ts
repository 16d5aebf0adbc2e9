/** Colour: sRGB ↔ linear light ↔ XYZ ↔ CIELAB, all for daylight D65, and how different two colours look. */

export type Triple = readonly [number, number, number];

/** White of D65, 2° observer, Y = 1. */
const WHITE: Triple = [0.95047, 1, 1.08883];

/** Linear sRGB → XYZ, from the primaries and white of IEC 61966-2-1 to seven digits. */
const TO_XYZ: readonly Triple[] = [
  [0.4124564, 0.3575761, 0.1804375],
  [0.2126729, 0.7151522, 0.072175],
  [0.0193339, 0.119192, 0.9503041],
];
const FROM_XYZ: readonly Triple[] = [
  [3.2404542, -1.5371385, -0.4985314],
  [-0.969266, 1.8760108, 0.041556],
  [0.0556434, -0.2040259, 1.0572252],
];

/** CIE 15: below this share of white the cube root gives way to a straight line of slope KAPPA / 116. */
const EPSILON = 216 / 24389;
const KAPPA = 24389 / 27;

const times = (rows: readonly Triple[], [x, y, z]: Triple): Triple => [
  rows[0]![0] * x + rows[0]![1] * y + rows[0]![2] * z,
  rows[1]![0] * x + rows[1]![1] * y + rows[1]![2] * z,
  rows[2]![0] * x + rows[2]![1] * y + rows[2]![2] * z,
];

/** sRGB code, 0 to 255, → linear light, 0 to 1. Source: IEC 61966-2-1. */
export function srgbToLinear(code: number): number {
  const c = code / 255;
  return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
}

/** Linear light, 0 to 1, → sRGB code, 0 to 255, neither rounded nor clipped. Source: IEC 61966-2-1. */
export function linearToSrgb(value: number): number {
  return 255 * (value <= 0.0031308 ? 12.92 * value : 1.055 * value ** (1 / 2.4) - 0.055);
}

/** Linear RGB, 0 to 1, → XYZ with Y = 1 for white. */
export const linearToXyz = (rgb: Triple): Triple => times(TO_XYZ, rgb);

/** The lightness curve that CIELAB applies to each of X, Y and Z over white; 1 for white. */
const lightness = (t: number) => (t > EPSILON ? Math.cbrt(t) : (KAPPA * t + 16) / 116);

/** XYZ, Y = 1 for white, → CIELAB: L 0 to 100; a toward red, b toward yellow. Source: CIE 15. */
export function xyzToLab([x, y, z]: Triple): Triple {
  const fx = lightness(x / WHITE[0]);
  const fy = lightness(y / WHITE[1]);
  const fz = lightness(z / WHITE[2]);
  return [116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)];
}

/** sRGB codes, 0 to 255, → CIELAB. */
export function srgbToLab([r, g, b]: Triple): Triple {
  return xyzToLab(linearToXyz([srgbToLinear(r), srgbToLinear(g), srgbToLinear(b)]));
}

/** CIELAB → sRGB codes, neither rounded nor clipped: outside 0 to 255 where a screen cannot show the colour. */
export function labToSrgb([L, a, b]: Triple): Triple {
  const fy = (L + 16) / 116;
  const undo = (f: number) => (f ** 3 > EPSILON ? f ** 3 : (116 * f - 16) / KAPPA);
  const xyz: Triple = [WHITE[0] * undo(fy + a / 500), WHITE[1] * undo(fy), WHITE[2] * undo(fy - b / 200)];
  const [red, green, blue] = times(FROM_XYZ, xyz);
  return [linearToSrgb(red), linearToSrgb(green), linearToSrgb(blue)];
}

const degrees = (radians: number) => (radians * 180) / Math.PI;
const radians = (degrees: number) => (degrees * Math.PI) / 180;
/** 25⁷, where the correction for near-greys is half spent. */
const POW_25_7 = 25 ** 7;

/**
 * How different two CIELAB colours look: about 1 is the least that a person notices side by side.
 *
 * Source: Sharma, Wu & Dalal (2005), Color Res. Appl. 30 (1), 21–30, equations 2–22, with k_L = k_C = k_H = 1.
 */
export function deltaE2000([L1, a1, b1]: Triple, [L2, a2, b2]: Triple): number {
  const meanC7 = ((Math.hypot(a1, b1) + Math.hypot(a2, b2)) / 2) ** 7;
  const G = 0.5 * (1 - Math.sqrt(meanC7 / (meanC7 + POW_25_7))); // stretches a: greys look more alike than a tells
  const C1 = Math.hypot((1 + G) * a1, b1);
  const C2 = Math.hypot((1 + G) * a2, b2);
  const h1 = hue((1 + G) * a1, b1);
  const h2 = hue((1 + G) * a2, b2);

  const deltaL = L2 - L1;
  const deltaC = C2 - C1;
  const grey = C1 * C2 === 0; // a grey has no hue
  // Opposite hues differ by exactly 180° in pairs 9–16; rounding must not decide which way round is shorter.
  const far = Math.abs(h2 - h1) > 180 + 1e-9;
  const turn = h2 > h1 ? -360 : 360;
  const deltah = grey ? 0 : h2 - h1 + (far ? turn : 0);
  const deltaH = 2 * Math.sqrt(C1 * C2) * Math.sin(radians(deltah / 2));

  const L = (L1 + L2) / 2;
  const C = (C1 + C2) / 2;
  const sum = h1 + h2;
  const h = grey ? sum : (sum + (far ? (sum < 360 ? 360 : -360) : 0)) / 2;

  const T =
    1 -
    0.17 * Math.cos(radians(h - 30)) +
    0.24 * Math.cos(radians(2 * h)) +
    0.32 * Math.cos(radians(3 * h + 6)) -
    0.2 * Math.cos(radians(4 * h - 63));
  const SL = 1 + (0.015 * (L - 50) ** 2) / Math.sqrt(20 + (L - 50) ** 2); // mid-grey steps show best
  const SC = 1 + 0.045 * C; // strong colours hide a step in strength
  const SH = 1 + 0.015 * C * T; // and one in hue, by where on the circle
  const deltaTheta = 30 * Math.exp(-(((h - 275) / 25) ** 2));
  const RT = -2 * Math.sqrt(C ** 7 / (C ** 7 + POW_25_7)) * Math.sin(radians(2 * deltaTheta)); // blues lean

  const l = deltaL / SL;
  const c = deltaC / SC;
  const H = deltaH / SH;
  return Math.sqrt(Math.max(0, l * l + c * c + H * H + RT * c * H));
}

/** Hue angle, 0 to 360°. */
function hue(a: number, b: number): number {
  const angle = degrees(Math.atan2(b, a));
  return angle < 0 ? angle + 360 : angle;
}

/** Planes of one value a cell: L 0 to 100, a and b about −100 to 100. */
export interface LabPlanes {
  readonly L: Float32Array;
  readonly a: Float32Array;
  readonly b: Float32Array;
}

const CURVE_STEPS = 4096;
/** Cells converted in one call: short loops called often are compiled to fast code sooner than one long loop. */
const CHUNK = 4096;

/**
 * CIELAB of every cell at once, from tables instead of powers.
 *
 * @param rgba  4 bytes a cell; alpha is not looked at. Not modified.
 * @param gain  Linear-light factor for red, green and blue that takes out the colour of the light.
 * @returns Within 0.02 of `srgbToLab` in each of L, a and b. L passes 100 where a gain lifts a cell above white.
 */
export function labPlanes(rgba: Uint8ClampedArray | Uint8Array, gain: Triple): LabPlanes {
  const cells = rgba.length >> 2;
  const planes = { L: new Float32Array(cells), a: new Float32Array(cells), b: new Float32Array(cells) };
  const top = 1.001 * Math.max(...gain, 1e-6); // no cell's X, Y or Z over white exceeds the largest gain
  const scale = CURVE_STEPS / top;
  const curve = new Float64Array(CURVE_STEPS + 2);
  for (let i = 0; i < curve.length; i++) curve[i] = lightness(i / scale);
  const light = gain.map((factor) => Float64Array.from({ length: 256 }, (_, code) => factor * srgbToLinear(code)));
  const rows = TO_XYZ.flatMap((row, i) => row.map((share) => (share * scale) / WHITE[i]!));
  for (let from = 0; from < cells; from += CHUNK) {
    convert(rgba, light, Float64Array.from(rows), curve, planes, from, Math.min(cells, from + CHUNK));
  }
  return planes;
}

/** Cells `from` … `to − 1`; `m` takes linear RGB to steps along `curve` for X, Y and Z over white, row-major. */
function convert(
  rgba: Uint8ClampedArray | Uint8Array,
  [red, green, blue]: readonly Float64Array[],
  m: Float64Array,
  curve: Float64Array,
  { L, a, b }: LabPlanes,
  from: number,
  to: number,
): void {
  for (let i = from; i < to; i++) {
    const r = red![rgba[4 * i]!]!;
    const g = green![rgba[4 * i + 1]!]!;
    const u = blue![rgba[4 * i + 2]!]!;
    const x = m[0]! * r + m[1]! * g + m[2]! * u;
    const y = m[3]! * r + m[4]! * g + m[5]! * u;
    const z = m[6]! * r + m[7]! * g + m[8]! * u;
    const ix = x | 0;
    const iy = y | 0;
    const iz = z | 0;
    const fx = curve[ix]! + (x - ix) * (curve[ix + 1]! - curve[ix]!);
    const fy = curve[iy]! + (y - iy) * (curve[iy + 1]! - curve[iy]!);
    const fz = curve[iz]! + (z - iz) * (curve[iz + 1]! - curve[iz]!);
    L[i] = 116 * fy - 16;
    a[i] = 500 * (fx - fy);
    b[i] = 200 * (fy - fz);
  }
}
