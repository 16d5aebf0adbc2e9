/** What stands between the phone and the deck, in deck coordinates: x along, y down the slope, z up from the deck. */
import type { Dice } from "./dice.ts";
import type { Thing } from "./scenario.ts";
import { box, rod, tube, vec } from "./sdl.ts";
import { rightAt, type Table, topAt } from "./tables.ts";

/** Something between the phone and the deck. */
export function thingBefore(dice: Dice, t: Table, thing: Thing): string {
  const x = t.lengthMm * dice.between(0.25, 0.8);
  const high = topAt(t, x);
  if (thing === "hose" || thing === "rope") {
    const r = thing === "hose" ? dice.between(8, 15) : dice.between(4, 7);
    const [sag, drift] = [r + dice.between(1, 60), dice.between(-260, 260)];
    const places = [-700, -250, 0, 0.35, 0.7, 1].map((s) => (s < 0 ? high + s : high + s * (t.widthMm - high)));
    const points = places.map((y, k) => [[x + (drift * k) / 5 + dice.normal() * 25, y, k < 2 ? 160 : sag], r] as const);
    return tube(
      [
        ...points,
        [[x + drift * 1.2, t.widthMm + 160, r - 60], r],
        [[x + drift * 1.3, t.widthMm + 260, -500], r],
        [[x + drift * 1.3, t.widthMm + 270, -900], r],
      ],
      thing === "hose" ? "Hose" : "Rope",
    );
  }
  if (thing === "pipe") {
    const z = dice.between(140, 330);
    const lean = dice.between(-160, 160);
    return rod(
      [x - lean, -1500, z],
      [x + lean, t.widthMm + 1500, z + dice.between(-30, 60)],
      dice.between(14, 30),
      "Pipe",
    );
  }
  if (thing === "brush") {
    const y = high + (t.widthMm - high) * dice.between(0.35, 0.75);
    const [dx, dy] = [dice.between(-60, 60), dice.between(190, 300)];
    return [
      box([x - 70, y - 13, 16], [x + 70, y + 13, 38], "Wood"),
      box([x - 66, y - 11, 0.5], [x + 66, y + 11, 17], "Rope"),
      rod([x, y, 34], [x + dx * 3, y + dy * 3, 34 + 420], 12, "Wood"),
    ].join("\n");
  }
  // a gloved hand that reaches in over the low side or the product end
  const fromEnd = dice.chance(0.4);
  const y = fromEnd ? t.widthMm * dice.between(0.3, 0.7) : t.widthMm - dice.between(40, 160);
  const [px, py] = fromEnd ? [rightAt(t, y) - dice.between(60, 180), y] : [x, y];
  const [ux, uy] = fromEnd ? [1, dice.between(-0.3, 0.5)] : [dice.between(-0.4, 0.4), 1];
  const [vx, vy] = [-uy, ux];
  const spot = (out: number, side: number, z: number) => [px + ux * out + vx * side, py + uy * out + vy * side, z];
  const fingers = [-30, -10, 11, 31].map((side, k) =>
    tube(
      [
        [spot(70, side * 0.9, 62), 12],
        [spot(30, side, 64 - k * 2), 11],
        [spot(-4 + Math.abs(side) * 0.3, side * 1.05, 44), 10],
        [spot(-16 + Math.abs(side) * 0.4, side * 1.05, 22), 8.5],
      ]
        .map(([p, r]) => [p, r] as [number[], number])
        .slice(0, 3),
      "Glove",
    ),
  );
  return [
    ...fingers,
    `blob { threshold 0.3 ${[
      [70, -22],
      [70, 22],
      [95, -14],
      [95, 14],
      [118, 0],
    ]
      .map(([o, s]) => `sphere { ${vec(spot(o!, s!, 58))}, 52, 1 }`)
      .join(" ")} texture { Glove } }`,
    tube(
      [
        [spot(60, 40, 52), 13],
        [spot(26, 58, 40), 11],
        [spot(2, 52, 28), 9],
      ],
      "Glove",
    ),
    tube(
      [
        [spot(120, 0, 62), 36],
        [spot(190, 0, 78), 42],
        [spot(620, 0, 260), 60],
      ],
      "Sleeve",
    ),
  ].join("\n");
}
