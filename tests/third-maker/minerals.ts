/** Grain colours as they look wet, sRGB, each with its share. */
export type Grains = readonly (readonly [colour: string, share: number])[];

/** What the feed is made of. */
export interface Ore {
  readonly title: string;
  readonly dense: Grains;
  readonly middling: Grains;
  readonly light: Grains;
  /** Names of the three, for the description. */
  readonly names: readonly [dense: string, middling: string, light: string];
  /** How much the dense grains glint, 0 to 1. */
  readonly glint: number;
  /** Typical grain, mm. */
  readonly grainMm: number;
}

const ore = (
  title: string,
  names: Ore["names"],
  dense: Grains,
  middling: Grains,
  light: Grains,
  glint = 0,
  grainMm = 0.8,
): Ore => ({ title, names, dense, middling, light, glint, grainMm });

/** Colours from memory of such sands and concentrates (common practice); none is measured. */
export const ORES: readonly Ore[] = [
  ore(
    "Magnetite sand over quartz",
    ["magnetite and ilmenite", "stained quartz", "quartz sand"],
    [
      ["#1d1c1f", 8],
      ["#2a282b", 3],
      ["#4a3f39", 1],
    ],
    [
      ["#6d5a45", 4],
      ["#4b4038", 3],
      ["#8a755b", 3],
    ],
    [
      ["#c2ae8c", 5],
      ["#d8cab0", 3],
      ["#a98f6b", 2],
      ["#3b352f", 0.4],
    ],
    0.25,
  ),
  ore(
    "Specular hematite over quartz",
    ["hematite", "red mixed grains", "quartz"],
    [
      ["#3c2527", 5],
      ["#52292a", 3],
      ["#2c2226", 3],
    ],
    [
      ["#8a4c3a", 4],
      ["#713e33", 3],
      ["#a1745d", 2],
    ],
    [
      ["#cfb8a2", 5],
      ["#bfa08a", 3],
      ["#e0d6c8", 2],
    ],
    0.4,
    0.6,
  ),
  ore(
    "Galena over limestone",
    ["galena", "brown blende", "limestone"],
    [
      ["#4d545f", 5],
      ["#3a404b", 4],
      ["#6d7682", 2],
    ],
    [
      ["#6b543b", 4],
      ["#7f6a4f", 3],
      ["#55473a", 2],
    ],
    [
      ["#a7a59d", 5],
      ["#bdbbb2", 3],
      ["#8e8c86", 3],
    ],
    0.8,
    0.5,
  ),
  ore(
    "Pyrite over schist",
    ["pyrite", "mixed grains", "grey-green schist"],
    [
      ["#a08a4a", 5],
      ["#857241", 4],
      ["#bca662", 2],
      ["#5b5136", 1],
    ],
    [
      ["#7b745a", 4],
      ["#676355", 3],
      ["#8c8365", 2],
    ],
    [
      ["#55605a", 5],
      ["#454f4c", 4],
      ["#6b766f", 2],
    ],
    0.9,
    0.6,
  ),
  ore(
    "Cassiterite over granite sand",
    ["cassiterite", "tan mixed grains", "granite sand"],
    [
      ["#37271d", 5],
      ["#241b17", 4],
      ["#5a3f28", 2],
    ],
    [
      ["#93795c", 4],
      ["#7b634c", 3],
      ["#a58e73", 2],
    ],
    [
      ["#c4a999", 4],
      ["#b39b8f", 3],
      ["#d9cbc1", 3],
      ["#5b534e", 1],
    ],
    0.3,
    1.0,
  ),
  ore(
    "Garnet over beach sand",
    ["garnet", "rose sand", "beach sand"],
    [
      ["#6f3038", 5],
      ["#854048", 3],
      ["#55262c", 3],
    ],
    [
      ["#b07a6c", 4],
      ["#a06760", 3],
      ["#c59a83", 2],
    ],
    [
      ["#dcc9a1", 5],
      ["#e8dabb", 3],
      ["#c8b084", 3],
    ],
    0.2,
    0.7,
  ),
  ore(
    "Chromite over serpentine",
    ["chromite", "dark green grains", "serpentine"],
    [
      ["#1f2023", 6],
      ["#2e2c2b", 3],
      ["#15171a", 2],
    ],
    [
      ["#3f5243", 4],
      ["#334338", 3],
      ["#55644f", 2],
    ],
    [
      ["#7f9a78", 5],
      ["#94ad88", 3],
      ["#667f63", 3],
    ],
    0.3,
    0.7,
  ),
  ore(
    "Barite over dark shale",
    ["barite", "grey grains", "dark shale"],
    [
      ["#dcd5c6", 5],
      ["#ebe6da", 3],
      ["#c6bca8", 2],
    ],
    [
      ["#9a9388", 4],
      ["#857f76", 3],
      ["#aba397", 2],
    ],
    [
      ["#474649", 5],
      ["#38383b", 4],
      ["#5a585a", 2],
    ],
    0.1,
    0.8,
  ),
  ore(
    "Copper wire over cable plastic",
    ["copper", "tinned and coated wire", "plastic"],
    [
      ["#b3673f", 5],
      ["#8f4c2d", 4],
      ["#d08a5c", 2],
    ],
    [
      ["#8d8177", 4],
      ["#a59d95", 2],
      ["#6c5548", 3],
    ],
    [
      ["#d8d4cc", 4],
      ["#2f3134", 3],
      ["#3d6a8c", 1.4],
      ["#4c7d4a", 1],
      ["#b6463d", 1],
      ["#d0b04b", 0.8],
    ],
    0.7,
    1.6,
  ),
  ore(
    "Lead over crushed screen glass",
    ["lead", "frit", "glass"],
    [
      ["#6a6c70", 5],
      ["#54565b", 4],
      ["#85878a", 2],
    ],
    [
      ["#7c8a7f", 4],
      ["#90998c", 3],
      ["#69756e", 2],
    ],
    [
      ["#b9cdc3", 5],
      ["#d3e0d9", 3],
      ["#9db5aa", 3],
    ],
    0.5,
    1.4,
  ),
  ore(
    "Wolframite over white quartz",
    ["wolframite", "rusty grains", "white quartz"],
    [
      ["#2a1f1d", 5],
      ["#3a2a25", 4],
      ["#1b1617", 2],
    ],
    [
      ["#94613b", 4],
      ["#a97747", 3],
      ["#7d5138", 2],
    ],
    [
      ["#dedad2", 5],
      ["#ece9e4", 3],
      ["#c9c4ba", 3],
    ],
    0.3,
    0.9,
  ),
  ore(
    "Gold-bearing pyrite over red sand",
    ["pyrite with a little gold", "orange-brown grains", "red sand"],
    [
      ["#b3983c", 4],
      ["#8f7a3a", 4],
      ["#d9bd5a", 1.5],
      ["#5f5331", 1],
    ],
    [
      ["#9c6a3c", 4],
      ["#875a35", 3],
      ["#b07f4d", 2],
    ],
    [
      ["#a04a33", 5],
      ["#b86147", 3],
      ["#86392a", 3],
    ],
    0.9,
    0.6,
  ),
  ore(
    "Rutile and zircon over grey silica",
    ["rutile and zircon", "tan grains", "grey silica"],
    [
      ["#6d3b2a", 4],
      ["#8b5237", 3],
      ["#c3a68c", 2],
    ],
    [
      ["#a58c74", 4],
      ["#917a66", 3],
      ["#b8a28a", 2],
    ],
    [
      ["#b3b1ac", 5],
      ["#c7c6c2", 3],
      ["#9b9994", 3],
    ],
    0.4,
    0.5,
  ),
  ore(
    "Scheelite over brown skarn",
    ["scheelite", "buff grains", "skarn"],
    [
      ["#e2d3b2", 5],
      ["#d1bd95", 4],
      ["#efe6cf", 2],
    ],
    [
      ["#a58f69", 4],
      ["#8f7b5a", 3],
      ["#b8a481", 2],
    ],
    [
      ["#5c4a37", 5],
      ["#4a4734", 4],
      ["#6d5a44", 2],
    ],
    0.1,
    0.8,
  ),
  ore(
    "Columbite over feldspar and mica",
    ["columbite and tantalite", "pink feldspar", "feldspar and mica"],
    [
      ["#202125", 6],
      ["#303137", 3],
      ["#18181b", 2],
    ],
    [
      ["#b58a7a", 4],
      ["#a0776a", 3],
      ["#c7a294", 2],
    ],
    [
      ["#cdc9c2", 5],
      ["#dfdcd6", 3],
      ["#b2ada5", 2],
      ["#8d8a83", 1],
    ],
    0.35,
    0.9,
  ),
  ore(
    "Ash and pyrite out of fine coal",
    ["shale and pyrite", "bony coal", "coal"],
    [
      ["#8d8675", 5],
      ["#9f9576", 3],
      ["#77715f", 3],
    ],
    [
      ["#565350", 4],
      ["#625d56", 3],
      ["#4a4846", 2],
    ],
    [
      ["#1e1f22", 6],
      ["#2a2b2f", 3],
      ["#131416", 2],
    ],
    0.3,
    1.2,
  ),
];
