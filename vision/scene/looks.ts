import { labToSrgb, srgbToLinear } from "../colour.ts";
import { bell, between, chance, pick, type Random } from "./random.ts";

/** Linear RGB, 0 to 1: the share of light sent back. */
export type Albedo = readonly [number, number, number];
export type Lab = readonly [number, number, number];
/** Range of CIELAB of a wet surface in white light. */
type Range = readonly [L: readonly [number, number], a: readonly [number, number], b: readonly [number, number]];

/** Common practice: how wet heaps of these look on a deck; ranges from memory, kept wide. */
const DENSE: Record<string, Range> = {
  "black sand": [
    [8, 26],
    [-2, 3],
    [-3, 5],
  ],
  hematite: [
    [16, 34],
    [4, 18],
    [2, 14],
  ],
  "grey sulphide": [
    [30, 58],
    [-3, 2],
    [-4, 6],
  ],
  "brass-yellow sulphide": [
    [40, 62],
    [-2, 6],
    [14, 34],
  ],
  cassiterite: [
    [18, 40],
    [2, 10],
    [6, 18],
  ],
  wolframite: [
    [10, 28],
    [0, 5],
    [-1, 6],
  ],
  scheelite: [
    [62, 84],
    [-2, 4],
    [4, 18],
  ],
  barite: [
    [66, 88],
    [-1, 4],
    [2, 12],
  ],
  garnet: [
    [22, 44],
    [14, 34],
    [6, 22],
  ],
  chromite: [
    [8, 24],
    [-2, 2],
    [-3, 4],
  ],
  zircon: [
    [58, 80],
    [0, 8],
    [6, 20],
  ],
  copper: [
    [36, 60],
    [12, 30],
    [14, 34],
  ],
  "lead and solder": [
    [38, 66],
    [-2, 2],
    [-5, 4],
  ],
  galena: [
    [26, 52],
    [-2, 2],
    [-6, 2],
  ],
  "native gold": [
    [48, 70],
    [4, 14],
    [28, 52],
  ],
};
const LIGHT: Record<string, Range> = {
  quartz: [
    [56, 84],
    [-1, 6],
    [4, 22],
  ],
  limestone: [
    [60, 86],
    [-2, 3],
    [2, 14],
  ],
  "red sand": [
    [36, 60],
    [14, 30],
    [16, 36],
  ],
  "green sand": [
    [30, 56],
    [-18, -4],
    [4, 20],
  ],
  feldspar: [
    [54, 78],
    [4, 16],
    [10, 26],
  ],
  "grey gangue": [
    [38, 64],
    [-3, 3],
    [-4, 8],
  ],
  "brown clay and sand": [
    [34, 58],
    [4, 14],
    [14, 32],
  ],
  coal: [
    [8, 26],
    [-2, 2],
    [-3, 4],
  ],
  "mixed plastic": [
    [28, 80],
    [-40, 45],
    [-45, 55],
  ],
  "circuit board": [
    [28, 50],
    [-30, -8],
    [2, 24],
  ],
  slag: [
    [16, 44],
    [-4, 4],
    [-6, 6],
  ],
  "beach sand": [
    [58, 80],
    [0, 8],
    [10, 28],
  ],
  olivine: [
    [36, 58],
    [-12, -2],
    [10, 28],
  ],
};
const DECK: Record<string, Range> = {
  "black rubber": [
    [10, 26],
    [-2, 2],
    [-4, 4],
  ],
  "grey composite": [
    [36, 66],
    [-3, 3],
    [-6, 5],
  ],
  "blue-green composite": [
    [34, 62],
    [-26, -6],
    [-18, 6],
  ],
  blue: [
    [28, 56],
    [-10, 8],
    [-42, -14],
  ],
  yellow: [
    [58, 82],
    [-4, 14],
    [26, 60],
  ],
  "brown boards": [
    [26, 52],
    [6, 18],
    [14, 34],
  ],
  "red-brown lining": [
    [28, 48],
    [16, 34],
    [12, 28],
  ],
  green: [
    [32, 60],
    [-38, -12],
    [4, 30],
  ],
  "white gel coat": [
    [76, 92],
    [-3, 2],
    [-2, 8],
  ],
  orange: [
    [50, 68],
    [24, 44],
    [30, 58],
  ],
  "sand-coated": [
    [44, 70],
    [0, 8],
    [8, 24],
  ],
  "dark green": [
    [18, 36],
    [-22, -6],
    [0, 16],
  ],
  concrete: [
    [50, 72],
    [-2, 3],
    [0, 10],
  ],
};

export interface Looks {
  readonly dense: Lab;
  readonly middling: Lab;
  readonly light: Lab;
  readonly deck: Lab;
  readonly riffle: Lab;
  readonly names: { readonly dense: string; readonly light: string; readonly deck: string };
}

const draw = (random: Random, range: Range): Lab =>
  range.map(([low, high]) => between(random, low, high) + 0.08 * (high - low) * bell(random)) as unknown as Lab;
const blend = (a: Lab, b: Lab, t: number): Lab => a.map((v, k) => v + (b[k]! - v) * t) as unknown as Lab;
const apart = (a: Lab, b: Lab) => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
/** Colours of stones and plastics of no kind in the lists. */
const anyColour = (random: Random): Lab => {
  const [hue, chroma] = [
    between(random, 0, 2 * Math.PI),
    chance(random, 0.5) ? between(random, 0, 12) : between(random, 5, 45),
  ];
  return [between(random, 8, 90), chroma * Math.cos(hue), chroma * Math.sin(hue)];
};
const entry = (random: Random, from: Record<string, Range>): [string, Lab] => {
  if (chance(random, 0.18)) return ["any", anyColour(random)];
  const name = pick(random, Object.keys(from));
  return [name, draw(random, from[name]!)];
};

/**
 * What dense, middling, light and deck look like: a named material, a blend of two, or any colour. Neighbours differ by at
 * least 15 CIELAB units, seldom 7 (less, nobody could tell), yet dense may be as the deck's colour nearly, and paler than light.
 */
export function drawLooks(random: Random): Looks {
  for (;;) {
    const [denseName, dense] = entry(random, DENSE);
    const [lightName, light] = entry(random, LIGHT);
    let [deckName, deck] = entry(random, DECK);
    if (chance(random, 0.15)) deck = blend(deck, entry(random, DECK)[1], random());
    const middling: Lab = chance(random, 0.7)
      ? (blend(dense, light, between(random, 0.25, 0.75)).map(
          (v, k) => v + bell(random) * (k ? 3 : 4),
        ) as unknown as Lab)
      : entry(random, LIGHT)[1];
    const least = chance(random, 0.1) ? 7 : 15;
    // a pale dense over dark light is seldom
    if (dense[0] > light[0] + 5 && chance(random, 0.5)) continue;
    if (Math.min(apart(dense, light), apart(deck, light), apart(dense, deck)) < least) continue;
    if (Math.min(apart(dense, middling), apart(middling, light)) < 0.6 * least) continue;
    const riffle: Lab = chance(random, 0.7)
      ? (deck.map((v, k) => v + bell(random) * (k ? 2 : 5)) as unknown as Lab)
      : entry(random, DECK)[1];
    return { dense, middling, light, deck, riffle, names: { dense: denseName, light: lightName, deck: deckName } };
  }
}

/** Held to 0.003 … 0.95: no real surface sends back none or all of the light. */
export const albedoOf = (lab: Lab): Albedo =>
  labToSrgb(lab).map((code) => Math.min(0.95, Math.max(0.003, srgbToLinear(code)))) as unknown as Albedo;
