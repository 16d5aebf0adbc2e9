/** The shaking table as things, in deck coordinates: x along, y down the slope, z up from the deck. */
import type { Dice } from "./dice.ts";
import { ball, bar, box, face, rod, tube, vec } from "./sdl.ts";
import { type Place, riffleHeight, rifflesOf, type Table } from "./tables.ts";

const at3 = ([x, y]: Place, z: number) => [x, y, z] as const;

/** The top that the truth speaks of: deck and riffles, in texture DeckSkin. */
export function deckTop(t: Table): string {
  const faces: string[] = [];
  for (const riffle of rifflesOf(t)) {
    const h = riffleHeight(t, riffle, riffle.from);
    const [b, c] = [t.riffleWidthMm / 2, t.riffleWidthMm * 0.32];
    const { y, from, to } = riffle;
    const [lowA, lowB, highA, highB] = [
      [from, y - b, 0],
      [from, y + b, 0],
      [from, y - c, h],
      [from, y + c, h],
    ];
    const [endA, endB] = [
      [to, y - c, 0.02],
      [to, y + c, 0.02],
    ];
    for (const three of [
      [lowA, highA, endA],
      [lowB, endB, highB],
      [highA, highB, endB],
      [highA, endB, endA],
      [lowA, lowB, highB],
      [lowA, highB, highA],
    ])
      faces.push(`triangle { ${three.map((p) => vec(p!)).join(", ")} }`);
  }
  const riffles = faces.length ? `mesh { ${faces.join("\n")} texture { DeckSkin } }` : "";
  return `union { ${face(
    t.outline.map((p) => at3(p, 0)),
    "DeckSkin",
  )} ${riffles} interior { ior 1.33 } }`;
}

/** All else that belongs to the table. */
export function tableBody(dice: Dice, t: Table, splitters: readonly number[]): string {
  const [hd, hp, lp, ld] = t.outline;
  const deep = dice.between(28, 60);
  const sides = t.outline.map((p, i) => {
    const q = t.outline[(i + 1) % 4]!;
    return face([at3(p, -0.05), at3(q, -0.05), at3(q, -deep), at3(p, -deep)], "Edge");
  });
  const rim: Place = [0, dice.between(14, 26)];
  const rimTop = dice.between(8, 34);
  return [
    ...sides,
    face(
      t.outline.map((p) => at3(p, -deep)),
      "Edge",
    ),
    bar(hd, hp, rim, [-deep, rimTop], "Rim", [rim[1], 0]),
    bar(ld, hd, rim, [-deep, rimTop * dice.between(0.6, 1.1)], "Rim"),
    ...feedBox(dice, t, rimTop),
    ...washWater(dice, t, rimTop),
    ...launder(
      dice,
      hp,
      lp,
      splitters.filter((s) => s < dist(hp, lp)),
    ),
    ...launder(
      dice,
      lp,
      ld,
      splitters.filter((s) => s > dist(hp, lp)).map((s) => s - dist(hp, lp)),
    ),
    ...drips(dice, t),
    ...frame(dice, t, deep),
    ...drive(dice, t, deep),
  ].join("\n");
}

const dist = (a: Place, b: Place) => Math.hypot(a[0] - b[0], a[1] - b[1]);
const along = (a: Place, b: Place, mm: number): Place => {
  const s = mm / dist(a, b);
  return [a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])];
};

/** A box open above, with slots toward the deck. */
function feedBox(dice: Dice, t: Table, rimTop: number): string[] {
  const [a, b] = t.feed;
  const [inner, outer] = [dice.between(-18, 4), dice.between(90, 150)];
  const [low, high] = [rimTop * 0.4 + 6, rimTop + dice.between(50, 110)];
  const wall = 5;
  const parts = [
    bar(a, b, [inner, inner + wall], [low, high], "Box"),
    bar(a, b, [outer - wall, outer], [low, high], "Box"),
    bar(a, along(a, b, wall), [inner, outer], [low, high], "Box"),
    bar(along(b, a, wall), b, [inner, outer], [low, high], "Box"),
    bar(a, b, [inner, outer], [low, low + wall], "Box"),
    bar(a, b, [inner + wall, outer - wall], [low + wall, low + 0.45 * (high - low)], "Slurry"),
  ];
  const slots = dice.whole(5, 14);
  for (let n = 0; n < slots; n++) {
    const here = along(a, b, ((n + 0.5) / slots) * dist(a, b));
    const there = along(a, b, ((n + 0.5) / slots) * dist(a, b) + dice.between(10, 18));
    parts.push(bar(here, there, [inner - 1, inner + 2], [low + 6, low + 16], "Rubber"));
    parts.push(bar(here, there, [inner - dice.between(6, 16), inner], [1, low + 10], "Slurry"));
  }
  if (dice.chance(0.6)) {
    const from = along(a, b, dist(a, b) * 0.4);
    const y = from[1] - (inner + outer) / 2;
    parts.push(
      tube(
        [
          [[from[0], y, high - 20], 24],
          [[from[0], y, high + 30], 24],
          [[from[0] - 40, y - 60, high + 170], 24],
          [[from[0] - 200, y - 200, high + 240], 24],
          [[from[0] - 700, y - 420, high + 260], 24],
          [[from[0] - 900, y - 500, high + 280], 24],
        ],
        "Pipe",
      ),
    );
  }
  return parts;
}

/** A drilled pipe on clips with its jets, or a trough with notches. */
function washWater(dice: Dice, t: Table, rimTop: number): string[] {
  const [a, b] = t.wash;
  const length = dist(a, b);
  const parts: string[] = [];
  const spacing = dice.between(28, 70);
  if (t.washKind === "pipe") {
    const [radius, z, out] = [dice.between(9, 19), rimTop + dice.between(18, 50), dice.between(2, 26)];
    const [p, q] = [a, b].map(([x, y]) => [x, y - out, z]) as [number[], number[]];
    parts.push(rod(p, q, radius, "Pipe"), ball(q, radius * 1.25, "Pipe"));
    parts.push(
      tube(
        [
          [p, radius],
          [[p[0]! - 30, p[1]! - 20, z + 30], radius],
          [[p[0]! - 60, p[1]! - 160, z + 60], radius],
          [[p[0]! - 60, p[1]! - 900, z - 80], radius],
        ],
        "Pipe",
      ),
    );
    for (let d = 20; d < length; d += spacing) {
      const here = along(a, b, d);
      const reach = dice.between(8, 22);
      parts.push(
        rod(
          [here[0], here[1] - out + radius * 0.7, z - radius * 0.6],
          [here[0] + dice.normal() * 2, here[1] + reach, 0.4],
          dice.between(0.8, 1.8),
          "Water",
        ),
      );
    }
    for (let d = length * 0.06; d < length; d += length * 0.29) {
      const here = along(a, b, d);
      parts.push(
        box(
          [here[0] - 6, here[1] - out - radius - 4, -10],
          [here[0] + 6, here[1] - out + radius + 2, z + radius * 0.4],
          "Steel",
        ),
      );
    }
  } else {
    const [inner, outer, low, high] = [2, dice.between(50, 90), rimTop + 2, rimTop + dice.between(32, 60)];
    parts.push(bar(a, b, [outer - 4, outer], [low, high], "Box"), bar(a, b, [inner, outer], [low, low + 4], "Box"));
    parts.push(
      bar(a, along(a, b, 4), [inner, outer], [low, high], "Box"),
      bar(along(b, a, 4), b, [inner, outer], [low, high], "Box"),
    );
    parts.push(bar(a, b, [inner + 4, outer - 4], [low + 3, high - 14], "Water"));
    for (let d = 0; d < length - spacing; d += spacing) {
      parts.push(bar(along(a, b, d), along(a, b, d + spacing - 9), [inner, inner + 4], [low, high], "Box"));
      const notch = along(a, b, d + spacing - 4.5);
      parts.push(
        rod(
          [notch[0], notch[1] - inner, low + 8],
          [notch[0], notch[1] + dice.between(6, 16), 0.3],
          dice.between(1.5, 3),
          "Water",
        ),
      );
    }
    parts.push(bar(a, b, [inner, inner + 4], [low, low + 9], "Box"));
  }
  return parts;
}

/** A gutter along the line a-b, with walls where splitters stand. */
function launder(dice: Dice, a: Place, b: Place, splitters: readonly number[]): string[] {
  const gap = dice.between(3, 12);
  const wide = dice.between(70, 130);
  const [top, bottom] = [-dice.between(14, 34), -dice.between(100, 150)];
  const parts = [
    bar(a, b, [gap - 22, gap - 18], [bottom, top - 20], "Launder"),
    bar(a, b, [gap + wide, gap + wide + 4], [bottom, top + dice.between(0, 25)], "Launder"),
    bar(a, b, [gap - 22, gap + wide], [bottom, bottom + 4], "Launder"),
    bar(a, b, [gap - 18, gap + wide], [bottom + 4, bottom + dice.between(18, 50)], "Slurry"),
    bar(a, along(a, b, 4), [gap - 22, gap + wide], [bottom, top], "Launder", [4, 0]),
    bar(along(b, a, 4), b, [gap - 22, gap + wide], [bottom, top], "Launder", [0, 4]),
  ];
  for (const mm of splitters) {
    parts.push(bar(along(a, b, mm - 2), along(a, b, mm + 2), [1, gap + wide], [bottom, -4], "Steel"));
    parts.push(
      bar(along(a, b, mm - 12), along(a, b, mm + 12), [gap + wide - 14, gap + wide + 10], [top - 4, top + 12], "Guard"),
    );
  }
  return parts;
}

/** Strands of water that fall off the two free ends. */
function drips(dice: Dice, t: Table): string[] {
  const [, hp, lp, ld] = t.outline;
  return [
    [hp, lp, 26],
    [lp, ld, 70],
  ].flatMap(([a, b, count]) =>
    Array.from({ length: count as number }, () => {
      const [x, y] = along(a as Place, b as Place, dice.between(4, dist(a as Place, b as Place) - 4));
      const [ox, oy] = a === hp ? [2, 0] : [0, 2];
      return rod([x + ox, y + oy, -2], [x + 2 * ox, y + 2 * oy, -dice.between(14, 70)], dice.between(0.8, 3), "Water");
    }),
  );
}

function frame(dice: Dice, t: Table, deep: number): string[] {
  const floor = -t.heightMm;
  const under = -deep - dice.between(20, 60);
  const beam = dice.between(60, 110);
  const [x0, x1] = [t.lengthMm * 0.1, t.lengthMm * 0.88];
  const [y0, y1] = [t.widthMm * 0.18, t.widthMm * 0.84];
  const parts: string[] = [];
  for (const y of [y0, y1])
    parts.push(box([x0 - 200, y - beam / 2, under - beam], [x1 + 60, y + beam / 2, under], "Frame"));
  for (const x of [x0, (x0 + x1) / 2, x1])
    parts.push(box([x - beam / 3, y0 - 60, under - 4], [x + beam / 3, y1 + 60, -deep], "Frame"));
  for (const x of [x0 + 40, x1 - 40]) {
    for (const y of [y0, y1]) {
      parts.push(
        box([x - beam / 2.4, y - beam / 2.4, floor - 60], [x + beam / 2.4, y + beam / 2.4, under - beam], "Frame"),
      );
      parts.push(box([x - beam, y - beam, floor - 60], [x + beam, y + beam, floor + 16], "Frame"));
    }
    parts.push(rod([x, y0, floor + 250], [x, y1, under - beam - 80], 16, "Frame"));
  }
  if (dice.chance(0.7)) {
    const [x, y, z] = [dice.between(x0, x1), t.widthMm + 190, under - 60];
    parts.push(rod([x, y, z], [x, y - 330, z], 13, "Steel"));
    parts.push(`torus { 90, 9 ${"texture { Guard }"} translate ${vec([x, y, z])} }`);
    for (const turn of [0, 60, 120]) {
      const [c, s] = [82 * Math.cos((turn * Math.PI) / 180), 82 * Math.sin((turn * Math.PI) / 180)];
      parts.push(rod([x + c, y, z + s], [x - c, y, z - s], 6, "Guard"));
    }
  }
  return parts;
}

/** Head motion, motor and belt guard beyond the drive end, below the line of sight to the deck where it can be. */
function drive(dice: Dice, t: Table, deep: number): string[] {
  const y = t.widthMm * dice.between(0.35, 0.6);
  const x = Math.min(t.outline[3][0], t.outline[0][0]) - dice.between(110, 220);
  const [half, long, top] = [dice.between(110, 190), dice.between(280, 420), dice.between(-30, 60)];
  const floor = -t.heightMm;
  const parts = [
    box([x - long, y - half, -260], [x, y + half, top - 20], "Housing"),
    box([x - long + 20, y - half + 20, top - 20], [x - 20, y + half - 20, top], "Housing"),
    box([x - long - 60, y - half - 60, floor - 40], [x + 60, y + half + 60, floor + 120], "Concrete"),
    box([x - long, y - half + 30, floor], [x, y + half - 30, -260], "Frame"),
    rod([x - 40, y, -deep - 55], [t.lengthMm * 0.2, y, -deep - 55], 26, "Steel"),
  ];
  for (const [dx, dy] of [
    [0.1, -0.8],
    [0.9, -0.8],
    [0.1, 0.8],
    [0.9, 0.8],
    [0.5, 0.8],
    [0.5, -0.8],
  ] as const) {
    parts.push(rod([x - long * dx, y + half * dy, top - 20], [x - long * dx, y + half * dy, top - 6], 9, "Steel"));
  }
  const side = dice.chance(0.5) ? 1 : -1;
  const wheelY = y + side * (half + 45);
  const reach = dice.between(260, 420);
  parts.push(
    rod([x - long * 0.5, wheelY - 32, -110], [x - long * 0.5, wheelY + 32, -110], dice.between(110, 150), "Guard"),
  );
  parts.push(
    rod([x - long * 0.5 - reach, wheelY - 32, -300], [x - long * 0.5 - reach, wheelY + 32, -300], 85, "Guard"),
  );
  parts.push(box([x - long * 0.5 - reach, wheelY - 32, -385], [x - long * 0.5, wheelY + 32, -25], "Guard"));
  parts.push(
    rod(
      [x - long * 0.5 - reach, wheelY - side * 60, -300],
      [x - long * 0.5 - reach, wheelY - side * 380, -300],
      95,
      "Motor",
    ),
  );
  parts.push(
    box(
      [x - long * 0.5 - reach - 110, wheelY - side * 60, floor],
      [x - long * 0.5 - reach + 110, wheelY - side * 380, -390],
      "Frame",
    ),
  );
  return parts;
}
