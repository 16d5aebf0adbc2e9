/** Hall or yard round the table, and what lights it. In space: the deck's middle at the origin, z up, mm. */
import { type Camera, lieOf, onDeck, see, type Vector } from "./camera.ts";
import type { Dice } from "./dice.ts";
import type { Light, Scenario } from "./scenario.ts";
import { ball, box, rgb, rod, vec } from "./sdl.ts";

/** Room: least and most x, y, z. */
interface Room {
  readonly x: readonly [number, number];
  readonly y: readonly [number, number];
  readonly floor: number;
  readonly ceiling: number;
}

export function plant(scene: Scenario, camera: Camera, neighbour: string | null): string {
  const dice = scene.dice.on("plant");
  const { table } = scene;
  const far = (axis: 0 | 1, sign: number) => {
    const deck = (axis === 0 ? table.lengthMm : table.widthMm) / 2 + 900;
    return Math.max(deck, sign * camera.at[axis] + 350) + dice.between(100, 2600);
  };
  const room: Room = {
    x: [-far(0, -1), far(0, 1)],
    y: [-far(1, -1), far(1, 1)],
    floor: -table.heightMm,
    ceiling: Math.max(camera.at[2] + 500, 1700) + dice.between(0, 1600),
  };
  const parts = scene.outdoors ? yard(dice.on("yard"), room) : hall(dice.on("hall"), room, scene.light);
  parts.push(...clutter(dice.on("clutter"), scene, room, camera, neighbour));
  parts.push(...lights(dice.on("lights"), scene, room, camera));
  return parts.join("\n");
}

function hall(dice: Dice, room: Room, light: Light): string[] {
  const { x, y, floor, ceiling } = room;
  const skin = dice.pick(["Plaster", "Brick", "Corrugated", "Plaster", "Corrugated"]);
  const parts = [
    `plane { z, ${floor.toFixed(1)} texture { ${dice.pick(["Concrete", "Concrete", "Tiles", "Plate"])} } }`,
    box([x[0] - 500, y[0] - 500, ceiling], [x[1] + 500, y[1] + 500, ceiling + 40], "Roof", "no_shadow"),
  ];
  // each wall in its own frame: width along local x, height along local z, facing local -y
  const walls: [number, number, number, number][] = [
    [x[1] - x[0], x[0], y[1], 0],
    [y[1] - y[0], x[1], y[1], -90],
    [x[1] - x[0], x[1], y[0], 180],
    [y[1] - y[0], x[0], y[0], 90],
  ];
  const bright = dice.pick([0, 1, 2, 3]);
  walls.forEach(([wide, wx, wy, turn], n) => {
    const isBright = light === "window" && n === bright;
    const windows = isBright || dice.chance(light === "night lamp" ? 0.1 : 0.45);
    const strength =
      light === "window"
        ? isBright
          ? 2.6
          : 0.7
        : { overcast: 1, sun: 2, "hall tubes": 0.7, "night lamp": 0.01, flash: 0.05 }[light];
    const inner = [box([-400, 0, floor], [wide + 400, 60, ceiling], skin)];
    if (dice.chance(0.5))
      inner.push(
        box(
          [-400, -4, floor],
          [wide + 400, 1, floor + dice.between(900, 1400)],
          dice.pick(["Motor", "Launder", "Drum"]),
        ),
      );
    if (windows) {
      const [pane, high, low] = [dice.between(700, 1500), dice.between(700, 1300), dice.between(-250, 500)];
      for (let at = dice.between(150, 500); at + pane < wide; at += pane + dice.between(180, 700)) {
        inner.push(
          `box { ${vec([at, -6, low])}, ${vec([at + pane, 2, low + high])} pigment { ${rgb("#e4edf5", strength)} } finish { ambient 0 diffuse 0 emission 1 } }`,
        );
        for (let bar = 0; bar <= 3; bar++)
          inner.push(
            box([at + (pane * bar) / 3 - 14, -22, low], [at + (pane * bar) / 3 + 14, -4, low + high], "Frame"),
          );
        inner.push(
          box([at, -22, low + high / 2 - 12], [at + pane, -4, low + high / 2 + 12], "Frame"),
          box([at - 30, -50, low - 30], [at + pane + 30, 0, low], "Frame"),
        );
        if (light === "window" && !isBright) break;
      }
    }
    for (let pipe = dice.whole(0, 4); pipe > 0; pipe--) {
      const z = dice.between(floor + 300, ceiling - 200);
      inner.push(
        rod(
          [-300, -dice.between(50, 120), z],
          [wide + 300, -90, z],
          dice.between(15, 55),
          dice.pick(["Pipe", "Steel", "Motor", "Rusty"]),
        ),
      );
    }
    for (let post = dice.between(200, 900); post < wide; post += dice.between(1500, 2600))
      inner.push(box([post, -120, floor], [post + 120, 0, ceiling], dice.pick(["Frame", "Steel", "Rusty"])));
    for (let cabinet = dice.whole(0, 2); cabinet > 0; cabinet--) {
      const [at, z] = [dice.between(100, wide - 700), dice.between(floor + 400, 0)];
      inner.push(
        box(
          [at, -dice.between(160, 320), z],
          [at + dice.between(300, 600), 0, z + dice.between(500, 900)],
          dice.pick(["Launder", "Motor", "Housing", "Plastic"]),
        ),
      );
    }
    parts.push(`union { ${inner.join("\n")} rotate z*${turn} translate ${vec([wx, wy, 0])} }`);
  });
  for (let bx = x[0] + 300; bx < x[1]; bx += 1400)
    parts.push(box([bx, y[0], ceiling - 180], [bx + 110, y[1], ceiling], "Rusty", "no_shadow"));
  return parts;
}

function yard(dice: Dice, room: Room): string[] {
  const { x, y, floor } = room;
  const parts = [
    `plane { z, ${floor.toFixed(1)} texture { ${dice.pick(["Gravel", "Sandy", "Concrete", "Sandy"])} scale 1.3 } }`,
  ];
  const edge = Math.max(x[1], -x[0], y[1], -y[0]) + 600;
  for (let n = dice.whole(2, 5); n > 0; n--) {
    const turn = dice.between(0, 360);
    const wide = dice.between(1500, 5000);
    const skin = dice.pick(["Corrugated", "Brick", "Wood", "Plaster", "Corrugated"]);
    const high = dice.between(1200, 3200);
    const out = edge + dice.between(200, 4000);
    const extra = dice.chance(0.6)
      ? box([-wide / 4, out - 5, floor], [-wide / 4 + 900, out, floor + 1900], "Rubber")
      : "";
    parts.push(
      `union { ${box([-wide / 2, out, floor], [wide / 2, out + 1500, floor + high], skin)} ${extra} ${box([-wide / 2 - 200, out - 350, floor + high], [wide / 2 + 200, out + 1600, floor + high + 50], "Corrugated")} rotate z*${turn.toFixed(0)} }`,
    );
  }
  for (let n = dice.whole(1, 5); n > 0; n--) {
    const [turn, out, high] = [dice.between(0, 2 * Math.PI), edge + dice.between(700, 5000), dice.between(400, 1500)];
    parts.push(
      `cone { ${vec([out * Math.cos(turn), out * Math.sin(turn), floor])}, ${(high * 1.7).toFixed(0)}, ${vec([out * Math.cos(turn), out * Math.sin(turn), floor + high])}, 60 texture { ${dice.pick(["Sandy", "Gravel", "Sandy"])} scale 2 } }`,
    );
  }
  for (let n = dice.whole(3, 14); n > 0; n--) {
    const [turn, out, size] = [dice.between(0, 2 * Math.PI), edge + dice.between(2500, 9000), dice.between(700, 2000)];
    const [tx, ty] = [out * Math.cos(turn), out * Math.sin(turn)];
    parts.push(rod([tx, ty, floor], [tx, ty, floor + 2200], 90, "Wood"));
    for (let lump = 0; lump < 7; lump++)
      parts.push(
        ball(
          [
            tx + dice.normal() * size * 0.5,
            ty + dice.normal() * size * 0.5,
            floor + 2000 + size * dice.between(0, 1.4),
          ],
          size * dice.between(0.4, 0.75),
          "Leaves",
        ),
      );
  }
  for (let post = 0; post < 24 && edge > 0; post++) {
    const s = (post / 24) * 2 * Math.PI;
    parts.push(
      rod(
        [(edge + 300) * Math.cos(s), (edge + 300) * Math.sin(s), floor],
        [(edge + 300) * Math.cos(s), (edge + 300) * Math.sin(s), floor + 1100],
        40,
        "Wood",
      ),
    );
  }
  return parts;
}

/** Things about the floor, none of them between phone and deck. */
function clutter(dice: Dice, scene: Scenario, room: Room, camera: Camera, neighbour: string | null): string[] {
  const { table } = scene;
  const { floor } = room;
  const parts: string[] = [];
  const heading = Math.atan2(camera.at[1], camera.at[0]);
  const farSide = Math.max(...table.outline.map(([x, y]) => depthOf(camera, onDeck(lieOf(table), x, y))));
  for (let n = dice.whole(9, 20); n > 0; n--) {
    const turn = dice.between(-Math.PI, Math.PI);
    const gap = Math.abs(Math.atan2(Math.sin(turn - heading), Math.cos(turn - heading)));
    const deckEdge =
      1 /
      Math.max(
        Math.abs(Math.cos(turn)) / (table.lengthMm / 2 + 250),
        Math.abs(Math.sin(turn)) / (table.widthMm / 2 + 320),
      );
    const out = deckEdge + dice.between(180, 1500);
    const [px, py] = [out * Math.cos(turn), out * Math.sin(turn)];
    // before the deck's far side only what stays below the deck, and never where the phone is
    const low = depthOf(camera, [px, py, 0]) < farSide + 250;
    if (low && (gap < 0.25 || Math.hypot(px - camera.at[0], py - camera.at[1]) < 700)) continue;
    if (px < room.x[0] + 250 || px > room.x[1] - 250 || py < room.y[0] + 250 || py > room.y[1] - 250) continue;
    const here = `rotate z*${dice.between(0, 360).toFixed(0)} translate ${vec([px, py, floor])}`;
    parts.push(
      `union { ${dice.pick(low ? [bucket, sacks, coil, pallet, bucket, plank] : [bucket, drum, sacks, coil, pallet, shelf, shovel, ladder, bench, drum])(dice)} ${here} }`,
    );
  }
  if (dice.chance(0.35) && neighbour) {
    const side = camera.at[1] > 0 ? -1 : 1;
    parts.push(
      `object { ${neighbour} translate ${vec([dice.between(-900, 900), side * (table.widthMm + dice.between(800, 1500)), 0])} }`,
    );
  }
  return parts;
}

/** How far off in the direction the phone looks, seen from above. */
const depthOf = (camera: Camera, [x, y]: Vector): number => {
  const [fx, fy] = camera.forward;
  return ((x - camera.at[0]) * fx + (y - camera.at[1]) * fy) / Math.hypot(fx, fy);
};

const bucket = (dice: Dice) => {
  const [r, h] = [dice.between(120, 170), dice.between(240, 330)];
  return `difference { cone { 0, ${(r * 0.8).toFixed(0)}, <0,0,${h.toFixed(0)}>, ${r.toFixed(0)} } cone { <0,0,8>, ${(r * 0.77).toFixed(0)}, <0,0,${(h + 2).toFixed(0)}>, ${(r * 0.97).toFixed(0)} } texture { ${dice.pick(["Plastic", "Rubber", "Steel"])} } }
    cylinder { <0,0,8>, <0,0,${(h * dice.between(0.3, 0.8)).toFixed(0)}>, ${(r * 0.84).toFixed(0)} texture { ${dice.pick(["Slurry", "Sandy", "Slurry"])} } }`;
};
const drum = (dice: Dice) =>
  `cylinder { 0, <0,0,880>, 290 texture { ${dice.pick(["Drum", "Plastic", "Drum"])} } } ${[0, 300, 590, 870].map((z) => `torus { 290, 9 rotate x*90 translate z*${z} texture { Drum } }`).join(" ")}`;
const sacks = (dice: Dice) =>
  Array.from(
    { length: dice.whole(1, 4) },
    (_, k) =>
      `superellipsoid { <0.5, 0.35> scale <360, 210, 75> rotate z*${dice.between(-14, 14).toFixed(0)} translate z*${70 + 140 * k} texture { Sack } }`,
  ).join(" ");
const coil = (dice: Dice) =>
  Array.from(
    { length: 6 },
    (_, k) =>
      `torus { ${dice.between(200, 260).toFixed(0)}, 14 rotate x*${(88 + dice.between(0, 5)).toFixed(1)} translate z*${14 + 14 * k} texture { Hose } }`,
  ).join(" ");
const pallet = () =>
  [0, 1, 2, 3, 4, 5].map((k) => box([-600, -500 + k * 180, 110], [600, -400 + k * 180, 132], "Wood")).join(" ") +
  [-560, -60, 440].map((x) => box([x, -500, 0], [x + 120, 500, 110], "Wood")).join(" ");
const plank = (dice: Dice) => box([-800, -80, 0], [800, dice.between(0, 160), 40], "Wood");
const shelf = (dice: Dice) =>
  [100, 700, 1300, 1900]
    .map(
      (z) =>
        box([-500, -220, z], [500, 220, z + 25], "Steel") +
        [-300, 60, 320]
          .map((x) =>
            dice.chance(0.6)
              ? box(
                  [x, -150, z + 25],
                  [x + 180, 100, z + dice.between(120, 400)],
                  dice.pick(["Plastic", "Wood", "Motor", "Sack"]),
                )
              : "",
          )
          .join(" "),
    )
    .join(" ") +
  [
    [-500, -220],
    [500, -220],
    [-500, 220],
    [500, 220],
  ]
    .map(([x, y]) => rod([x!, y!, 0], [x!, y!, 2100], 22, "Frame"))
    .join(" ");
const shovel = () =>
  `${rod([0, 0, 300], [320, 0, 1350], 17, "Wood")} box { <-130,-4,0>, <130,4,300> texture { Rusty } rotate y*12 } ${rod([320, -70, 1350], [320, 70, 1350], 16, "Wood")}`;
const ladder = () =>
  [-200, 200].map((y) => rod([0, y, 0], [500, y, 2400], 24, "Guard")).join(" ") +
  Array.from({ length: 8 }, (_, k) =>
    rod([62 * k + 40, -200, 300 * k + 200], [62 * k + 40, 200, 300 * k + 200], 14, "Guard"),
  ).join(" ");
const bench = (dice: Dice) =>
  box([-700, -350, 800], [700, 350, 850], "Wood") +
  [
    [-660, -310],
    [660, -310],
    [-660, 310],
    [660, 310],
  ]
    .map(([x, y]) => box([x! - 30, y! - 30, 0], [x! + 30, y! + 30, 800], "Frame"))
    .join(" ") +
  [-500, -100, 300]
    .map((x) =>
      box(
        [x, -200, 850],
        [x + dice.between(120, 300), 80, 850 + dice.between(60, 350)],
        dice.pick(["Plastic", "Steel", "Motor", "Sack"]),
      ),
    )
    .join(" ");

/** Lamps and sky, with what shows of them in the water. */
function lights(dice: Dice, scene: Scenario, room: Room, camera: Camera): string[] {
  const { ceiling } = room;
  const parts: string[] = [];
  /** Light thrown back by walls, roof and floor: without shadows, from all round. */
  const fill = (strength: number, hex = "#dfe6ee") => {
    const turn = dice.between(0, Math.PI);
    parts.push(
      `light_source { ${vec([600 * Math.cos(turn), 600 * Math.sin(turn), 3000])} ${rgb(hex, strength)} shadowless }`,
    );
    for (const side of [0, Math.PI]) {
      parts.push(
        `light_source { ${vec([3000 * Math.cos(turn + side), 3000 * Math.sin(turn + side), 900])} ${rgb(hex, strength * dice.between(0.3, 0.7))} shadowless }`,
      );
    }
    parts.push(
      `light_source { ${vec([500 * Math.cos(turn), 500 * Math.sin(turn), -3000])} ${rgb("#b9b2a6", strength * 0.15)} shadowless }`,
    );
  };
  const softLamp = (at: Vector, u: Vector, v: Vector, cells: string, hex: string, strength: number, fade: number) =>
    parts.push(
      `light_source { ${vec(at)} ${rgb(hex, strength)} area_light ${vec(u)}, ${vec(v)}, ${cells} adaptive 0 jitter ${fade < 1e6 ? `fade_distance ${fade} fade_power 2` : ""} }`,
    );
  const sky = (top: string, low: string, strength: number, clouds: number) =>
    parts.push(`sky_sphere { pigment { gradient z color_map { [0 ${rgb(low, strength)}] [0.6 ${rgb(top, strength)}] } }
      pigment { bozo turbulence 0.8 octaves 6 lambda 2.4 scale <0.5,0.5,0.2> color_map { [${(1 - clouds).toFixed(2)} rgbt 1] [${(1.25 - clouds).toFixed(2)} ${rgb("#ffffff", strength * 1.1)} transmit 0.15] } } }`);
  switch (scene.light) {
    case "overcast":
      sky("#c9d2da", "#e8ebec", 1.05, 0.7);
      softLamp(
        [dice.between(-4000, 4000), dice.between(-4000, 4000), 8000],
        [9000, 0, 0],
        [0, 9000, 0],
        "3, 3",
        "#f2f5f8",
        0.7,
        1e7,
      );
      fill(0.25);
      break;
    case "sun": {
      const [turn, high] = [dice.between(0, 2 * Math.PI), dice.between(0.45, 1.25)];
      const toward: Vector = [Math.cos(turn) * Math.cos(high), Math.sin(turn) * Math.cos(high), Math.sin(high)];
      if (scene.outdoors) {
        sky("#5f8fcb", "#bcd0e2", 0.75, dice.between(0.2, 0.6));
        parts.push(`light_source { ${vec(toward.map((n) => n * 60000))} ${rgb("#fff1d6", 1.9)} parallel point_at 0 }`);
        fill(0.5, "#c4d8f2");
      } else {
        // a shaft through a roof light or a door: a far spot with a hard border
        const spread = dice.between(500, 1100);
        parts.push(
          `light_source { ${vec(toward.map((n) => n * Math.min(5000, (ceiling - 60) / toward[2])))} ${rgb("#ffeccb", 2)} spotlight point_at ${vec([dice.between(-300, 300), dice.between(-200, 200), 0])} radius ${((Math.atan(spread / 3000) * 180) / Math.PI).toFixed(1)} falloff ${((Math.atan((spread * 1.03) / 3000) * 180) / Math.PI).toFixed(1)} }`,
        );
        softLamp([0, 0, ceiling - 80], [2500, 0, 0], [0, 2500, 0], "2, 2", "#dfe8f0", 0.35, 4000);
        fill(0.3);
      }
      for (let n = dice.whole(0, 3); n > 0; n--) {
        // posts, wires and a roof edge between sun and deck
        const at = toward.map((c) => c * dice.between(2600, 4200)) as unknown as Vector;
        const across = [-Math.sin(turn), Math.cos(turn), dice.between(-0.6, 0.6)];
        const [off, long] = [dice.between(-900, 900), 2500];
        const middle = at.map((c, k) => c + across[k]! * off);
        if (middle[2]! > ceiling - 100 && !scene.outdoors) continue;
        parts.push(
          rod(
            middle.map((c, k) => c - (dice.chance(0.5) ? across[k]! : k === 2 ? 1 : 0) * long),
            middle.map((c, k) => c + across[k]! * long),
            dice.between(15, 120),
            "Rusty",
          ),
        );
      }
      break;
    }
    case "hall tubes": {
      const [hex, z] = [
        dice.pick(["#f4f7ff", "#fff2dc", "#eaf6ea"]),
        dice.between(Math.max(1500, camera.at[2] + 250), ceiling - 60),
      ];
      const alongX = dice.chance(0.5);
      const rows = dice.whole(1, 3);
      for (let n = 0; n < rows; n++) {
        const [cx, cy] = [dice.between(-1300, 1300), dice.between(-1300, 1300)];
        const half: Vector = alongX ? [650, 0, 0] : [0, 650, 0];
        softLamp(
          [cx, cy, z - 40],
          half.map((c) => c * 2) as unknown as Vector,
          alongX ? [0, 60, 0] : [60, 0, 0],
          "4, 1",
          hex,
          2.6 / rows,
          1500,
        );
        for (const shift of [-35, 35]) {
          const off = alongX ? [0, shift, 0] : [shift, 0, 0];
          parts.push(
            `cylinder { ${vec([cx - half[0] + off[0]!, cy - half[1] + off[1]!, z])}, ${vec([cx + half[0] + off[0]!, cy + half[1] + off[1]!, z])}, 16 pigment { ${rgb(hex, 14)} } finish { ambient 0 diffuse 0 emission 1 } no_shadow }`,
          );
        }
        parts.push(
          box(
            [cx - half[0] - (alongX ? 40 : 90), cy - half[1] - (alongX ? 90 : 40), z + 30],
            [cx + half[0] + (alongX ? 40 : 90), cy + half[1] + (alongX ? 90 : 40), z + 60],
            "Launder",
            "no_shadow",
          ),
        );
      }
      fill(dice.between(0.35, 0.7));
      break;
    }
    case "night lamp": {
      let at: Vector = [0, 0, 2000];
      for (let n = 0; n < 60; n++) {
        at = [dice.between(-1300, 1300), dice.between(-1100, 1100), dice.between(650, 1700)];
        const [px, py] = see(camera, at);
        const depth = at.reduce((sum, c, k) => sum + (c - camera.at[k]!) * camera.forward[k]!, 0);
        if (depth < 0 || px < -300 || py < -300 || px > camera.width + 300 || py > camera.height + 300) break;
      }
      const hex = dice.pick(["#ffd9a0", "#fff0d8", "#e8f0ff"]);
      parts.push(
        `light_source { ${vec(at)} ${rgb(hex, 3)} fade_distance 900 fade_power 2 area_light <70,0,0>, <0,70,0>, 2, 2 adaptive 0 jitter }`,
      );
      parts.push(
        `sphere { ${vec(at)}, 45 pigment { ${rgb(hex, 40)} } finish { ambient 0 diffuse 0 emission 1 } no_shadow }`,
      );
      parts.push(
        `cone { ${vec([at[0], at[1], at[2] + 10])}, 150, ${vec([at[0], at[1], at[2] + 160])}, 40 open texture { Motor } no_shadow }`,
        rod([at[0], at[1], at[2] + 150], [at[0], at[1], 6000], 10, "Rubber", "no_shadow"),
      );
      fill(dice.between(0.05, 0.14));
      break;
    }
    case "flash":
      parts.push(
        `light_source { ${vec([0, 1, 2].map((k) => camera.at[k]! + 35 * camera.right[k]! - 12 * camera.down[k]!))} ${rgb("#f4f6ff", 3.2)} fade_distance ${(camera.distanceMm * 0.6).toFixed(0)} fade_power 2 }`,
      );
      softLamp(
        [dice.between(-1500, 1500), dice.between(-1500, 1500), ceiling - 60],
        [1300, 0, 0],
        [0, 60, 0],
        "4, 1",
        "#ffe3b5",
        dice.between(0.15, 0.4),
        2000,
      );
      fill(dice.between(0.08, 0.2));
      break;
    case "window": {
      const side = dice.pick([
        [1, 0],
        [0, 1],
        [-1, 0],
        [0, -1],
      ] as const);
      const d =
        Math.min(4500, side[0] ? Math.abs(room.x[side[0] > 0 ? 1 : 0]) : Math.abs(room.y[side[1] > 0 ? 1 : 0])) - 120;
      softLamp(
        [side[0] * d, side[1] * d, dice.between(500, 1300)],
        side[0] ? [0, 2600, 0] : [2600, 0, 0],
        [0, 0, 1200],
        "4, 2",
        "#eaf1fa",
        2.2,
        2200,
      );
      parts.push(
        `box { ${vec([side[0] * (d + 60) - (side[1] ? 1300 : 3), side[1] * (d + 60) - (side[0] ? 1300 : 3), 150])}, ${vec([side[0] * (d + 60) + (side[1] ? 1300 : 3), side[1] * (d + 60) + (side[0] ? 1300 : 3), 1500])} pigment { ${rgb("#eaf1fa", 2.4)} } finish { ambient 0 diffuse 0 emission 1 } no_shadow }`,
      );
      for (let n = -2; n <= 2; n++)
        parts.push(
          rod(
            [side[0] * (d + 40) + side[1] * n * 620, side[1] * (d + 40) + side[0] * n * 620, 100],
            [side[0] * (d + 40) + side[1] * n * 620, side[1] * (d + 40) + side[0] * n * 620, 1550],
            22,
            "Frame",
            "no_shadow",
          ),
        );
      fill(dice.between(0.25, 0.5));
    }
  }
  return parts;
}
