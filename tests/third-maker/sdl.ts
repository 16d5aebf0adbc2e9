/** Small words of POV-Ray's scene language, and the named textures that all things wear. */
import type { Vector } from "./camera.ts";
import type { Place } from "./tables.ts";

export const vec = (v: readonly number[]): string => `<${v.map((n) => +n.toFixed(7)).join(",")}>`;
/** sRGB as people write it, with a strength. */
export const rgb = (hex: string, strength = 1): string => {
  const part = (at: number) => {
    const c = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return strength * (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
  };
  return `rgb <${[1, 3, 5].map((at) => part(at).toFixed(5)).join(",")}>`;
};
export const wear = (texture: string): string => `texture { ${texture} }`;

export const box = (a: readonly number[], b: readonly number[], texture: string, more = ""): string =>
  `box { ${vec(a.map((n, k) => Math.min(n, b[k]!)))}, ${vec(a.map((n, k) => Math.max(n, b[k]!)))} ${wear(texture)} ${more} }`;
export const rod = (a: readonly number[], b: readonly number[], radius: number, texture: string, more = ""): string =>
  `cylinder { ${vec(a)}, ${vec(b)}, ${radius.toFixed(3)} ${wear(texture)} ${more} }`;
export const ball = (at: readonly number[], radius: number, texture: string, more = ""): string =>
  `sphere { ${vec(at)}, ${radius.toFixed(3)} ${wear(texture)} ${more} }`;
export const face = (points: readonly (readonly number[])[], texture: string): string =>
  `polygon { ${points.length + 1}, ${[...points, points[0]!].map(vec).join(", ")} ${wear(texture)} }`;
/** A tube through points. */
export const tube = (points: readonly (readonly [readonly number[], number])[], texture: string): string =>
  `sphere_sweep { ${points.length > 3 ? "b_spline" : "linear_spline"} ${points.length}, ${points.map(([p, r]) => `${vec(p)}, ${r.toFixed(2)}`).join(", ")} tolerance 0.5 ${wear(texture)} }`;

/**
 * A bar along the line from a to b of the deck, in deck coordinates: it reaches from `out[0]` to `out[1]` mm to the outer side of
 * that line (the line runs as the outline does) and from `z[0]` to `z[1]` in height.
 */
export function bar(a: Place, b: Place, out: Place, z: Place, texture: string, more: Place = [0, 0]): string {
  const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const [ux, uy] = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
  return box([-more[0], out[0], z[0]], [length + more[1], out[1], z[1]], texture, place(ux, uy, a));
}

/** Local x along (ux, uy), local y outward, local z up, moved to a. */
export const place = (ux: number, uy: number, a: Place): string =>
  `matrix <${[ux, uy, 0, uy, -ux, 0, 0, 0, 1, a[0], a[1], 0].map((n) => n.toFixed(6)).join(",")}>`;

/** Rows are where x, y and z go, then the origin. */
export const carry = (x: Vector, y: Vector, z: Vector, origin: Vector): string =>
  `matrix <${[...x, ...y, ...z, ...origin].map((n) => n.toFixed(7)).join(",")}>`;

const PAINTS = [
  "#4a6c8c",
  "#557558",
  "#8c8f8a",
  "#a5894a",
  "#8f4d3d",
  "#c3c1b8",
  "#3a444d",
  "#66808a",
  "#b0703f",
  "#9a9c98",
];

/** Textures by name. `Frame`, `Housing` and the like differ from picture to picture. */
export function textures(pick: <T>(list: readonly T[]) => T, slurry: string): Record<string, string> {
  const painted = (hex: string, rust: number) =>
    `pigment { granite turbulence 0.2 scale 420 color_map { [0 ${rgb("#5a3f2c")}] [${(rust - 0.14).toFixed(2)} ${rgb("#6b5038")}] [${(rust - 0.1).toFixed(2)} ${rgb(hex, 0.75)}] [0.5 ${rgb(hex, 0.9)}] [1 ${rgb(hex)}] } }
     normal { bumps 0.06 scale 25 } finish { ambient Amb diffuse 0.75 specular 0.25 roughness 0.03 reflection { 0.02 } }`;
  const matte = (hex: string, bumps = 0.2, scale = 12, other = hex) =>
    `pigment { bozo turbulence 0.8 octaves 5 scale ${scale * 14} color_map { [0.2 ${rgb(hex, 0.82)}] [0.8 ${rgb(other)}] } }
     normal { granite ${bumps} scale ${scale * 4} } finish { ambient Amb diffuse 0.8 specular 0.04 roughness 0.1 }`;
  const steel = `pigment { bozo turbulence 0.6 scale 160 color_map { [0 ${rgb("#70767b")}] [1 ${rgb("#9aa0a4")}] } }
     normal { bumps 0.05 scale 10 } finish { ambient Amb diffuse 0.45 specular 0.5 roughness 0.03 reflection { 0.16 } metallic }`;
  const frame = pick(PAINTS);
  return {
    Frame: painted(frame, pick([0.2, 0.28, 0.34])),
    Housing: painted(pick([frame, pick(PAINTS)]), 0.22),
    Guard: painted(pick(["#d6b13a", "#c9892f", frame, "#c9c7bd"]), 0.24),
    Motor: painted(pick(["#4b6f8f", "#5c6166", "#3c5a46"]), 0.2),
    Edge: pick([matte("#8a6a44", 0.2, 8, "#a07d52"), painted(pick(PAINTS), 0.2), matte("#3a3b3c", 0.1, 6)]),
    Rim: pick([matte("#96754c", 0.15, 6, "#b08b5c"), matte("#4b4d4e", 0.1, 5), painted(pick(PAINTS), 0.18), steel]),
    Launder: pick([steel, painted(pick(PAINTS), 0.26), matte("#c8c6bb", 0.05, 8), matte("#55585b", 0.08, 8)]),
    Box: pick([steel, matte("#8f6c45", 0.25, 7, "#a98458"), matte("#d2cfc3", 0.05, 9), painted(pick(PAINTS), 0.2)]),
    Pipe: pick([matte("#d8d6ce", 0.02, 6), matte("#5d7688", 0.02, 6), steel, matte("#3a3d40", 0.03, 6)]),
    Steel: steel,
    Rusty: matte("#6b4128", 0.4, 10, "#8a5a38"),
    Rubber: matte("#26282a", 0.1, 4),
    Slurry: `pigment { bozo turbulence 1 scale 60 color_map { [0 ${rgb(slurry, 0.45)}] [1 ${rgb(slurry, 0.75)}] } }
     normal { bumps 0.25 scale 18 } finish { ambient Amb diffuse 0.7 specular 0.7 roughness 0.006 reflection { 0.05, 0.5 } }`,
    Water: `pigment { rgbt <0.85,0.9,0.92,0.72> } normal { bumps 0.4 scale 3 } finish { ambient Amb diffuse 0.25 specular 1 roughness 0.003 reflection { 0.05, 0.6 } }`,
    Hose: matte(pick(["#2f7d46", "#c9a12f", "#2b2d2f", "#3a66a0", "#a83a2c"]), 0.03, 6),
    Rope: matte("#b59a66", 0.6, 3, "#c8b180"),
    Glove: matte(pick(["#d9792c", "#3d6d9e", "#1f2224", "#b8a98c", "#c98f74"]), 0.25, 3),
    Sleeve: matte(pick(["#2c4a6e", "#d4651f", "#5d6b4a", "#6d6f72"]), 0.5, 14),
    Wood: matte("#8b6a42", 0.25, 9, "#a9865a"),
    Plastic: matte(pick(["#3d6391", "#d2d0c8", "#9f4238", "#2c2e30", "#c79f45", "#d9d7ce"]), 0.03, 14),
    Drum: painted(pick(["#2f5f9a", "#3f4245", "#b5502f", "#5f7d4a"]), 0.3),
    Sack: matte("#c9c2b0", 0.5, 16, "#ded8c8"),
    Plaster: matte(pick(["#b9b5a9", "#9fb0ab", "#c9bf9f", "#8e979c"]), 0.05, 60, "#c4c0b5"),
    Brick: `brick texture { ${matte("#a39a8e", 0.3, 8)} }, texture { ${matte("#7c4434", 0.3, 12, "#9a5d47")} } brick_size <230, 120, 70> mortar 10`,
    Corrugated: `pigment { bozo turbulence 0.6 scale 700 color_map { [0 ${rgb(pick(["#7f8a8e", "#5f7f74", "#7a8aa0"]))}] [0.75 ${rgb("#9aa3a6")}] [1 ${rgb("#7a5a42")}] } }
     normal { gradient x 0.9 sine_wave scale 76 } finish { ambient Amb diffuse 0.7 specular 0.2 roughness 0.05 }`,
    Roof: matte("#6f757a", 0.1, 60, "#82888c"),
    Concrete: groundOf(matte("#7d7a73", 0.25, 40, "#98958c"), "#57554f"),
    Tiles: `brick texture { ${matte("#6d6a64", 0.2, 10)} }, texture { pigment { bozo turbulence 0.7 scale 500 color_map { [0 ${rgb("#8d5a45")}] [1 ${rgb("#a9745c")}] } }
     normal { bumps 0.08 scale 40 } finish { ambient Amb diffuse 0.7 reflection { 0.02, 0.3 } specular 0.3 roughness 0.02 } } brick_size <300, 300, 300> mortar 8`,
    Gravel: `pigment { crackle scale 26 color_map { [0 ${rgb("#4f4a42")}] [0.15 ${rgb("#8a8377")}] [0.6 ${rgb("#a39b8d")}] } turbulence 0.3 }
     normal { crackle 1.2 scale 26 turbulence 0.3 } finish { ambient Amb diffuse 0.85 }`,
    Plate: `pigment { bozo scale 300 color_map { [0 ${rgb("#5b6063")}] [1 ${rgb("#787d80")}] } } normal { leopard 0.8 scale 9 }
     finish { ambient Amb diffuse 0.6 specular 0.4 roughness 0.02 reflection { 0.04 } }`,
    Sandy: matte("#a9875f", 0.5, 12, "#c2a176"),
    Leaves: matte("#34502a", 1.2, 22, "#5d7a3c"),
    Sheet: matte("#c9b183", 0.1, 5, "#d8c59c"),
  };
}

/** Dry ground with puddles. */
const groundOf = (dry: string, wet: string): string =>
  `bozo turbulence 0.7 octaves 4 scale 1100 texture_map { [0.5 ${dry}] [0.62 pigment { ${rgb(wet)} } normal { bumps 0.03 scale 60 } finish { ambient Amb diffuse 0.55 specular 0.5 roughness 0.01 reflection { 0.05, 0.5 } }] }`;
