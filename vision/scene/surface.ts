import { type Albedo, albedoOf, type Looks } from "./looks.ts";
import type { Bed, Plan } from "./plan.ts";
import { between, chance, fractal, makeNoise, type Random, ramp } from "./random.ts";
import type { Solids, Work } from "./solids.ts";

/** Floats a cell of `Surface.planes`: diffuse light sent back (red, green, blue), slope of the water along x and y, gloss. */
export const FLOATS = 6;
/** What the deck's cells look like from above, light included. */
export interface Surface {
  readonly planes: Float32Array;
}

/** Paint the bed: deck, solids, wet or dry, under even film and waves, lit by lamps with shadows. */
export function paintSurface(random: Random, plan: Plan, bed: Bed, solids: Solids, looks: Looks, work: Work): Surface {
  const { columns, rows, cellMm } = bed;
  const planes = new Float32Array(columns * rows * FLOATS);
  const paint = { deck: albedoOf(looks.deck), riffle: albedoOf(looks.riffle) };
  const [dense, middling, light] = [albedoOf(looks.dense), albedoOf(looks.middling), albedoOf(looks.light)];
  const other: Albedo = albedoOf([between(random, 20, 80), between(random, -20, 25), between(random, -15, 35)]);
  const odd = chance(random, 0.25) ? between(random, 0.05, 0.4) : 0; // mixed grains within light, as in scrap
  const speckle = between(random, 0, 0.9);
  const grainNoise = between(random, 0.02, 0.28);
  const mottle = [makeNoise(random), makeNoise(random), makeNoise(random)] as const;
  const veil = chance(random, 0.3) ? between(random, 0.02, 0.4) : 0;
  const silt = albedoOf([between(random, 40, 75), between(random, -2, 8), between(random, 2, 24)]);
  // drying makes a surface paler by its own colour, by fines left on it, or both
  const haze = chance(random, 0.5) ? between(random, 0.03, 0.35) : 0.015;
  const dryGain = haze > 0.1 || chance(random, 0.25) ? between(random, 1.0, 1.2) : between(random, 1.15, 2);
  const stopped = work.state === "stopped";
  const waves = drawWaves(random, stopped);
  const glitter = chance(random, 0.5) ? between(random, 0, 0.5) : 0;
  const sills = stopped ? 0 : chance(random, 0.5) ? between(random, 0, 0.25) : 0;
  const lightAt = drawLight(random, plan);
  const slope = between(random, 0.2, 1.2);
  const froth = chance(random, 0.07) ? between(random, 0.6, 0.9) : 9;
  const stain = chance(random, 0.3) ? between(random, 0.05, 0.35) : 0;
  for (let row = 0, i = 0; row < rows; row++) {
    const y = (row + 0.5) * cellMm;
    for (let column = 0; column < columns; column++, i++) {
      if (!bed.inside[i]) continue;
      const x = (column + 0.5) * cellMm;
      const [d, m, l] = [solids.dense[i]!, solids.middling[i]!, solids.light[i]!];
      const bare = Math.max(0, 1 - d - m - l);
      const rib = bed.riffle[i]!;
      // one grain's colour or the mean of all: coarse grains show one by one
      const draw = random();
      const one =
        draw < d ? dense : draw < d + m ? middling : draw < d + m + l ? (random() < odd ? other : light) : null;
      const dry = solids.dry[i]!;
      const dust = stain * Math.max(0, mottle[2](x / 140, y / 90));
      const grain =
        1 + grainNoise * (random() - 0.5) * 2 * (1 - bare) + 0.16 * fractal(mottle[0], x / 55, y / 38, 2) * (1 - bare);
      const wall = Math.max(
        -0.6,
        Math.min(0.6, slope * 0.12 * ((bed.heightMm[i + columns] ?? bed.heightMm[i]!) - bed.heightMm[i]!)),
      );
      const [lr, lg, lb] = lightAt(x, y);
      const at = i * FLOATS;
      for (let k = 0; k < 3; k++) {
        const under = (rib ? paint.riffle[k]! : paint.deck[k]!) * bed.shade[i]! * (1 - dust) + dust * silt[k]!;
        const mean = d * dense[k]! + m * middling[k]! + l * (light[k]! * (1 - odd) + other[k]! * odd) + bare * under;
        const mixed = mean + speckle * ((one ? one[k]! : under) - mean);
        let value = mixed * grain;
        value = dry
          ? Math.min(
              0.9,
              value * dryGain * (1 - haze) + haze * (0.5 + silt[k]!) * (0.8 + 0.4 * mottle[2](x / 60, y / 45)),
            )
          : value + veil * (0.4 + 0.6 * ramp(0, 0.5, 1 - bare)) * (silt[k]! - value);
        planes[at + k] = Math.max(0.002, value) * (1 + wall) * (k === 0 ? lr : k === 1 ? lg : lb);
      }
      if (froth < 9 && mottle[1](x / 90, y / 60) > froth && random() < 0.7)
        for (let k = 0; k < 3; k++) planes[at + k] = 0.75 * lg;
      const [sx, sy] = dry ? [0.3 * (random() - 0.5), 0.3 * (random() - 0.5)] : waves(x, y);
      // grains stand up through the film and riffles bend it
      const rough = dry ? 0 : 0.05 + glitter * (1 - bare);
      const sill = dry || !bed.heightMm[i] ? 0 : sills * Math.cos(2 * Math.PI * bed.phase[i]!);
      planes[at + 3] = sx + rough * (random() - 0.5);
      planes[at + 4] = sy + (dry ? 0 : 0.02 * wall) + sill + rough * (random() - 0.5);
      planes[at + 5] = dry ? 0.05 : 1;
    }
  }
  return { planes };
}

/** Slopes of the water's surface: crests across the flow, streaks from the wash pipe and along the riffles, and small chop. */
function drawWaves(random: Random, stopped: boolean) {
  const [chop, crest, jets, grooves] = [makeNoise(random), makeNoise(random), makeNoise(random), makeNoise(random)];
  const scale = stopped ? between(random, 0, 0.015) : between(random, 0.02, 0.16);
  const [crestMm, chopMm] = [between(random, 18, 90), between(random, 12, 60)];
  const [crests, jetting, jetMm] = [stopped ? 0 : random(), stopped ? 0 : random(), between(random, 30, 160)];
  const combing = stopped || chance(random, 0.4) ? 0 : between(random, 0, 0.22);
  const [combLongMm, combMm] = [between(random, 30, 260), between(random, 4, 16)];
  return (x: number, y: number): [number, number] => {
    const c = crests * Math.sin((2 * Math.PI * (y + 30 * crest(x / 200, y / 200))) / crestMm);
    const j = jetting * jets(x / (jetMm / 3), y / (6 * jetMm));
    const u = fractal(chop, x / chopMm, y / chopMm, 2);
    const v = fractal(chop, x / chopMm + 40, y / chopMm + 21, 2);
    const comb = combing ? combing * fractal(grooves, x / combLongMm, y / combMm, 2) : 0;
    return [scale * (u + 1.2 * j) + 0.4 * comb, scale * (v + c) + comb];
  };
}

/** Light falling on the deck, linear RGB: falls off from a side, mixed lamps, shadows with hard or soft rims. */
function drawLight(random: Random, { lengthMm, widthMm }: Plan) {
  const strength = chance(random, 0.6) ? between(random, 0, 0.35) : between(random, 0.3, 0.9);
  const turn = between(random, 0, 2 * Math.PI);
  const [gx, gy] = [(Math.cos(turn) * strength) / lengthMm, (Math.sin(turn) * strength) / widthMm];
  const spot = chance(random, 0.3) ? between(random, 0.2, 0.9) : 0;
  const [sx, sy, size] = [random() * lengthMm, random() * widthMm, between(random, 0.25, 0.9) * lengthMm];
  const tint = between(random, -0.12, 0.12);
  const uneven = makeNoise(random);
  const shadows = Array.from({ length: chance(random, 0.45) ? Math.ceil(between(random, 0, 3)) : 0 }, () =>
    drawShadow(random, lengthMm, widthMm),
  );
  return (x: number, y: number): [number, number, number] => {
    const side = gx * (x - lengthMm / 2) + gy * (y - widthMm / 2);
    const lamp = spot * Math.exp(-((x - sx) ** 2 + (y - sy) ** 2) / (size * size));
    let all = Math.max(0.15, 1 + side + lamp + 0.06 * uneven(x / 500, y / 500));
    let blue = 0;
    for (const shadow of shadows) {
      const t = shadow(x, y);
      all *= 1 - t;
      blue += 0.15 * t;
    }
    return [all * (1 + tint * side - blue), all, all * (1 - tint * side + blue)];
  };
}

function drawShadow(random: Random, lengthMm: number, widthMm: number): (x: number, y: number) => number {
  const turn = between(random, 0, Math.PI);
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const [x0, y0] = [between(random, 0, lengthMm), between(random, 0, widthMm)];
  const half = chance(random, 0.3) ? 1e6 : chance(random, 0.5) ? between(random, 15, 60) : between(random, 80, 500);
  const soft = chance(random, 0.4) ? between(random, 2, 10) : between(random, 10, 150);
  const depth = between(random, 0.2, 0.75);
  const long = chance(random, 0.5) ? 1e6 : between(random, 0.1, 0.5) * lengthMm;
  const lump = makeNoise(random);
  return (x, y) => {
    const [dx, dy] = [x - x0, y - y0];
    const across = Math.abs(c * dx + s * dy + (half > 1e5 ? half - 1e-9 : 0)) + 20 * lump(x / 160, y / 160);
    const along = Math.abs(c * dy - s * dx);
    return depth * (1 - ramp(half - soft, half + soft, across)) * (1 - ramp(long - soft, long + soft, along));
  };
}
