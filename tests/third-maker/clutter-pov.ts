/** Things about the floor of a hall or yard. In space: the deck's middle at the origin, z up, mm. */
import { type Camera, lieOf, onDeck, type Vector } from "./camera.ts";
import type { Dice } from "./dice.ts";
import type { Room } from "./plant-pov.ts";
import type { Scenario } from "./scenario.ts";
import { box, rod, vec } from "./sdl.ts";

/** Things about the floor, none of them between phone and deck. */
export function clutter(dice: Dice, scene: Scenario, room: Room, camera: Camera, neighbour: string | null): string[] {
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
