/** Where water and solids lie: grains run down the deck one by one, each kind as far as its sector says. */
import type { Dice } from "./dice.ts";
import { blank, type Field, lumps, ramp, sample, smooth } from "./fields.ts";
import type { Scenario, Sector } from "./scenario.ts";
import { isOnDeck, riffleHeight, rifflesOf, type Table, topAt } from "./tables.ts";

export const MM_PER_CELL = 2;

/** All on the 2 mm grid of the deck. */
export interface Cover {
  readonly columns: number;
  readonly rows: number;
  /** Share of each cell's area that each solid covers: dense, middling, light. Together at most 1. */
  readonly solids: readonly [Field, Field, Field];
  /** Thickness of the bed in grain layers. */
  readonly bed: Field;
  /** 1 where the water film is broken, 0 where it is whole, soft over a few mm. */
  readonly broken: Field;
  /** Height of the riffle at the cell, mm; 0 beside riffles. */
  readonly riffle: Field;
}

export function coverDeck(scene: Scenario): Cover {
  const { table } = scene;
  const columns = Math.ceil(table.lengthMm / MM_PER_CELL);
  const rows = Math.ceil(table.widthMm / MM_PER_CELL);
  const riffle = riffleField(table, columns, rows);
  const run = runways(scene, columns, rows, riffle);
  const sectors = [scene.fan.dense, scene.fan.middling, scene.fan.light];
  const names = ["dense", "middling", "light"];
  const masses = sectors.map((sector, k) => spread(scene, sector, k, scene.dice.on(`run ${names[k]}`), run));
  wash(scene, masses, columns, rows);
  const broken = dryField(scene, columns, rows);
  const stranded = Math.max(0, ...scene.dry.map((d) => d.stranded));
  const bed = blank(columns, rows);
  for (let i = 0; i < bed.data.length; i++) {
    const keep = 1 - broken.data[i]! * (1 - stranded);
    let all = 0;
    for (const mass of masses) all += mass.data[i]! *= keep;
    bed.data[i] = all;
  }
  const solids = masses.map((mass) => {
    const share = blank(columns, rows);
    for (let i = 0; i < share.data.length; i++) {
      const all = bed.data[i]!;
      if (all > 1e-4) share.data[i] = (mass.data[i]! / all) * (1 - Math.exp(-all));
    }
    return share;
  }) as [Field, Field, Field];
  return { columns, rows, solids, bed, broken, riffle };
}

function riffleField(t: Table, columns: number, rows: number): Field {
  const out = blank(columns, rows);
  for (const one of rifflesOf(t)) {
    const from = Math.max(0, Math.floor((one.y - t.riffleWidthMm / 2) / MM_PER_CELL));
    const to = Math.min(rows - 1, Math.floor((one.y + t.riffleWidthMm / 2) / MM_PER_CELL));
    for (let x = Math.floor(one.from / MM_PER_CELL); x * MM_PER_CELL < one.to && x < columns; x++) {
      const height = riffleHeight(t, one, (x + 0.5) * MM_PER_CELL);
      for (let y = from; y <= to; y++) out.data[y * columns + x] = height;
    }
  }
  return out;
}

interface Runways {
  /** What a path's steepness is multiplied by at a cell. */
  readonly speed: Field;
}

/** Slow in the troughs and wherever a streak lies; fast over a riffle. Slow places gather grains. */
function runways(scene: Scenario, columns: number, rows: number, riffle: Field): Runways {
  const { fan, table, dice } = scene;
  const far = lumps(dice.on("wander"), columns, rows, 170, 60, 2);
  const fine = lumps(dice.on("streak"), columns, rows, 130, 5, 2);
  const finer = lumps(dice.on("thread"), columns, rows, 60, 2.2, 1);
  const speed = blank(columns, rows);
  const above = Math.max(1, Math.round(table.pitchMm / MM_PER_CELL / 3));
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      const i = y * columns + x;
      const here = riffle.data[i]! / table.riffleHeightMm;
      const next = y + above < rows ? riffle.data[i + above * columns]! / table.riffleHeightMm : 0;
      let s = Math.exp(fan.wander * far.data[i]! + fan.streaks * (0.7 * fine.data[i]! + 0.5 * finer.data[i]!));
      if (here > 0) s *= 1 + 3 * fan.hold * Math.sqrt(here);
      else if (next > 0) s *= 1 - 0.75 * fan.hold * Math.sqrt(next);
      speed.data[i] = s;
    }
  }
  return { speed };
}

const GRAINS = [5000, 5000, 11000];

/** Tracks of one kind of grains → bed, in grain layers: the `amount` of the sector in the thick of it. */
function spread(scene: Scenario, sector: Sector, kind: number, dice: Dice, { speed }: Runways): Field {
  const { table, fan } = scene;
  const { columns, rows } = speed;
  const mass = blank(columns, rows);
  if (sector.amount === 0) return mass;
  const [[feedFrom], [feedTo]] = table.feed;
  const reach = table.lengthMm - feedFrom;
  // of a way that falls by one cell over the whole reach as t^bend: how steep it is after so many cells
  const length = reach / MM_PER_CELL;
  const steepness = Float64Array.from(
    { length: 2 * columns },
    (_, gone) => (fan.bend / length) * (Math.max(0.5, gone) / length) ** (fan.bend - 1),
  );
  // light grains leave along the low side: spread so that each stretch of it gets a like share
  const leave = [sector.from, sector.to].map((r) => Math.max(1, r) ** (-1 / fan.bend));
  for (let n = 0; n < GRAINS[kind]!; n++) {
    let down = sector.from + (Math.min(sector.to, 1) - sector.from) * dice.unit();
    if (kind === 2) {
      const product = Math.max(0, 1 - sector.from);
      if (sector.from > 1 || dice.unit() > product / (product + (leave[0]! - leave[1]!) * 2)) {
        down = (leave[1]! + (leave[0]! - leave[1]!) * dice.unit()) ** -fan.bend;
      }
    } else if (sector.to > 1) down = sector.from + (sector.to - sector.from) * dice.unit();
    down = Math.max(0.004, down + sector.soft * dice.normal());
    const start = feedFrom + (feedTo - feedFrom) * dice.unit() ** (kind === 2 ? 1 : 0.8);
    const drop = dice.between(4, 26);
    track(
      mass,
      speed,
      start,
      topAt(table, start) + drop,
      down * table.widthMm,
      steepness,
      Math.round((0.3 * (start - feedFrom)) / MM_PER_CELL),
    );
  }
  const soft = smooth(mass, 1, 1, 1);
  const full = soft.data.filter((m, i) => m > 0.02 && i % 5 === 0).sort();
  const scale = sector.amount / (full[Math.floor(full.length * 0.6)] ?? 1);
  for (let i = 0; i < soft.data.length; i++) {
    const m = soft.data[i]! * scale;
    soft.data[i] = m > 2.2 ? 2.2 + Math.log(m / 2.2) : m < 0.04 ? 0 : m;
  }
  return soft;
}

/** One grain's way: y falls by `totalMm`, as steep as the table says, quicker and slower as the ground has it. */
function track(
  mass: Field,
  speed: Field,
  fromX: number,
  fromY: number,
  totalMm: number,
  steepness: Float64Array,
  gone: number,
) {
  const { columns, rows } = mass;
  let y = fromY / MM_PER_CELL;
  const first = Math.max(0, Math.floor(fromX / MM_PER_CELL));
  const total = totalMm / MM_PER_CELL;
  for (let x = first; x < columns; x++) {
    const steep = total * steepness[x - first + gone]!;
    let step = 1;
    // a steep way is cut into parts of at most one cell
    for (let left = 1; left > 1e-6; left -= step) {
      const row = Math.floor(y);
      if (row >= rows) return;
      if (row < 0) break;
      const rate = steep * speed.data[row * columns + x]!;
      step = Math.min(left, 1 / Math.max(1e-6, rate));
      mass.data[row * columns + x]! += step;
      y += rate * step + 1e-7;
    }
  }
}

/** Rills wash stripes clear; a surge makes bars across the flow. */
function wash(scene: Scenario, masses: readonly Field[], columns: number, rows: number): void {
  const { table, fault } = scene;
  const clear = blank(columns, rows).data.fill(1);
  const dice = scene.dice.on("washed");
  const frayed = lumps(dice, columns, rows, 22, 6, 2);
  for (let n = 0; n < scene.rills; n++) {
    let x = dice.between(0.25, 0.85) * columns;
    let heading = dice.between(0.1, 0.9);
    const half = dice.between(6, 22) / MM_PER_CELL;
    const depth = dice.between(0.75, 0.98);
    const bends = lumps(dice, rows, 1, 40, 1);
    for (let y = Math.floor(dice.between(0, 0.25) * rows); y < rows; y++) {
      heading = Math.max(-0.2, Math.min(1.6, heading + 0.06 * bends.data[y]!));
      x += heading;
      for (let c = Math.max(0, Math.floor(x - 2.5 * half)); c <= Math.min(columns - 1, x + 2.5 * half); c++) {
        const off = Math.abs(c - x) / half + 0.4 * frayed.data[y * columns + c]!;
        clear[y * columns + c]! *= 1 - depth * (1 - ramp(0.6, 1.3, off));
        clear[y * columns + c]! *= 1 + 0.35 * ramp(1, 1.5, off) * (1 - ramp(1.5, 2.4, off)); // little banks
      }
    }
  }
  if (fault === "surging") {
    const wave = dice.between(90, 220) / MM_PER_CELL;
    const lean = dice.between(0.3, 1.2);
    const wobble = lumps(dice, columns, rows, 80, 40, 2);
    for (let y = 0; y < rows; y++) {
      for (let x = 0; x < columns; x++) {
        const i = y * columns + x;
        clear[i]! *= 0.62 + 0.6 * Math.sin((2 * Math.PI * (x - lean * y)) / wave + 1.6 * wobble.data[i]!);
      }
    }
  }
  for (const mass of masses) for (let i = 0; i < clear.length; i++) mass.data[i]! *= Math.max(0.01, clear[i]!);
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      if (isOnDeck(table, (x + 0.5) * MM_PER_CELL, (y + 0.5) * MM_PER_CELL)) continue;
      for (const mass of masses) mass.data[y * columns + x] = 0;
    }
  }
}

/** Lobed patches, drawn out down the slope, with wet threads through them. */
function dryField(scene: Scenario, columns: number, rows: number): Field {
  const out = blank(columns, rows);
  if (scene.dry.length === 0) return out;
  const dice = scene.dice.on("film");
  const lobes = lumps(dice, columns, rows, 34, 44, 3);
  const threads = lumps(dice, columns, rows, 9, 90, 1);
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      let inside = -9;
      for (const { at, reachMm } of scene.dry) {
        const u = (x - at[0] * columns) / (reachMm[0] / MM_PER_CELL);
        const v = (y - at[1] * rows) / (reachMm[1] / MM_PER_CELL);
        inside = Math.max(inside, 1 - Math.hypot(u, v));
      }
      if (inside < -0.8) continue;
      const i = y * columns + x;
      out.data[i] = ramp(-0.03, 0.03, inside + 0.42 * lobes.data[i]! - 0.35 * ramp(0.62, 0.85, threads.data[i]!));
    }
  }
  return smooth(out, 1, 1, 1);
}

/** The field seen with finer cells: `perMm` of them a mm. */
export const finer = (field: Field, perMm: number) => (x: number, y: number) =>
  sample(field, (x + 0.5) / perMm / MM_PER_CELL, (y + 0.5) / perMm / MM_PER_CELL);
