import type { Dice } from "./dice.ts";

export type Place = readonly [x: number, y: number];

/** How the deck's own skin is painted. */
export interface Skin {
  readonly name: string;
  /** sRGB of the wet deck. */
  readonly colour: string;
  readonly riffleColour: string;
  readonly grain: "planks" | "moulded" | "sheet" | "brushed";
  /** How patchy wear and stain are, 0 to 1. */
  readonly wear: number;
}

export const SKINS: readonly Skin[] = [
  { name: "pale pine", colour: "#a98452", riffleColour: "#b99562", grain: "planks", wear: 0.7 },
  { name: "old dark wood", colour: "#5b4433", riffleColour: "#6c5340", grain: "planks", wear: 0.9 },
  { name: "green fibreglass", colour: "#3d7158", riffleColour: "#3d7158", grain: "moulded", wear: 0.35 },
  { name: "grey rubber", colour: "#6d7174", riffleColour: "#5c6063", grain: "sheet", wear: 0.5 },
  { name: "blue fibreglass", colour: "#35567f", riffleColour: "#3b5d88", grain: "moulded", wear: 0.3 },
  { name: "red-brown linoleum", colour: "#7a3d30", riffleColour: "#b08a5f", grain: "sheet", wear: 0.6 },
  { name: "black rubber", colour: "#2c2e31", riffleColour: "#26282a", grain: "sheet", wear: 0.6 },
  { name: "cream polyurethane", colour: "#c9bd98", riffleColour: "#bdb08b", grain: "moulded", wear: 0.5 },
  { name: "stainless steel", colour: "#90959a", riffleColour: "#8a8f94", grain: "brushed", wear: 0.3 },
  { name: "turquoise paint", colour: "#4b8486", riffleColour: "#5b9192", grain: "sheet", wear: 0.8 },
  { name: "yellow polyurethane", colour: "#b3924a", riffleColour: "#a98841", grain: "moulded", wear: 0.4 },
  { name: "pale grey fibreglass", colour: "#aab0ad", riffleColour: "#b4bab7", grain: "moulded", wear: 0.5 },
];

/** One shaking table. Lengths in mm, deck coordinates. */
export interface Table {
  readonly hand: "right" | "left";
  readonly lengthMm: number;
  readonly widthMm: number;
  readonly outline: readonly [Place, Place, Place, Place];
  readonly rectangular: boolean;
  readonly skin: Skin;
  readonly pitchMm: number;
  readonly riffleWidthMm: number;
  /** Height of the riffles at the drive end. */
  readonly riffleHeightMm: number;
  /** Riffles end on the line from (x at y = 0) to (x at y = widthMm). */
  readonly endLine: readonly [number, number];
  /** Each n-th riffle runs on by this much; 0 none. */
  readonly longEvery: number;
  readonly firstRiffleMm: number;
  readonly feed: readonly [Place, Place];
  readonly wash: readonly [Place, Place];
  readonly washKind: "pipe" | "trough";
  /** Millimetres a metre: down the deck's y, and up along x. */
  readonly crossSlope: number;
  readonly endSlope: number;
  readonly heightMm: number;
}

/** [length, width, slant of the ends along x, kind] */
const SHAPES = [
  [1000, 450, 0, "rectangle"],
  [1260, 610, 0, "rectangle"],
  [1525, 760, 0, "rectangle"],
  [1830, 910, 0, "rectangle"],
  [1750, 800, 240, "rhomboid"],
  [1420, 640, 160, "rhomboid"],
  [2100, 1000, -260, "rhomboid"],
  [1640, 820, 190, "trapezoid"],
  [1180, 560, 110, "narrowing"],
  [2240, 1080, 0, "rectangle"],
] as const;

/** Least distance of the deck's colour from that of what lies on it, steps of sRGB: people choose decks on which they see the bands. */
const APART = 55;

const colourDistance = (a: string, b: string) =>
  Math.hypot(
    ...[1, 3, 5].map((at) => Number.parseInt(a.slice(at, at + 2), 16) - Number.parseInt(b.slice(at, at + 2), 16)),
  );

/** @param loads  Colours of what will lie on the deck. */
export function makeTable(dice: Dice, seed: number, loads: readonly string[]): Table {
  const turn = seed * 5 + Math.floor(seed / 12);
  const skins = SKINS.map((_, n) => SKINS[(turn + n) % SKINS.length]!);
  const skin = skins.find(({ colour }) => loads.every((load) => colourDistance(colour, load) > APART)) ?? skins[0]!;
  const [length, width, slant, kind] = SHAPES[(seed * 3 + Math.floor(seed / 10)) % SHAPES.length]!;
  const stretch = dice.between(0.95, 1.05);
  const [L, W, s] = [length, width, slant].map((mm) => Math.round((mm * stretch) / 5) * 5) as [number, number, number];
  const outline: Table["outline"] =
    kind === "rhomboid"
      ? s > 0
        ? [
            [0, 0],
            [L - s, 0],
            [L, W],
            [s, W],
          ]
        : [
            [-s, 0],
            [L, 0],
            [L + s, W],
            [0, W],
          ]
      : kind === "trapezoid"
        ? [
            [0, 0],
            [L, 0],
            [L - s, W],
            [0, W],
          ]
        : kind === "narrowing"
          ? [
              [0, 0],
              [L, s],
              [L, W],
              [0, W],
            ]
          : [
              [0, 0],
              [L, 0],
              [L, W],
              [0, W],
            ];
  const [high, far] = [outline[0], outline[1]];
  const along = (share: number): Place => [
    Math.round(high[0] + share * (far[0] - high[0])),
    Math.round(high[1] + share * (far[1] - high[1])),
  ];
  const feedEnd = dice.between(0.16, 0.33);
  const pitchMm = dice.between(13, 34) * Math.sqrt(W / 900);
  const endHigh = outline[1][0] * dice.between(0.42, 0.72);
  return {
    hand: dice.chance(0.5) ? "right" : "left",
    lengthMm: L,
    widthMm: W,
    outline,
    rectangular: kind === "rectangle",
    skin,
    pitchMm,
    riffleWidthMm: Math.max(4, pitchMm * dice.between(0.2, 0.34)),
    riffleHeightMm: dice.between(2.5, 7),
    endLine: [endHigh, Math.min(outline[2][0] * 0.97, endHigh + W * dice.between(0.15, 0.75))],
    longEvery: dice.chance(0.35) ? dice.whole(3, 6) : 0,
    firstRiffleMm: dice.between(25, 70),
    feed: [along(dice.between(0.01, 0.04)), along(feedEnd)],
    wash: [along(feedEnd + 0.03), along(dice.between(0.94, 0.99))],
    washKind: dice.chance(0.5) ? "pipe" : "trough",
    crossSlope: dice.between(14, 55),
    endSlope: dice.between(0, 9),
    heightMm: dice.between(700, 950),
  };
}

/** Riffles: middle y, start and end x, mm. */
export function rifflesOf(t: Table): { y: number; from: number; to: number }[] {
  const found = [];
  for (let n = 0, y = t.firstRiffleMm; y < t.widthMm - 12; n++, y += t.pitchMm) {
    const share = y / t.widthMm;
    const drive = leftAt(t, y) + 12;
    const longer = t.longEvery && n % t.longEvery === 0 ? t.lengthMm * 0.12 : 0;
    const end = Math.min(t.endLine[0] + share * (t.endLine[1] - t.endLine[0]) + longer, rightAt(t, y) - 15);
    if (y > topAt(t, drive) + 15 && end - drive > 60) found.push({ y, from: drive, to: end });
  }
  return found;
}

/** Height of a riffle at x, mm: it falls evenly to nothing. */
export const riffleHeight = (t: Table, riffle: { from: number; to: number }, x: number): number =>
  t.riffleHeightMm * Math.min(1, Math.max(0, (riffle.to - x) / (riffle.to - riffle.from)));

const between = ([ax, ay]: Place, [bx, by]: Place, y: number) => ax + ((y - ay) / (by - ay || 1)) * (bx - ax);
/** x of the drive end at y, and of the product end. */
export const leftAt = (t: Table, y: number): number => between(t.outline[0], t.outline[3], y);
export const rightAt = (t: Table, y: number): number => between(t.outline[1], t.outline[2], y);
/** y of the high side at x. */
export const topAt = (t: Table, x: number): number => {
  const [[ax, ay], [bx, by]] = t.outline;
  return ay + ((x - ax) / (bx - ax)) * (by - ay);
};

export const isOnDeck = (t: Table, x: number, y: number): boolean =>
  y >= topAt(t, x) && y <= t.widthMm && x >= leftAt(t, y) && x <= rightAt(t, y);
