/**
 * A plant to try advice on, made to be unlike the twin: two zones, a rough sheet, natural grains by Ferguson & Church,
 * a mobility that falls with the Rouse number, log-normal sizes, skewed bands, a film that breaks, fines that float off.
 * Every number is invented; nothing in `vision/twin/` is used. All draws come from the seed.
 */
import { fergusonChurch } from "../../vision/process/settling.ts";
import { waterAt } from "../../vision/process/water.ts";
import { bell, between, pick, type Random } from "../../vision/scene/random.ts";

export const NAMES = ["dense", "middling", "light"] as const;
type Name = (typeof NAMES)[number];
/** Number for each class. */
type Each = Record<Name, number>;

/** Twelve invented feeds: densities kg/m³ (common values), median sizes µm, share of dense and middling. */
const MATERIALS = [
  { name: "cassiterite in quartz", rho: [6950, 4100, 2650], um: [150, 160, 180], shares: [0.06, 0.14] },
  { name: "galena in calcite", rho: [7500, 4300, 2710], um: [140, 150, 170], shares: [0.08, 0.12] },
  { name: "chromite in olivine", rho: [4600, 3900, 3000], um: [190, 185, 180], shares: [0.25, 0.2] },
  { name: "ilmenite in quartz", rho: [4700, 3500, 2650], um: [180, 180, 190], shares: [0.2, 0.15] },
  { name: "magnetite in quartz", rho: [5180, 3700, 2650], um: [160, 165, 180], shares: [0.22, 0.18] },
  { name: "wolframite in granite", rho: [7300, 4200, 2630], um: [170, 180, 200], shares: [0.05, 0.12] },
  { name: "scheelite in calcite", rho: [6000, 4000, 2710], um: [170, 175, 190], shares: [0.07, 0.15] },
  { name: "zircon in quartz", rho: [4650, 3600, 2650], um: [140, 140, 150], shares: [0.15, 0.15] },
  { name: "tantalite in feldspar", rho: [7900, 4400, 2600], um: [150, 160, 180], shares: [0.05, 0.1] },
  { name: "barite in shale", rho: [4480, 3400, 2400], um: [210, 205, 200], shares: [0.25, 0.2] },
  { name: "copper in laminate", rho: [8960, 3500, 1850], um: [300, 320, 350], shares: [0.2, 0.15] },
  { name: "brass in glass", rho: [8500, 4200, 2500], um: [250, 280, 320], shares: [0.15, 0.12] },
] as const;

export interface PlantSettings {
  readonly wash: number; // L/min
  readonly slope: number; // mm/m
  readonly upper: number; // mm
  readonly lower: number; // mm
}
export type Best = PlantSettings & { readonly money: number };
export interface Plant {
  readonly material: string;
  readonly lengthMm: number;
  readonly widthMm: number;
  readonly feedWater: number; // L/min
  readonly feedKgPerHour: number;
  readonly strokeMm: number;
  readonly strokesPerMinute: number;
  readonly celsius: number;
  readonly rho: Each;
  readonly um: Each;
  readonly sigma: number; // of the logarithm of size
  readonly shares: Each;
  /** Money for each tonne of a class in each launder. */
  readonly perTonne: readonly Each[];
  // what the twin does not know
  readonly roughK: number;
  readonly mobility: number;
  readonly rouse: number;
  readonly power: number;
  readonly stallMPerS: number; // pull at which half of the bed stays in the riffles until it breaks out
  readonly hold: number; // of the riffles
  readonly grip: number;
  readonly riffleEnd: number; // share of the length
  readonly mixing: number;
  readonly wanderMm: number; // of the feed along its box, as it shows at the outlet
  readonly crowd: number; // mm of outlet for each kg/h
  readonly breakMm: number; // film thinner than this breaks
}
export const BIN_MM = 10;
/** kg/h in each bin of the outlet, and the share of the deck that is dry. */
export interface Products {
  readonly curves: Record<Name, Float64Array>;
  readonly dryShare: number;
}

/** A plant whose material a table can treat at all: at its best it earns this share of what perfect sorting would. */
const WORTH_TABLING = 0.6;
export function drawPlant(random: Random): { readonly plant: Plant; readonly best: Best } {
  for (;;) {
    const plant = draw(random);
    const usual = { wash: (7 * plant.lengthMm * plant.widthMm) / 1e6, slope: 20 };
    const { perTonne, shares } = plant;
    const ideal = perTonne[0]!.dense * shares.dense + perTonne[1]!.middling * shares.middling;
    // far from it at usual settings: not worth the search
    if (bestCutsOf(plant, run(plant, usual)).money < 0.95 * WORTH_TABLING * ideal) continue;
    const best = bestOf(plant);
    if (best.money >= WORTH_TABLING * ideal) return { plant, best };
  }
}

function draw(random: Random): Plant {
  const { name, rho, um, shares } = pick(random, MATERIALS);
  const lengthMm = between(random, 1400, 2400);
  const widthMm = lengthMm * between(random, 0.42, 0.52);
  const area = (lengthMm * widthMm) / 1e6;
  const dense = shares[0] * between(random, 0.8, 1.25);
  const middling = shares[1] * between(random, 0.8, 1.25);
  const coarse = between(random, 0.8, 1.3);
  const pay = between(random, 100, 400);
  const penalty = between(random, 0.3, 0.7);
  const regrind = between(random, 0.06, 0.15);
  return {
    material: name,
    lengthMm,
    widthMm,
    feedWater: area * between(random, 2.5, 4),
    feedKgPerHour: area * between(random, 40, 90),
    strokeMm: between(random, 11, 17),
    strokesPerMinute: between(random, 250, 320),
    celsius: between(random, 8, 26),
    rho: { dense: rho[0], middling: rho[1] * between(random, 0.95, 1.05), light: rho[2] },
    um: each((_, i) => um[i]! * coarse * between(random, 0.93, 1.07)),
    sigma: between(random, 0.14, 0.26),
    shares: { dense, middling, light: 1 - dense - middling },
    perTonne: [
      { dense: pay, middling: -pay * penalty, light: -pay * penalty },
      { dense: pay * between(random, 0.4, 0.6), middling: pay * between(random, 0.1, 0.25), light: -pay * regrind },
      { dense: 0, middling: 0, light: 0 },
    ],
    roughK: between(random, 30, 80),
    mobility: between(random, 0.6, 1),
    rouse: between(random, 2, 4),
    power: between(random, 1.2, 1.8),
    stallMPerS: between(random, 0.009, 0.012),
    hold: between(random, 0.4, 0.75),
    grip: between(random, 0.3, 0.45),
    riffleEnd: between(random, 0.55, 0.75),
    mixing: between(random, 0.03, 0.07),
    wanderMm: between(random, 20, 45),
    crowd: between(random, 0.6, 1.4),
    breakMm: between(random, 1.15, 1.4),
  };
}

const each = (of: (name: Name, i: number) => number): Each => ({
  dense: of("dense", 0),
  middling: of("middling", 1),
  light: of("light", 2),
});

/** Standard normal quantiles that stand for the sizes of a class, and shares of the feed box. */
const SIZES = [-1.7, -0.85, 0, 0.85, 1.7];
const WEIGHTS = SIZES.map((z) => Math.exp(-(z ** 2) / 2));
const STARTS = [0.07, 0.15, 0.23];

/** What leaves where at these settings. */
export function run(plant: Plant, { wash, slope }: Pick<PlantSettings, "wash" | "slope">): Products {
  const { lengthMm: L, widthMm: W } = plant;
  const water = waterAt(plant.celsius);
  const sine = slope / 1000;
  const q = (wash + plant.feedWater) / 60_000 / (L / 1000);
  const h = ((plant.roughK * water.kinematicM2PerS * q) / (8 * 9.81 * sine)) ** (1 / 3);
  const u = q / h;
  const pull = Math.sqrt(9.81 * h * sine);
  const stuck = 1 / (1 + (pull / plant.stallMPerS) ** 8);
  const bins = Math.ceil((L + W) / BIN_MM);
  const peak = (Math.PI * plant.strokesPerMinute * plant.strokeMm) / 60_000;
  const dryShare = 0.3 / (1 + Math.exp((h * 1000 - plant.breakMm) / 0.06));
  const curves = { dense: new Float64Array(bins), middling: new Float64Array(bins), light: new Float64Array(bins) };
  const allWeights = WEIGHTS.reduce((a, b) => a + b, 0) * STARTS.length;
  let before = 0; // what denser classes take up of the outlet, mm
  for (const name of NAMES) {
    const kg = plant.feedKgPerHour * plant.shares[name];
    const tail = plant.crowd * kg;
    for (const [i, z] of SIZES.entries()) {
      const fall = fergusonChurch(plant.um[name] * Math.exp(plant.sigma * z), plant.rho[name], water);
      const p = fall / (0.4 * pull);
      const low = p / (1 + p); // how deep in the bed it runs
      const across = (plant.mobility * u) / (1 + (p / plant.rouse) ** plant.power);
      const along = plant.grip * peak * (0.5 + 0.5 * low);
      const steep = [(across / along) * (1 - plant.hold * low), across / along];
      const kept = (1 - dryShare) * (1 - 0.6 * stuck) * (1 - 1 / (1 + (p / 1.4) ** 4));
      for (const start of STARTS) {
        const x0 = start * L;
        const way = [Math.max(0, plant.riffleEnd * L - x0), L - Math.max(x0, plant.riffleEnd * L)];
        let y = steep[0]! * way[0]! + steep[1]! * way[1]!;
        if (y > W) {
          const first = steep[0]! * way[0]!;
          const x = first > W ? x0 + W / steep[0]! : plant.riffleEnd * L + (W - first) / steep[1]!;
          y = W + (L - x);
        }
        const sd = Math.sqrt(2 * plant.mixing * y * 100 + plant.wanderMm ** 2);
        const mass = (kg * WEIGHTS[i]!) / allWeights;
        spread(curves[name], y + before, sd, tail, mass * kept);
        const stray = mass * (1 - kept);
        spread(curves[name], W + 0.5 * L, 0.25 * L, 0, stray);
      }
    }
    before += tail * 0.5;
  }
  return { curves, dryShare };
}

/** A Gaussian with an even tail of `tail` mm below it; what passes an end stays there. */
function spread(curve: Float64Array, at: number, sd: number, tail: number, mass: number) {
  const from = Math.floor((at - 3.5 * sd) / BIN_MM);
  const to = Math.ceil((at + tail + 3.5 * sd) / BIN_MM);
  const shape = (mm: number) => 1 / (1 + Math.exp((-1.702 * mm) / sd)); // the normal's, near enough
  const before = (mm: number) =>
    tail < 1 ? shape(mm - at) : (sd / 1.702 / tail) * (soft((mm - at) / sd) - soft((mm - at - tail) / sd));
  for (let bin = from, last = before(from * BIN_MM); bin < to; bin++) {
    const next = before((bin + 1) * BIN_MM);
    curve[Math.min(Math.max(bin, 0), curve.length - 1)]! += mass * (next - last);
    last = next;
  }
}
const soft = (z: number) => (z > 20 ? 1.702 * z : Math.log(1 + Math.exp(1.702 * z)));

/** Money an hour with these cuts, for each tonne fed. */
export function moneyOf(
  plant: Plant,
  { curves }: Products,
  { upper, lower }: { upper: number; lower: number },
): number {
  const ends = [0, Math.min(upper, lower), lower, Number.POSITIVE_INFINITY];
  return plant.perTonne.reduce(
    (all, worth, k) =>
      all +
      NAMES.reduce(
        (sum, name) => sum + (worth[name] * fallen(curves[name], ends[k]!, ends[k + 1]!)) / plant.feedKgPerHour,
        0,
      ),
    0,
  );
}
export function fallen(curve: Float64Array, from: number, to: number): number {
  let mass = 0;
  for (let bin = Math.max(0, Math.floor(from / BIN_MM)); bin < curve.length && bin * BIN_MM < to; bin++) {
    const part = Math.min(1, to / BIN_MM - bin) - Math.max(0, from / BIN_MM - bin);
    mass += curve[bin]! * part;
  }
  return mass;
}
export const money = (plant: Plant, settings: PlantSettings) => moneyOf(plant, run(plant, settings), settings);

/** The best cuts for given products, by trying every pair of places. */
export function bestCutsOf(plant: Plant, products: Products): { upper: number; lower: number; money: number } {
  const bins = products.curves.dense.length;
  const gains = plant.perTonne.map((worth) => {
    const sums = [0];
    for (let bin = 0; bin < bins; bin++) {
      const here = NAMES.reduce(
        (sum, name) => sum + (worth[name] * products.curves[name][bin]!) / plant.feedKgPerHour,
        0,
      );
      sums.push(sums[bin]! + here);
    }
    return sums;
  });
  const [first, second, third] = gains as [number[], number[], number[]];
  let best = { upper: 0, lower: 0, money: Number.NEGATIVE_INFINITY };
  let lead = { at: 0, worth: Number.NEGATIVE_INFINITY };
  for (let lower = 0; lower <= bins; lower++) {
    const worth = first[lower]! - second[lower]!;
    if (worth > lead.worth) lead = { at: lower, worth };
    const total = lead.worth + second[lower]! + third[bins]! - third[lower]!;
    if (total > best.money) best = { upper: lead.at * BIN_MM, lower: lower * BIN_MM, money: total };
  }
  return best;
}

/**
 * The best wash water, slope and cuts the plant itself has, by Nelder & Mead's simplex (1965, from memory) on the
 * logarithms of water and slope, from two starts.
 */
export function bestOf(plant: Plant): Best {
  const area = (plant.lengthMm * plant.widthMm) / 1e6;
  const at = ([w, s]: readonly number[]) => ({
    wash: Math.min(25 * area, Math.max(2 * area, area * Math.exp(w!))),
    slope: Math.min(90, Math.max(8, Math.exp(s!))),
  });
  const cost = (x: readonly number[]) => -bestCutsOf(plant, run(plant, at(x))).money;
  let best: { x: readonly number[]; cost: number } | null = null;
  for (const [w, s] of [
    [7, 20],
    [12, 35],
  ] as const) {
    const found = nelderMead(cost, [Math.log(w), Math.log(s)]);
    if (!best || found.cost < best.cost) best = found;
  }
  const { wash, slope } = at(best!.x);
  const cuts = bestCutsOf(plant, run(plant, { wash, slope }));
  return { wash, slope, upper: cuts.upper, lower: cuts.lower, money: cuts.money };
}

function nelderMead(cost: (x: readonly number[]) => number, start: readonly number[]) {
  type Corner = { x: readonly number[]; cost: number };
  const corner = (x: readonly number[]): Corner => ({ x, cost: cost(x) });
  const corners = [corner(start), ...start.map((_, i) => corner(start.map((v, k) => v + (k === i ? 0.4 : 0))))];
  for (let step = 0; step < 18; step++) {
    corners.sort((a, b) => a.cost - b.cost);
    const [best, worst] = [corners[0]!, corners.at(-1)!];
    const middle = start.map((_, k) => corners.slice(0, -1).reduce((sum, c) => sum + c.x[k]!, 0) / start.length);
    const toward = (far: number) => corner(middle.map((m, k) => m + far * (m - worst.x[k]!)));
    const mirrored = toward(1);
    if (mirrored.cost < best.cost) {
      const further = toward(2);
      corners[corners.length - 1] = further.cost < mirrored.cost ? further : mirrored;
    } else if (mirrored.cost < corners.at(-2)!.cost) corners[corners.length - 1] = mirrored;
    else {
      const nearer = toward(-0.5);
      if (nearer.cost < worst.cost) corners[corners.length - 1] = nearer;
      else
        for (let i = 1; i < corners.length; i++) corners[i] = corner(corners[i]!.x.map((v, k) => (v + best.x[k]!) / 2));
    }
  }
  return corners.sort((a, b) => a.cost - b.cost)[0]!;
}

/** One look later: feed grade, sizes and the deck's grip have wandered a little. */
export function drift(plant: Plant, random: Random): Plant {
  const nudge = (sd: number) => Math.exp(sd * bell(random));
  const dense = plant.shares.dense * nudge(0.02);
  const middling = plant.shares.middling * nudge(0.02);
  return {
    ...plant,
    shares: { dense, middling, light: 1 - dense - middling },
    mobility: plant.mobility * nudge(0.01),
    grip: plant.grip * nudge(0.01),
    celsius: plant.celsius + 0.3 * bell(random),
  };
}
