/** Hall or yard round the table. In space: the deck's middle at the origin, z up, mm. */
import type { Camera } from "./camera.ts";
import { clutter } from "./clutter-pov.ts";
import type { Dice } from "./dice.ts";
import { lights } from "./lights-pov.ts";
import type { Light, Scenario } from "./scenario.ts";
import { ball, box, rgb, rod, vec } from "./sdl.ts";

/** Room: least and most x, y, z. */
export interface Room {
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
