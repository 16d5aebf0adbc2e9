/** One scene file for the ray tracer; and the same scene as a map of deck coordinates, for the truth. */
import type { Camera, Lie } from "./camera.ts";
import { plant } from "./plant-pov.ts";
import type { Scenario } from "./scenario.ts";
import { carry, textures, vec } from "./sdl.ts";
import { deckTop, tableBody } from "./table-pov.ts";
import { thingBefore } from "./thing-pov.ts";

export interface SceneFiles {
  /** The photo: needs colour.png, film.png and relief.png beside it. */
  readonly photo: string;
  /** Red and green: share of length and width; blue: whether the deck is what is seen. Linear. */
  readonly places: string;
}

/** @param relief  null: the plant without any table. */
export function sceneFiles(
  scene: Scenario,
  camera: Camera,
  lie: Lie,
  splitters: readonly number[],
  relief: { perMm: number; rangeMm: number } | null,
): SceneFiles {
  const { ore, dice } = scene;
  const [slurry] = ore.light[0]!;
  const choice = dice.on("wear");
  const dressed = textures((list) => choice.pick(list), slurry);
  const deckThings = [
    `#declare Body = union { ${tableBody(dice.on("body"), scene.table, splitters)} }`,
    `#declare Top = ${deckTop(scene.table)}`,
  ].join("\n");
  const lies = carry(lie.x, lie.y, lie.up, lie.origin);
  const before = scene.thing ? `union { ${thingBefore(dice.on("before"), scene.table, scene.thing)} ${lies} }` : "";
  const table = `union { object { Top } object { Body } ${lies} }`;
  const eye = `camera { perspective location ${vec(camera.at)} direction ${vec(camera.forward.map((c) => (c * camera.focalPx) / camera.width))} right ${vec(camera.right)} up ${vec(camera.down.map((c) => (-c * camera.height) / camera.width))} }`;
  const things = relief ? [deckThings, table, before].join("\n") : "";
  const surroundings = plant(scene, camera, relief ? table : null);
  const head = `#version 3.7;\nglobal_settings { assumed_gamma 1.0 max_trace_level 5 }\n${eye}\n`;
  const photo = [
    head,
    "#declare Amb = 0;",
    ...Object.entries(dressed).map(([name, text]) => `#declare ${name} = texture { ${text} }`),
    relief ? deckSkin(scene, relief) : "",
    things,
    surroundings,
  ].join("\n");
  const black = "pigment { rgb 0 } finish { ambient 0 diffuse 0 }";
  const { lengthMm: L, widthMm: W } = scene.table;
  const places = [
    head,
    "#declare Amb = 0;",
    ...Object.keys(dressed).map((name) => `#declare ${name} = texture { ${black} }`),
    `#declare DeckSkin = texture { pigment { average pigment_map {
      [1 gradient x color_map { [0 rgb <0,0,1>] [1 rgb <2,0,1>] } scale ${(L * PLACE_SCALE).toFixed(4)}]
      [1 gradient y color_map { [0 rgb <0,0,1>] [1 rgb <0,2,1>] } scale ${(W * PLACE_SCALE).toFixed(4)}] } } finish { ambient 0 diffuse 0 emission 1 } }`,
    things,
    surroundings,
  ].join("\n");
  return { photo, places };
}

/** Scale of the place map: shares of 1.001 of length and width, so that the far sides do not wrap round. */
export const PLACE_SCALE = 1.001;

/** What the deck wears: paint, broken film, wet grains or a whole film of water with its ripples. */
function deckSkin({ table, ore, dice }: Scenario, { perMm, rangeMm }: { perMm: number; rangeMm: number }): string {
  const { lengthMm: L, widthMm: W } = table;
  const flat = `scale <${L},${-W},1> translate <0,${W},0>`;
  const side = Math.max(L, W);
  // what stands inside a texture map is moved and scaled with it, so the relief's own scale takes that out again
  const back = `translate <0,${-W},0> scale <${1 / L},${-1 / W},1>`;
  const colour = `pigment { image_map { png "colour.png" gamma srgb interpolate 2 once } }`;
  const relief = (strength: number) =>
    `normal { bump_map { png "relief.png" gamma 1.0 interpolate 2 bump_size ${(rangeMm * perMm * strength).toFixed(4)} } scale <${side},${-side},${side}> translate <0,${side},0> ${back} }`;
  const glint = 0.08 + 0.35 * ore.glint;
  const gloss = dice.on("gloss").between(0.7, 1);
  return `
#declare Dry = texture { ${colour} ${relief(0.6)} finish { ambient 0 diffuse 0.85 specular 0.03 roughness 0.1 } }
#declare Grainy = texture { ${colour} ${relief(1)} finish { ambient 0 diffuse 0.8 specular ${glint.toFixed(3)} roughness 0.02 reflection { 0, ${(0.55 * gloss).toFixed(3)} fresnel on } conserve_energy } }
#declare Film = texture { ${colour} ${relief(1)} finish { ambient 0 diffuse 0.8 specular 0.9 roughness 0.0025 reflection { 0, ${gloss.toFixed(3)} fresnel on } conserve_energy } }
#declare DeckSkin = texture { image_pattern { png "film.png" gamma 1.0 interpolate 2 once } texture_map { [0 Dry] [0.42 Grainy] [0.6 Grainy] [0.95 Film] } ${flat} }
`;
}
