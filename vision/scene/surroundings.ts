import { type Albedo, albedoOf } from "./looks.ts";
import type { Plan } from "./plan.ts";
import { bell, between, chance, fractal, makeNoise, type Random, ramp } from "./random.ts";

/** Frame, launders, floor and clutter round the deck, in its plane; a wall beyond the horizon. */
export function drawSurroundings(random: Random, { outline, lengthMm, widthMm }: Plan) {
  const edges = outline.map((from, k): [number, number, number] => {
    const to = outline[(k + 1) % outline.length]!;
    const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    const size = Math.hypot(dx, dy);
    return [dy / size, -dx / size, (dy * from[0] - dx * from[1]) / size]; // outward for the clockwise outline (y down)
  });
  const colour = (low = 10, high = 80, tint = 12): Albedo =>
    albedoOf([between(random, low, high), bell(random) * tint, bell(random) * tint + 4]);
  const rims = edges.map(() => ({ wide: between(random, 6, 90), colour: colour(), high: between(random, 0.7, 1.3) }));
  const rimSame = chance(random, 0.7);
  const launder = { wide: between(random, 30, 160), colour: colour(5, 45), wet: colour(20, 70) };
  const floor = [colour(15, 70, 4), colour(15, 70, 6)] as const;
  const [rough, fine] = [makeNoise(random), makeNoise(random)];
  const [scale, contrast] = [between(random, 60, 500), between(random, 0.1, 0.7)];
  const brightness = between(random, 0.35, 1.2);
  const things = Array.from({ length: Math.floor(between(random, 0, 9)) }, () => {
    const turn = between(random, 0, Math.PI);
    return {
      x: between(random, -0.9, 1.9) * lengthMm,
      y: between(random, -1.2, 2.2) * widthMm,
      w: between(random, 30, 0.5 * lengthMm),
      h: between(random, 20, 0.4 * widthMm),
      c: Math.cos(turn),
      s: Math.sin(turn),
      colour: colour(5, 88, 18),
    };
  });
  const gap = between(random, 0, 25);
  return {
    /** Linear RGB at a place of the deck's plane, written to `out`. */
    ground(x: number, y: number, out: [number, number, number]) {
      let [away, side] = [-1e9, 0];
      for (let k = 0; k < edges.length; k++) {
        const [nx, ny, c] = edges[k]!;
        const d = nx * x + ny * y - c;
        if (d > away) [away, side] = [d, k];
      }
      const grain = 1 + 0.12 * fine(x / 9, y / 9) + 0.15 * rough(x / 130, y / 90);
      const rim = rims[rimSame ? 0 : side]!;
      const past = away - rim.wide;
      if (past < 0) {
        const lip = 1 + 0.35 * (0.5 - away / rim.wide) * (rim.high - 0.8);
        mix(rim.colour, rim.colour, 0, grain * lip * rims[side]!.high, out);
      } else if ((side === 1 || side === 2) && past > gap && past < gap + launder.wide) {
        mix(launder.colour, launder.wet, ramp(0.2, 0.8, rough(x / 80, y / 80) + 0.5), grain, out);
      } else {
        const thing = things.find((it) => {
          const [dx, dy] = [x - it.x, y - it.y];
          return Math.abs(it.c * dx + it.s * dy) < it.w / 2 && Math.abs(it.c * dy - it.s * dx) < it.h / 2;
        });
        if (thing) mix(thing.colour, thing.colour, 0, grain, out);
        else mix(floor[0], floor[1], 0.5 + contrast * fractal(rough, x / scale, y / scale, 3), grain * brightness, out);
      }
    },
    wall(u: number, v: number, out: [number, number, number]) {
      mix(floor[1], floor[0], 0.5 + contrast * fractal(rough, u * 6, v * 6, 3), brightness, out);
    },
  };
}

function mix(a: Albedo, b: Albedo, t: number, gain: number, out: [number, number, number]) {
  for (let k = 0; k < 3; k++) out[k] = Math.max(0.002, (a[k]! + (b[k]! - a[k]!) * t) * gain);
}
