import type { DeckFileInput } from "../contract/index.ts";
import { inside, type Pair } from "../geometry.ts";
import { between, chance, makeNoise, pick, type Random } from "./random.ts";

/** The fixed part of a scene: the deck as it was built. Lengths in mm, deck coordinates. */
export interface Plan {
  readonly file: DeckFileInput;
  readonly lengthMm: number;
  readonly widthMm: number;
  readonly hand: "right" | "left";
  /** Four corners from the high drive-end one, where the sides meet or would meet. */
  readonly outline: readonly Pair[];
  /** The deck's edge: the outline, its low product-end corner cut off on some decks. */
  readonly edge: readonly Pair[];
  readonly feed: readonly [number, number];
  readonly riffles: Riffles;
  /** Boards, sheets or one casting: how the deck's own colour changes along it. */
  readonly grain: "even" | "boards" | "sheets" | "speckled";
}
export interface Riffles {
  readonly pitchMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
  /** Where each riffle ends, as a share of the length, at the high and at the low side. */
  readonly endHigh: number;
  readonly endLow: number;
  /** Share of the width, from the high side, left smooth. */
  readonly smoothTop: number;
  readonly grooves: boolean;
}

export function drawPlan(random: Random): Plan {
  const lengthMm = Math.round(chance(random, 0.2) ? between(random, 600, 1500) : between(random, 1500, 4600));
  const widthMm = Math.round(lengthMm * between(random, 0.36, 0.66));
  const hand = chance(random, 0.5) ? "right" : "left";
  const slant = chance(random, 0.3) ? between(random, 0.04, 0.2) * lengthMm : 0;
  const way = chance(random, 0.5);
  const taper = chance(random, 0.15) ? between(random, 0.05, 0.25) * widthMm : 0;
  // rhomboid decks lean: the low side lies further along than the high side, or less far
  const outline: Pair[] = way
    ? [
        [0, 0],
        [lengthMm - slant, 0],
        [lengthMm, widthMm - taper],
        [slant, widthMm],
      ]
    : [
        [slant, 0],
        [lengthMm, 0],
        [lengthMm - slant, widthMm - taper],
        [0, widthMm],
      ];
  // cut where the deck stays as long: the corner cut off is not the only one that far along
  const edge = (!way || slant === 0) && chance(random, 0.15) ? cutCorner(random, outline) : outline;
  const start = outline[0]![0] + between(random, 0, 0.06) * lengthMm;
  const feed = [start, start + between(random, 0.08, 0.32) * lengthMm] as const;
  const pitchMm = between(random, 14, 60);
  const riffles: Riffles = {
    pitchMm,
    widthMm: pitchMm * between(random, 0.12, 0.5),
    heightMm: chance(random, 0.12) ? 0 : between(random, 1.5, 12),
    endHigh: between(random, 0.25, 1),
    endLow: between(random, 0.6, 1.1),
    smoothTop: between(random, 0, 0.12),
    grooves: chance(random, 0.25),
  };
  const file: DeckFileInput = { schemaVersion: 1, name: "Scene", hand, lengthMm, widthMm };
  if (slant || taper || edge !== outline)
    file.outline = edge.map(([x, y]): [number, number] => [Math.round(x), Math.round(y)]);
  if (edge !== outline) file.outletPath = file.outline!.slice(1);
  const grain = pick(random, ["even", "even", "boards", "sheets", "speckled"] as const);
  return { file, lengthMm, widthMm, hand, outline, edge, feed, riffles, grain };
}

function cutCorner(random: Random, [high, end, low, drive]: readonly Pair[]): Pair[] {
  const on = (a: Pair, b: Pair, t: number): Pair => [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
  return [
    high!,
    end!,
    on(low!, end!, between(random, 0.1, 0.45)),
    on(low!, drive!, between(random, 0.04, 0.3)),
    drive!,
  ];
}

/** Planes over the deck's bounding box, `rows × columns`. */
export interface Bed {
  readonly columns: number;
  readonly rows: number;
  readonly cellMm: number;
  readonly inside: Uint8Array;
  /** Height above the deck plane, mm. */
  readonly heightMm: Float32Array;
  /** 1 on a riffle's top, 0 between. */
  readonly riffle: Float32Array;
  /** Place across the riffles: 0 at the lower foot of one riffle, 1 at the next. */
  readonly phase: Float32Array;
  /** The deck's own shade, about 1. */
  readonly shade: Float32Array;
}

/** Lay the riffles: ribs or grooves along x that get lower toward a slanting end line. */
export function layBed(random: Random, plan: Plan, columns: number): Bed {
  const cellMm = plan.lengthMm / columns;
  const rows = Math.max(8, Math.round(plan.widthMm / cellMm));
  const size = rows * columns;
  const { riffles } = plan;
  const bed: Bed = {
    columns,
    rows,
    cellMm,
    inside: new Uint8Array(size),
    heightMm: new Float32Array(size),
    riffle: new Float32Array(size),
    phase: new Float32Array(size),
    shade: new Float32Array(size),
  };
  const [wobble, dirt, scratch] = [makeNoise(random), makeNoise(random), makeNoise(random)];
  const [dirtiness, boardMm] = [between(random, 0, 0.25), between(random, 60, 260)];
  const tilt = between(random, -0.02, 0.02);
  for (let row = 0, i = 0; row < rows; row++) {
    const y = (row + 0.5) * cellMm;
    const share = y / plan.widthMm;
    const end = riffles.endHigh + (riffles.endLow - riffles.endHigh) * share;
    for (let column = 0; column < columns; column++, i++) {
      const x = (column + 0.5) * cellMm;
      bed.inside[i] = inside(plan.edge, [x, y]) ? 1 : 0;
      const across = (y + tilt * x + 1.5 * wobble(x / 400, y / 90)) / riffles.pitchMm;
      const phase = across - Math.floor(across);
      bed.phase[i] = phase;
      const left = Math.max(0, Math.min(1, (end - x / plan.lengthMm) / Math.max(0.15, 0.6 * end)));
      const here = share > riffles.smoothTop ? left : 0;
      const rib = phase < riffles.widthMm / riffles.pitchMm ? 1 : 0;
      bed.riffle[i] = here > 0 ? rib : 0;
      bed.heightMm[i] = (riffles.grooves ? -1 : 1) * rib * here * riffles.heightMm;
      let shade = 1 + dirtiness * dirt(x / 180, y / 120) + 0.05 * scratch(x / 60, y / 6);
      if (plan.grain === "boards")
        shade += 0.12 * wobble(x / 500 + 31, Math.floor(y / boardMm) * 3.7) + 0.06 * dirt(x / 240, y / 5);
      if (plan.grain === "sheets")
        shade += 0.1 * wobble(Math.floor(x / (3 * boardMm)) * 5.3, Math.floor(y / (3 * boardMm)) * 3.1);
      if (plan.grain === "speckled") shade += 0.2 * (random() - 0.5);
      bed.shade[i] = Math.max(0.3, shade);
    }
  }
  return bed;
}
