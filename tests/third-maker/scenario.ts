import { Dice } from "./dice.ts";
import { ORES, type Ore } from "./minerals.ts";
import { makeTable, type Table } from "./tables.ts";

export const FAULTS = [
  "none",
  "rills",
  "starved",
  "overloaded",
  "bands low",
  "bands high",
  "no middling",
  "surging",
] as const;
export type Fault = (typeof FAULTS)[number];
export const LIGHTS = ["overcast", "sun", "hall tubes", "night lamp", "flash", "window"] as const;
export type Light = (typeof LIGHTS)[number];
export const THINGS = ["hose", "pipe", "hand", "brush", "rope"] as const;
export type Thing = (typeof THINGS)[number];

/** How far down the deck one kind of grains gets, as a share of the deck's width at the product end: 1 is its low corner. */
export interface Sector {
  readonly from: number;
  readonly to: number;
  /** Cover aimed at in the thick of the band. */
  readonly amount: number;
  /** How soft the sector's sides are, share of width. */
  readonly soft: number;
}

export interface Fan {
  readonly dense: Sector;
  readonly middling: Sector;
  readonly light: Sector;
  /** Paths are straight at 1; above, they bend down late. */
  readonly bend: number;
  /** How much paths wander, how streaky they are, how much riffles hold back. */
  readonly wander: number;
  readonly streaks: number;
  readonly hold: number;
}

export interface DryPlan {
  /** Shares of length and of width, and half-axes in mm. */
  readonly at: readonly [number, number];
  readonly reachMm: readonly [number, number];
  /** Share of the solids that stay on the dry patch. */
  readonly stranded: number;
}

/** Everything that one picture shows, before any of it is drawn. */
export interface Scenario {
  readonly seed: number;
  readonly dice: Dice;
  readonly table: Table;
  readonly ore: Ore;
  readonly fault: Fault;
  readonly fan: Fan;
  readonly dry: readonly DryPlan[];
  readonly rills: number;
  readonly light: Light;
  readonly outdoors: boolean;
  readonly thing: Thing | null;
}

export function plan(seed: number): Scenario {
  const dice = new Dice(seed);
  const fault = dice.on("fault").chance(0.5) ? FAULTS[1 + (seed % 7)]! : "none";
  const lightDice = dice.on("light");
  const ore = ORES[(seed * 7 + Math.floor(seed / 16)) % ORES.length]!;
  const light = LIGHTS[(seed + Math.floor(seed / 6)) % LIGHTS.length]!;
  return {
    seed,
    dice,
    table: makeTable(dice.on("table"), seed, [ore.dense[0]![0], ore.light[0]![0]]),
    ore,
    fault,
    fan: fanOf(dice.on("fan"), fault),
    dry: dryOf(dice.on("dry"), seed),
    rills: fault === "rills" ? dice.on("rills").whole(1, 3) : 0,
    light,
    outdoors: light === "overcast" || (light === "sun" && lightDice.chance(0.7)),
    thing: dice.on("thing").chance(0.32) ? dice.on("which").pick(THINGS) : null,
  };
}

function fanOf(dice: Dice, fault: Fault): Fan {
  let start = dice.between(0.05, 0.3);
  if (fault === "bands low") start = dice.between(0.5, 0.8);
  if (fault === "bands high") start = dice.between(-0.01, 0.02);
  const crowd = fault === "overloaded" ? 0.6 : fault === "bands high" ? 0.55 : 1;
  const denseWidth = dice.between(0.06, 0.2) * crowd;
  const gap = () => (dice.chance(0.5) ? dice.between(-0.04, 0.01) : dice.between(0.01, 0.08)) * crowd;
  const middlingFrom = start + denseWidth + gap();
  const middlingWidth = dice.between(0.08, 0.3) * crowd;
  const lightFrom = middlingFrom + middlingWidth + gap();
  const load = fault === "starved" ? 0.3 : fault === "overloaded" ? 2.4 : dice.between(0.85, 1.5);
  const soft = () => (dice.chance(0.5) ? dice.between(0.004, 0.015) : dice.between(0.02, 0.06));
  return {
    dense: { from: start, to: start + denseWidth, amount: 1.9 * load, soft: soft() },
    middling: {
      from: middlingFrom,
      to: middlingFrom + middlingWidth,
      amount: fault === "no middling" ? 0 : dice.between(0.9, 1.6) * load,
      soft: soft(),
    },
    light: {
      from: lightFrom,
      to: Math.max(lightFrom + 1, dice.between(2.6, 5.5)),
      amount: dice.between(0.9, 1.7) * load,
      soft: soft(),
    },
    bend: dice.between(0.9, 1.55),
    wander: dice.between(0.1, 0.35),
    streaks: dice.between(0.3, 0.95),
    hold: dice.between(0.35, 0.85),
  };
}

/** About every third deck has patches: the smooth corner, below the wash water, in the middle or at the drive. */
function dryOf(dice: Dice, seed: number): DryPlan[] {
  if (seed % 3 !== 1 && !dice.chance(0.08)) return [];
  return Array.from({ length: dice.whole(1, 3) }, () => {
    const at = dice.pick([
      [dice.between(0.82, 0.97), dice.between(0.02, 0.2)],
      [dice.between(0.45, 0.9), dice.between(0, 0.15)],
      [dice.between(0.5, 0.9), dice.between(0.2, 0.6)],
      [dice.between(0.02, 0.25), dice.between(0.5, 0.95)],
      [dice.between(0.75, 0.95), dice.between(0.5, 0.95)],
    ] as const);
    const size = dice.between(50, 190);
    return {
      at,
      reachMm: [size * dice.between(0.8, 2.2), size] as const,
      stranded: dice.chance(0.5) ? dice.between(0, 0.2) : dice.between(0.6, 1),
    };
  });
}
