/** What lights hall or yard. In space: the deck's middle at the origin, z up, mm. */
import { type Camera, see, type Vector } from "./camera.ts";
import type { Dice } from "./dice.ts";
import type { Room } from "./plant-pov.ts";
import type { Scenario } from "./scenario.ts";
import { box, rgb, rod, vec } from "./sdl.ts";

/** Lamps and sky, with what shows of them in the water. */
export function lights(dice: Dice, scene: Scenario, room: Room, camera: Camera): string[] {
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
