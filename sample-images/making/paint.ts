/**
 * Paints one running deck from a scenario: where each material lies, the colour and height maps the renderer needs,
 * and the truth.
 *
 * Each material is a set of size fractions carried by steady advection along the riffles (x) and down the slope (y),
 * with some dispersion; the bed that results gives a cover 0..1, and single grains are then drawn from that cover.
 * Lengths in mm, deck coordinates (x along the riffles, y down the slope), colours sRGB 0..255.
 */
import sharp from "sharp";
import { CELL_MM, deckShape, distanceToPath, Grid, riffleRow, riffleTaper } from "./deck-shape.ts";
import { clamp01, fractal, hash, noise, smoothstep, uniformOf } from "./noise.ts";
import type { Material, Point, Rgb, Scenario } from "./scenario.ts";
import { edgesOfFields, edgesOfTruth, type OutletEdge, truthOf } from "./truth.ts";

const KINDS = ["dense", "middling", "light"] as const;

export interface Painted {
  columns: number;
  rows: number;
  truth: Uint8Array;
  outline: Point[];
  outletPath: Point[];
  outletEdges: OutletEdge[];
  drawnOutletEdges: OutletEdge[];
}

/** Bed of one material on the deck: size fractions marched along x (implicit upwind), fed at y = 0 below the feed box. */
function bedOf(s: Scenario, material: Material, columns: number, rows: number, seed: number): Grid {
  const bed = new Grid(columns, rows);
  const [feedFrom, feedTo] = s.feedMm;
  const fractions = 9;
  let weightSum = 0;
  for (let f = 0; f < fractions; f++) weightSum += Math.exp(-0.5 * (-2 + (4 * f) / (fractions - 1)) ** 2);
  const slopeHere = new Float32Array(columns * rows); // riffles hold solids back, the smooth zone lets them slide; the flow wanders
  for (let n = 0; n < slopeHere.length; n++) {
    const x = ((n % columns) + 0.5) * CELL_MM,
      y = (Math.floor(n / columns) + 0.5) * CELL_MM;
    slopeHere[n] =
      material.slope *
      (1 - 0.25 * riffleTaper(s, x, y)) *
      (1.12 + 0.14 * fractal(x / 260, y / 170, seed) + 0.1 * noise(x / 900, y / 60, seed + 9));
  }
  for (let f = 0; f < fractions; f++) {
    const z = -2 + (4 * f) / (fractions - 1);
    const weight = Math.exp(-0.5 * z * z) / weightSum;
    let column = new Float32Array(rows);
    for (let i = 0; i < columns; i++) {
      const x = (i + 0.5) * CELL_MM;
      const feed =
        smoothstep(feedFrom, feedFrom + 60, x) *
        (1 - smoothstep(feedTo - 80, feedTo, x)) *
        (1 + 0.18 * noise(x / 45, 0, seed + 5));
      const next = new Float32Array(rows);
      let above = material.amount * weight * Math.max(0, feed);
      for (let j = 0; j < rows; j++) {
        const slope = Math.max(0.01, slopeHere[j * columns + i]! * Math.exp(material.spread * z));
        const here =
          column[j]! + 0.035 * ((column[j + 1] ?? column[j]!) - 2 * column[j]! + (column[j - 1] ?? column[j]!));
        above = next[j] = (here + slope * above) / (1 + slope);
      }
      column = next;
      for (let j = 0; j < rows; j++) bed.values[j * columns + i]! += column[j]!;
    }
  }
  return bed;
}

/** What a surging feed makes of the bed at a place: all of a pulse left the feed box at once and has come down as far. */
function pulse({ surge, seed }: Scenario, kind: (typeof KINDS)[number], x: number, y: number): number {
  if (!surge) return 1;
  const wander = 0.12 * noise(x / 240, y / 90, seed + 100) + 0.05 * noise(x / 40, y / 20, seed + 101);
  return 1 + surge.depth * Math.sin(2 * Math.PI * (y / surge.everyMm[kind] + wander));
}

// --- grains ------------------------------------------------------------------------------------------------------------
/** One grain of a material: the lattice cell it sits in gives all its chances. */
function grainId(x: number, y: number, sizeMm: number, seed: number): [number, number] {
  const gx = x / sizeMm,
    gy = y / sizeMm,
    cx = Math.floor(gx),
    cy = Math.floor(gy);
  let best = Infinity,
    bx = cx,
    by = cy;
  for (let oy = -1; oy <= 1; oy++)
    for (let ox = -1; ox <= 1; ox++) {
      const px = cx + ox + hash(cx + ox, cy + oy, seed),
        py = cy + oy + hash(cx + ox, cy + oy, seed + 77);
      const d = (px - gx) ** 2 + (py - gy) ** 2;
      if (d < best) {
        best = d;
        bx = cx + ox;
        by = cy + oy;
      }
    }
  return [bx, by];
}
function grainColour(material: Material, chance: number, shade: number, contrast: number): Rgb {
  const total = material.palette.reduce((sum, [, share]) => sum + share, 0);
  const mean: Rgb = [0, 0, 0];
  let picked: Rgb | null = null,
    left = chance * total;
  for (const [colour, share] of material.palette) {
    for (let c = 0; c < 3; c++) mean[c]! += (colour[c]! * share) / total;
    left -= share;
    if (picked === null && left <= 0) picked = colour;
  }
  const from = picked ?? mean,
    lift = 1 + (shade - 0.5) * 0.36 * contrast;
  return [0, 1, 2].map((c) => (mean[c]! + (from[c]! - mean[c]!) * contrast) * lift) as Rgb;
}
export const meanColour = (m: Material): Rgb => grainColour(m, 0.5, 0.5, 0);

// --- the deck ----------------------------------------------------------------------------------------------------------
export async function paint(s: Scenario, texelMm: number, folder: string): Promise<Painted> {
  const { lengthMm: L, widthMm: W, riffle } = s.deck;
  const columns = Math.ceil(L / CELL_MM),
    rows = Math.ceil(W / CELL_MM);
  const { outline, outletPath } = deckShape(s);
  const beds = KINDS.map((kind, k) => bedOf(s, s.materials[kind], columns, rows, s.seed * 31 + k * 7));
  const lightBed = beds[2]!;

  // What a picture from above shows: heavier solids lie under lighter ones; rills scour; the rest is cover 1 - exp(-bed).
  const covers = KINDS.map(() => new Grid(columns, rows));
  const dryness = new Grid(columns, rows); // > 0.5 where the film has broken
  const scour = new Grid(columns, rows); // 1 in the middle of a rill
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++) {
      const n = j * columns + i,
        x = (i + 0.5) * CELL_MM,
        y = (j + 0.5) * CELL_MM;
      for (const rill of s.rills ?? []) {
        const d = distanceToPath([x + 9 * noise(x / 70, y / 70, s.seed + 40), y], rill.path) / rill.widthMm;
        scour.values[n] = Math.max(scour.values[n]!, Math.exp(-(d ** 4)) * smoothstep(0, 60, y - rill.path[0]![1]));
      }
      for (const [p, patch] of (s.dryPatches ?? []).entries()) {
        const a = (patch.turn * Math.PI) / 180,
          dx = x - patch.at[0],
          dy = y - patch.at[1];
        const u = (dx * Math.cos(a) + dy * Math.sin(a)) / patch.sizeMm[0],
          v = (-dx * Math.sin(a) + dy * Math.cos(a)) / patch.sizeMm[1];
        const ragged =
          0.2 * fractal(x / 90, y / 60, s.seed + 60 + p) +
          0.07 * noise(x / 14, y / 22, s.seed + 61 + p) +
          0.1 * noise(x / 24, y / 140, s.seed + 62 + p);
        dryness.values[n] = Math.max(dryness.values[n]!, clamp01(0.5 + 5 * (1 - Math.hypot(u, v) + ragged)));
      }
      const [dense, middling, l] = KINDS.map((kind, k) => beds[k]!.values[n]! * pulse(s, kind, x, y)) as [
        number,
        number,
        number,
      ];
      const d = dense * Math.exp(-0.55 * l - 0.25 * middling);
      const m = middling * Math.exp(-0.4 * l);
      const bed = d + m + l + 1e-9,
        swept = 1 - 0.97 * scour.values[n]!;
      const cover = (1 - Math.exp(-1.15 * bed)) * 0.97 * swept * smoothstep(0.03, 0.35, bed);
      [d, m, l].forEach((part, k) => {
        covers[k]!.values[n] = (cover * part) / bed;
      });
    }

  // Draw it: colour, bed height and wetness, and the solids that were really drawn (for the truth).
  const width = Math.round(L / texelMm),
    height = Math.round(W / texelMm);
  const albedo = Buffer.alloc(width * height * 3),
    maps = Buffer.alloc(width * height * 3);
  const drawn = KINDS.map(() => new Float32Array(columns * rows)),
    drawnCount = new Float32Array(columns * rows);
  const milk = meanColour(s.materials.light);
  const rowChance = (row: number, seed: number): number => hash(row, 3, s.seed + seed) - 0.5;
  for (let ty = 0; ty < height; ty++)
    for (let tx = 0; tx < width; tx++) {
      const x = (tx + 0.5) * texelMm,
        y = (ty + 0.5) * texelMm;
      const taper = riffleTaper(s, x, y),
        hasRiffle = y > riffle.firstMm - riffle.pitchMm && taper > 0 ? Math.min(1, taper * 4) : 0;
      const row = riffleRow(s, y),
        inRow = y - riffle.firstMm - row * riffle.pitchMm; // riffle: 0..widthMm, then its groove
      const onRiffle = hasRiffle > 0 && row >= 0 && inRow < riffle.widthMm;
      const groove = (inRow - riffle.widthMm) / (riffle.pitchMm - riffle.widthMm); // 0 below a riffle .. 1 above the next
      // Solids lie in grooves: the bed of a groove is nearly even along y, so band edges step from riffle to riffle.
      const grooveMid = riffle.firstMm + (row + 0.5) * riffle.pitchMm + 0.5 * riffle.widthMm;
      const wander = 3 * noise(x / 30, y / 9, s.seed + 20) + 1.2 * noise(x / 6, y / 3, s.seed + 21);
      const yBed = y + (grooveMid - y) * 0.55 * hasRiffle * smoothstep(0, 0.1, taper) + wander,
        xBed = x + 6 * rowChance(row, 22) + 7 * noise(x / 25, y / 12, s.seed + 23);
      const shape =
        1 +
        hasRiffle * (onRiffle ? -0.8 : 0.3 * (groove - 0.5) * 1.6 + 0.5 * rowChance(row, 24)) +
        0.16 * noise(x / 60, y / 14, s.seed + 25);
      const share = covers.map((grid) => grid.at(xBed, yBed));
      const total = share[0]! + share[1]! + share[2]!;
      const dryHere = dryness.at(x, y),
        isDry = dryHere > 0.5;
      const stranded = isDry ? (s.dryPatches ?? []).reduce((most, p) => Math.max(most, p.stranded), 0) : 0;
      const cover = isDry
        ? Math.min(0.9, total * 0.35 + stranded * smoothstep(0.2, 1.4, fractal(x / 40, y / 9, s.seed + 70) + 0.6))
        : clamp01(1 - (1 - Math.min(0.985, total)) ** Math.max(0.12, shape));

      // Wet bare deck: paint with wear, stains and scratches, clouded by fine light solids in the film.
      const base = onRiffle ? s.deck.riffleColour : s.deck.colour;
      const stain =
        s.deck.wear *
        (0.09 * fractal(x / 220, y / 140, s.seed + 1) +
          0.06 * noise(x / 40, y / 2.5, s.seed + 2) +
          0.05 * noise(x / 5, y / 5, s.seed + 3));
      const scratch =
        s.deck.wear *
        (noise(x / 160, y / 0.8, s.seed + 4) > 1.75 && noise(x / 300, y / 30, s.seed + 14) > 0 ? 0.14 : 0);
      const worn = onRiffle ? s.deck.wear * 0.16 * smoothstep(-0.2, 1.4, noise(x / 90, row, s.seed + 6)) : 0;
      const cloud = clamp01(
        s.water.turbidity *
          (0.25 + 1.2 * clamp01(lightBed.at(x, y) * 0.5)) *
          (0.85 + 0.3 * noise(x / 34, y / 90, s.seed + 7)),
      );
      const bare = base.map(
        (c, k) => c * (1 + stain) + (150 - c) * (scratch + worn) + (milk[k]! * 0.9 - c) * 0.45 * cloud,
      ) as Rgb;

      // Grains: one draw a texel, or up to four where grains are finer than the texel.
      const sizeMm = KINDS.reduce(
        (sum, kind, k) => sum + s.materials[kind].grainMm * ((share[k]! + 1e-6) / (total + 3e-6)),
        0,
      );
      const draws = sizeMm >= texelMm ? 1 : Math.min(4, Math.round((texelMm / sizeMm) ** 2));
      // Where the bed is thin it breaks up: into streaks along the riffles, trails down the slope where light solids wash
      // over, clumps, and (in the draw below) single grains.
      const trail =
        0.4 * (share[2]! / (total + 1e-6)) * noise((x - y / s.materials.light.slope) / 7, y / 110, s.seed + 33);
      const streak =
        0.52 * noise(x / 120, y / 4.5, s.seed + 30) +
        0.36 * noise(x / 22, y / 11, s.seed + 31) +
        0.3 * noise(x / 7, y / 4, s.seed + 32) +
        trail;
      const thickness = 0.06 * noise(x / 40, y / 16, s.seed + 34) + 0.05 * streak;
      const colour: Rgb = [0, 0, 0];
      let solids = 0,
        lift = 0;
      const cell = Math.min(rows - 1, (y / CELL_MM) | 0) * columns + Math.min(columns - 1, (x / CELL_MM) | 0);
      for (let draw = 0; draw < draws; draw++) {
        let kind = -1,
          race = Infinity,
          gx = 0,
          gy = 0;
        for (let k = 0; k < 3; k++) {
          const p = share[k]! / (total + 1e-9) + (isDry && total < 0.05 ? 1 / 3 : 0);
          if (p < 0.004) continue;
          const size = s.materials[KINDS[k]!].grainMm;
          const [ix, iy] = size >= texelMm ? grainId(x, y, size, s.seed + 200 + k) : [tx * 4 + draw, ty];
          const time = -Math.log(hash(ix, iy, s.seed + 300 + k) + 1e-9) / p; // shares decide, grain by grain
          if (time < race) {
            race = time;
            kind = k;
            gx = ix;
            gy = iy;
          }
        }
        const white = (hash(gx, gy, s.seed + 400) - 0.5) * 3.4;
        if (kind >= 0 && uniformOf((streak + 0.95 * white) / 1.2) < cover) {
          const material = s.materials[KINDS[kind]!];
          const inTexel = Math.max(1, (texelMm / material.grainMm) ** 2);
          const grain = grainColour(
            material,
            hash(gx, gy, s.seed + 401),
            hash(gx, gy, s.seed + 402),
            Math.sqrt(draws / inTexel),
          );
          const shade = 1 - thickness - 0.12 * hasRiffle * (1 - clamp01(groove * 3)); // wetter and deeper just below a riffle
          for (let c = 0; c < 3; c++) colour[c]! += (grain[c]! * shade) / draws;
          solids += 1 / draws;
          lift += hash(gx, gy, s.seed + 403) / draws;
          drawn[kind]![cell]! += 1 / draws;
        } else for (let c = 0; c < 3; c++) colour[c]! += bare[c]! / draws;
      }
      drawnCount[cell]! += 1;
      // Dry: the same colours, paler and greyer; a damp dark rim round the patch.
      if (isDry) {
        const pale = smoothstep(0.5, 0.95, dryHere) * (0.85 + 0.15 * noise(x / 60, y / 60, s.seed + 71));
        for (let c = 0; c < 3; c++)
          colour[c] = colour[c]! + (255 * (colour[c]! / 255) ** 0.68 * 0.94 + 6 - colour[c]!) * pale;
      }
      const foam =
        s.water.foam *
        (isDry ? 0 : 1) *
        smoothstep(2.2, 2.6, noise(x / 3.2, y / 3.2, s.seed + 80) + 0.35 * noise(x / 90, y / 50, s.seed + 81));
      const at = (ty * width + tx) * 3;
      for (let c = 0; c < 3; c++)
        albedo[at + c] = Math.max(
          0,
          Math.min(255, colour[c]! + (215 - colour[c]!) * 0.7 * foam + (hash(tx, ty, s.seed + 90 + c) - 0.5) * 3),
        );
      maps[at] = 255 * clamp01(solids * (0.35 + 0.4 * Math.min(1, cover)) + 0.25 * lift * solids); // bed height
      maps[at + 1] = 255 * (1 - smoothstep(0.42, 0.58, dryHere)); // wet
      maps[at + 2] = 255 * clamp01(solids); // solids
    }
  await sharp(albedo, { raw: { width, height, channels: 3 } })
    .png({ compressionLevel: 3 })
    .toFile(`${folder}/albedo.png`);
  await sharp(maps, { raw: { width, height, channels: 3 } })
    .png({ compressionLevel: 3 })
    .toFile(`${folder}/maps.png`);
  await paintWater(s, columns, rows, dryness, scour, folder);

  const truth = truthOf(columns, rows, outline, drawn, drawnCount, dryness);
  const outletEdges = edgesOfFields(outletPath, outline, covers, dryness);
  const drawnOutletEdges = edgesOfTruth(truth, columns, rows, outletPath, outline);
  return { columns, rows, truth, outline, outletPath, outletEdges, drawnOutletEdges };
}

/** Height of the water surface, 16 bit, 2 mm grid: humps over riffles, roll waves down the slope, swirls, rills, a lip round dry patches. */
async function paintWater(
  s: Scenario,
  columns: number,
  rows: number,
  dryness: Grid,
  scour: Grid,
  folder: string,
): Promise<void> {
  const water = new Uint16Array(columns * rows);
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++) {
      const n = j * columns + i,
        x = (i + 0.5) * CELL_MM,
        y = (j + 0.5) * CELL_MM,
        { firstMm, pitchMm, widthMm } = s.deck.riffle;
      const past = y - firstMm - Math.max(0, riffleRow(s, y)) * pitchMm - widthMm; // below the riffle above
      const hump =
        riffleTaper(s, x, y) *
        (Math.exp(-(((past + 3 + 1.5 * noise(x / 40, y / 40, s.seed + 51)) / 7) ** 2)) +
          0.35 * Math.sin(past / 2.6) * Math.exp(-Math.abs(past) / 9)) *
        (1 + 0.35 * noise(x / 26, y / pitchMm, s.seed + 52));
      const roll =
        0.3 * noise(x / 46, y / 19, s.seed + 53) +
        0.2 * noise(x / 17 + y / 60, y / 12, s.seed + 54) +
        0.14 * noise(x / 8, y / 11, s.seed + 55);
      const height =
        1.5 +
        s.water.ripple * (0.42 * hump + 0.7 * roll) +
        scour.values[n]! * (0.5 + 0.4 * noise(x / 9, y / 9, s.seed + 56));
      const wet = 1 - smoothstep(0.3, 0.6, dryness.values[n]!);
      water[n] = Math.max(0, Math.min(65535, ((height * wet) / 4) * 65535)); // 0..4 mm
    }
  await sharp(water, { raw: { width: columns, height: rows, channels: 1 } })
    .toColourspace("grey16")
    .png()
    .toFile(`${folder}/water.png`);
}
