import type { Bed, Plan } from "./plan.ts";
import { bell, between, chance, fractal, makeNoise, pick, type Random, ramp } from "./random.ts";

/** How the table runs. */
export interface Work {
  readonly state: "running" | "stopped";
  readonly fault:
    | "none"
    | "starved"
    | "overloaded"
    | "rills"
    | "dry"
    | "surging"
    | "heaps"
    | "no-middling"
    | "no-dense"
    | "empty";
}

/** Planes of the bed: what share of each cell's area each solid covers, and where the film has broken. */
export interface Solids {
  readonly dense: Float32Array;
  readonly middling: Float32Array;
  readonly light: Float32Array;
  /** 1 dry, 0 wet. */
  readonly dry: Float32Array;
}

/** Half the size of the disc over which cover is averaged, mm (the contract's definition of a class). */
const DISC_MM = 10;

/**
 * Where each solid goes. Every class leaves the feed as a fan sector: bounded by a line from the feed's far end at its
 * least angle and one from its near end at its largest (drift along the riffles against drift down the film), bent, with
 * blurred edges, streaks along the flow, more dense between the riffles and less light near the product end.
 *
 * Common practice: dense leaves nearest the wash water, then middling, then light over the tailings side.
 */
export function spreadSolids(random: Random, plan: Plan, bed: Bed, work: Work): Solids {
  const { columns, rows, cellMm } = bed;
  const size = columns * rows;
  const planes = { dense: new Float32Array(size), middling: new Float32Array(size), light: new Float32Array(size) };
  const dry = new Float32Array(size);
  const { lengthMm, widthMm, feed } = plan;
  const [bend, steep] = [between(random, 0.75, 1.45), between(random, 0.55, 1.5)];
  const sectors = drawSectors(random, work);
  const [meander, patchy, streaks, gaps] = [makeNoise(random), makeNoise(random), makeNoise(random), makeNoise(random)];
  const calm = chance(random, 0.45);
  // solids lie in rows along the riffles, with gaps
  const rowsShare = calm ? between(random, 0, 0.2) : between(random, 0.1, 0.9);
  const [rowLongMm, rowWideMm] = pick(random, [
    [between(random, 60, 320), between(random, 8, 30)],
    [between(random, 20, 200), between(random, 3, 10)],
    [between(random, 250, 1200), between(random, 10, 45)],
  ] as const);
  // the bed thins on its way, so that gaps open toward the product end
  const opening = chance(random, 0.5) ? between(random, 0, 0.9) : 0;
  const wander = calm ? between(random, 0, 0.02) : between(random, 0, 0.07);
  const wanderMm = between(random, 120, 700);
  const streakiness = calm ? between(random, 0, 0.25) : between(random, 0, 0.7);
  const streakFineness = between(random, 12, 70);
  const surge = work.fault === "surging" ? between(random, 0.3, 0.95) : between(random, 0, 0.15);
  const surgeMm = between(random, 25, 90);
  const kick = between(random, -0.12, 0.25);
  const clinging = plan.riffles.heightMm > 0 ? between(random, 0, 0.8) : 0;
  const floor = work.fault === "overloaded" ? 0.35 : 0;
  const strength =
    work.fault === "starved"
      ? between(random, 0.25, 0.6)
      : work.fault === "overloaded"
        ? 1.6
        : between(random, 0.8, 1.4);
  const rills = work.fault === "rills" ? between(random, 0.35, 0.6) : 9;
  const reach = between(random, 0.05, 0.4) * lengthMm;
  for (let row = 0, i = 0; row < rows; row++) {
    const y = (row + 0.5) * cellMm;
    for (let column = 0; column < columns; column++, i++) {
      if (!bed.inside[i]) continue;
      const x = (column + 0.5) * cellMm;
      const smooth =
        1 -
        ramp(
          0,
          0.15,
          plan.riffles.endHigh + (plan.riffles.endLow - plan.riffles.endHigh) * (y / widthMm) - x / lengthMm,
        );
      // off the riffles the flow turns downslope (or, on some decks, runs on along x)
      const down = Math.max(0, y - kick * smooth * 0.35 * (x - feed[1]));
      const wave = wander * fractal(meander, x / wanderMm, y / wanderMm, 3);
      const fanAngle = (from: number) => {
        const along = x - from;
        const bent = along > 0 ? lengthMm * (along / lengthMm) ** bend : along;
        return (2 / Math.PI) * Math.atan2(steep * down, bent) + wave;
      };
      const [upper, lower] = [fanAngle(feed[1]), fanAngle(feed[0])];
      const far = Math.hypot(Math.max(0, x - feed[0]), y);
      const streak = 1 + streakiness * fractal(streaks, lower * streakFineness, far / 900, 3);
      const pulse = 1 + surge * Math.sin(far / surgeMm + 4 * patchy(x / 300, y / 300));
      const thin = 1 - 0.35 * Math.max(0, patchy(x / 160 + 9, y / 110));
      const thinned = opening * ramp(0.2, 1.1, x / lengthMm);
      const gapped =
        (1 + (rowsShare + 0.6 * thinned) * Math.min(0.4, fractal(gaps, x / rowLongMm, y / rowWideMm, 2))) *
        (1 - 0.6 * thinned);
      const cut = rills < 9 && fractal(gaps, lower * 26, far / 600, 2) > rills ? 0.1 : 1;
      const valley = bed.riffle[i] ? 1 - clinging : 1 + 0.3 * clinging;
      const arrived = ramp(0, reach, far);
      for (const name of ["dense", "middling", "light"] as const) {
        const sector = sectors[name];
        if (!sector) continue;
        const soft = sector.soft + (0.006 * lengthMm) / Math.max(120, far) / 6;
        let cover = ramp(-soft, soft, upper - sector.from) * (1 - ramp(-soft, soft, lower - sector.to));
        cover *= sector.level * strength * streak * pulse * thin * gapped * cut;
        if (name === "dense") cover *= valley * (0.25 + 0.75 * arrived);
        else if (name === "middling") cover *= (0.6 + 0.4 * valley) * (0.4 + 0.6 * arrived);
        else cover *= 1 - sector.fade * ramp(0.35, 1, x / lengthMm);
        planes[name][i] = Math.max(0, cover);
      }
      planes.light[i] = Math.max(
        planes.light[i]!,
        floor * (1 + streakiness * gaps(x / 50, y / 40)) * ramp(0.02, 0.1, lower),
      );
    }
  }
  if (work.fault === "heaps" || chance(random, 0.08)) dropHeaps(random, plan, bed, planes.dense);
  if (work.fault === "dry" || chance(random, 0.4)) breakFilm(random, plan, bed, planes, dry);
  for (let i = 0; i < size; i++) {
    const sum = planes.dense[i]! + planes.middling[i]! + planes.light[i]!;
    if (sum > 1) for (const name of ["dense", "middling", "light"] as const) planes[name][i]! /= sum;
  }
  return { ...planes, dry };
}

interface Sector {
  readonly from: number;
  readonly to: number;
  readonly soft: number;
  readonly level: number;
  readonly fade: number;
}

/** Sectors in order, angles as shares of a right angle: some broad, some thin, touching, overlapping or with bare between. */
function drawSectors(random: Random, { fault }: Work): Partial<Record<"dense" | "middling" | "light", Sector>> {
  if (fault === "empty") return {};
  const gap = () => (chance(random, 0.3) ? between(random, 0.01, 0.1) : between(random, -0.03, 0.01));
  const soft = () => (chance(random, 0.6) ? between(random, 0.004, 0.02) : between(random, 0.02, 0.06));
  const level = () => between(random, 0.7, 1.25);
  let at = chance(random, 0.7) ? between(random, 0.0, 0.12) : between(random, 0.1, 0.3);
  const next = (low: number, high: number): Sector => {
    const to = at + (chance(random, 0.5) ? between(random, low, 0.5 * (low + high)) : between(random, low, high));
    const sector = { from: at, to, soft: soft(), level: level(), fade: 0 };
    at = to + gap();
    return sector;
  };
  // a rich feed makes broad bands, a poor one a thread of dense with light close below it
  const poor = chance(random, 0.4);
  const dense = fault === "no-dense" ? undefined : poor ? next(0.006, 0.09) : next(0.015, 0.24);
  const middlingTo = poor ? 0.1 : chance(random, 0.5) ? 0.3 : 0.55;
  const middling =
    fault === "no-middling" || chance(random, poor ? 0.4 : 0.15)
      ? undefined
      : { ...next(poor ? 0.008 : 0.02, middlingTo), level: between(random, 0.5, 1.2) };
  const light = chance(random, 0.03)
    ? undefined
    : {
        from: at,
        to: Math.max(at + 0.1, chance(random, 0.6) ? between(random, 0.5, 1.1) : between(random, 0.9, 2.1)),
        soft: soft(),
        level: level(),
        fade: chance(random, 0.5) ? between(random, 0, 0.8) : 0,
      };
  return { ...(dense && { dense }), ...(middling && { middling }), ...(light && { light }) };
}

/** Heaps of dense grains where wash jets land badly, near the high side. */
function dropHeaps(random: Random, { lengthMm, widthMm, feed }: Plan, bed: Bed, dense: Float32Array) {
  const edge = makeNoise(random);
  for (let n = Math.ceil(between(random, 0, 4)); n > 0; n--) {
    const [cx, cy] = [between(random, feed[1], lengthMm), between(random, 0.02, 0.35) * widthMm];
    const [rx, ry] = [between(random, 25, 0.08 * lengthMm), between(random, 15, 0.07 * widthMm)];
    forBlob(bed, [cx, cy], [rx, ry], 0, edge, (i, t) => {
      dense[i] = Math.max(dense[i]!, 1.2 * (1 - ramp(0.7, 1.1, t)));
    });
  }
}

/** Dry patches: the film breaks over bare deck or over stranded solids, most often away from the wash pipe's jets. */
function breakFilm(
  random: Random,
  plan: Plan,
  bed: Bed,
  planes: Pick<Solids, "dense" | "middling" | "light">,
  dry: Float32Array,
) {
  const edge = makeNoise(random);
  const { lengthMm, widthMm } = plan;
  for (let n = Math.ceil(between(random, 0, 3)); n > 0; n--) {
    const low = chance(random, 0.4);
    const cx = between(random, low ? 0 : 0.1, 1) * lengthMm;
    const cy = between(random, low ? 0.3 : 0, low ? 1 : 0.35) * widthMm;
    const thread = chance(random, 0.3);
    const rx = between(random, 0.02, 0.13) * lengthMm;
    const ry = (thread ? between(random, 0.012, 0.035) : between(random, 0.03, 0.16)) * widthMm;
    const turn = chance(random, thread ? 0.8 : 0.5) ? bell(random) * 0.3 : between(random, 0, Math.PI);
    const stranded = chance(random, 0.6) ? between(random, 0, 1) : 0;
    // where the film draws back down the slope it leaves tongues
    const [tongues, tongueMm] = [chance(random, 0.35) ? between(random, 0.2, 0.9) : 0, between(random, 15, 90)];
    forBlob(bed, [cx, cy], [rx, ry], turn, edge, (i, t) => {
      const x = (i % bed.columns) * bed.cellMm;
      if (t * (1 + tongues * edge(x / tongueMm, cy / 400)) >= 1) return;
      dry[i] = 1;
      for (const plane of [planes.dense, planes.middling, planes.light]) plane[i]! *= stranded;
    });
  }
}

/** Visit an uneven blob's cells with their distance from its middle, 1 at its rim. */
function forBlob(
  { columns, rows, cellMm, inside }: Bed,
  [cx, cy]: readonly [number, number],
  [rx, ry]: readonly [number, number],
  turn: number,
  edge: (u: number, v: number) => number,
  visit: (i: number, t: number) => void,
) {
  const r = 1.6 * Math.max(rx, ry);
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const clip = (value: number, end: number) => Math.max(0, Math.min(end, Math.floor(value / cellMm)));
  for (let row = clip(cy - r, rows - 1); row <= clip(cy + r, rows - 1); row++) {
    for (let column = clip(cx - r, columns - 1); column <= clip(cx + r, columns - 1); column++) {
      const i = row * columns + column;
      if (!inside[i]) continue;
      const [dx, dy] = [(column + 0.5) * cellMm - cx, (row + 0.5) * cellMm - cy];
      const rough = 1 + 0.4 * fractal(edge, dx / (0.6 * rx) + cx, dy / (0.6 * ry) + cy, 3);
      visit(i, Math.hypot((c * dx + s * dy) / rx, (c * dy - s * dx) / ry) / Math.max(0.3, rough));
    }
  }
}

/**
 * Classes by the contract's definition, `rows × columns` of the bed: 0 outside, 1 bare, 2 dense, 3 middling, 4 light, 5 dry.
 * Cover is averaged over a square as large as the 20 mm disc.
 */
export function classesOf(bed: Bed, solids: Solids): Uint8Array {
  const radius = Math.max(1, Math.round((DISC_MM * Math.sqrt(Math.PI)) / 2 / bed.cellMm - 0.5));
  const mean = (plane: Float32Array) => discMean(plane, bed, radius);
  const [dense, middling, light] = [mean(solids.dense), mean(solids.middling), mean(solids.light)];
  return Uint8Array.from(bed.inside, (within, i) => {
    if (!within) return 0;
    if (solids.dry[i]! > 0.5) return 5;
    const [d, m, l] = [dense[i]!, middling[i]!, light[i]!];
    if (d + m + l < 1 / 3) return 1;
    return d >= m && d >= l ? 2 : m >= l ? 3 : 4;
  });
}

function discMean(plane: Float32Array, { columns, rows, inside }: Bed, radius: number): Float32Array {
  const width = columns + 1;
  const [sums, counts] = [new Float64Array(width * (rows + 1)), new Float64Array(width * (rows + 1))];
  for (let row = 0; row < rows; row++) {
    let [sum, count] = [0, 0];
    for (let column = 0; column < columns; column++) {
      const i = row * columns + column;
      if (inside[i]) {
        sum += plane[i]!;
        count++;
      }
      sums[(row + 1) * width + column + 1] = sums[row * width + column + 1]! + sum;
      counts[(row + 1) * width + column + 1] = counts[row * width + column + 1]! + count;
    }
  }
  const out = new Float32Array(plane.length);
  for (let row = 0, i = 0; row < rows; row++) {
    const [top, bottom] = [Math.max(0, row - radius) * width, Math.min(rows, row + radius + 1) * width];
    for (let column = 0; column < columns; column++, i++) {
      const [left, right] = [Math.max(0, column - radius), Math.min(columns, column + radius + 1)];
      const count = counts[bottom + right]! - counts[top + right]! - counts[bottom + left]! + counts[top + left]!;
      if (count)
        out[i] = (sums[bottom + right]! - sums[top + right]! - sums[bottom + left]! + sums[top + left]!) / count;
    }
  }
  return out;
}
