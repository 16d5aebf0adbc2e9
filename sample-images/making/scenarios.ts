/**
 * The invented scenes: what stands on the table, what is wrong with it, the light and the camera.
 * Lengths in mm, angles in degrees, colours are sRGB 0..255 of the WET material.
 * Every scene is made up; none shows a real plant.
 */
export type Rgb = [number, number, number];
export type Point = [number, number];

/** One solid on the deck. `slope` is how many mm it sinks down the deck for each mm it travels along. */
export interface Material {
  name: string;
  palette: [Rgb, number][]; // grain colours and their shares
  grainMm: number;
  slope: number;
  spread: number; // log-normal sigma of slope: the size range
  amount: number; // bed at the feed box; 1 covers about 63 % of the deck, 3 about 95 %
}

export interface Scenario {
  name: string;
  title: string;
  scenario: string;
  seed: number;
  hand: "right" | "left";
  deck: {
    lengthMm: number;
    widthMm: number;
    cutCornerMm?: Point; // low corner of the dense-product end cut off by this much along x and y
    colour: Rgb;
    riffleColour: Rgb;
    riffle: { pitchMm: number; widthMm: number; heightMm: number; firstMm: number };
    riffleEndMm: Point; // where riffles end along x: at the high side, at the low side
    wear: number; // 0 new .. 1 stained and scratched
    crossSlopeMmPerM: number;
  };
  feedMm: Point; // x range of the feed box
  materials: { dense: Material; middling: Material; light: Material };
  dryPatches?: { at: Point; sizeMm: Point; turn: number; stranded: number }[];
  rills?: { path: Point[]; widthMm: number }[];
  splittersMm: Point; // upper, lower, in outlet mm
  water: { ripple: number; turbidity: number; foam: number };
  camera: { azimuth: number; elevation: number; roll: number; fov: number; margin: number; shift?: Point };
  light: {
    hdri: string;
    strength: number;
    turn: number;
    exposure: number;
    tubes?: { at: [number, number, number]; lengthM: number; turn: number; watts: number }[]; // deck metres, z up from the deck
    sun?: { azimuth: number; elevation: number; strength: number; softDegrees: number };
    window?: { azimuth: number; distanceM: number; watts: number; heightM: number };
    person?: number; // azimuth of someone standing by the table
    rail?: boolean;
  };
  plant: { floor: Rgb; wall: Rgb | null; woodFeedBox: boolean; frame: Rgb; launder: Rgb; pipe: Rgb; clutter: number };
  photo: { noise: number; warmth: number; vignette: number; blur: number; quality: number; date: string };
}

// --- materials, by look ------------------------------------------------------------------------------------------------
const grains = (...palette: [Rgb, number][]): [Rgb, number][] => palette;
const LOOKS = {
  blackSand: grains([[28, 27, 30], 0.78], [[60, 40, 38], 0.14], [[92, 80, 70], 0.06], [[214, 172, 72], 0.02]),
  quartzSand: grains(
    [[178, 164, 138], 0.45],
    [[150, 128, 96], 0.28],
    [[204, 196, 180], 0.17],
    [[118, 84, 58], 0.07],
    [[60, 54, 50], 0.03],
  ),
  sandMiddling: grains([[92, 78, 66], 0.4], [[134, 112, 84], 0.3], [[50, 44, 42], 0.3]),
  darkOre: grains([[44, 34, 28], 0.55], [[24, 22, 22], 0.28], [[86, 58, 38], 0.17]),
  paleGangue: grains([[186, 180, 170], 0.5], [[158, 152, 142], 0.3], [[206, 198, 182], 0.15], [[120, 104, 90], 0.05]),
  oreMiddling: grains([[112, 98, 86], 0.5], [[142, 130, 118], 0.25], [[72, 58, 48], 0.25]),
  greySulphide: grains([[84, 88, 96], 0.5], [[58, 60, 66], 0.3], [[132, 136, 142], 0.16], [[142, 128, 88], 0.04]),
  limestone: grains([[202, 198, 186], 0.5], [[178, 172, 158], 0.3], [[218, 214, 204], 0.15], [[150, 140, 122], 0.05]),
  sulphideMiddling: grains([[134, 132, 128], 0.5], [[108, 108, 108], 0.3], [[164, 160, 150], 0.2]),
  copper: grains([[152, 86, 62], 0.55], [[172, 110, 84], 0.25], [[112, 64, 50], 0.15], [[92, 78, 60], 0.05]),
  plastic: grains(
    [[44, 44, 46], 0.24],
    [[176, 176, 172], 0.2],
    [[46, 78, 128], 0.16],
    [[150, 44, 40], 0.1],
    [[66, 112, 74], 0.12],
    [[188, 160, 60], 0.06],
    [[110, 108, 104], 0.12],
  ),
  scrapMiddling: grains([[130, 130, 134], 0.5], [[160, 158, 156], 0.25], [[110, 92, 70], 0.15], [[80, 82, 88], 0.1]),
  garnet: grains([[110, 36, 40], 0.55], [[138, 56, 52], 0.27], [[72, 26, 30], 0.18]),
  greenSand: grains([[112, 120, 78], 0.5], [[138, 142, 98], 0.28], [[88, 98, 62], 0.16], [[60, 60, 48], 0.06]),
  garnetMiddling: grains([[110, 84, 62], 0.5], [[92, 66, 52], 0.25], [[120, 104, 74], 0.25]),
  paleHeavy: grains([[204, 194, 176], 0.55], [[188, 172, 150], 0.27], [[216, 210, 200], 0.13], [[160, 120, 96], 0.05]),
  darkLight: grains([[92, 82, 74], 0.45], [[70, 64, 60], 0.3], [[118, 106, 94], 0.2], [[150, 142, 130], 0.05]),
  paleMiddling: grains([[140, 128, 116], 0.5], [[160, 150, 136], 0.3], [[112, 102, 94], 0.2]),
  rustOre: grains([[104, 52, 34], 0.5], [[78, 40, 30], 0.3], [[140, 84, 54], 0.2]),
  greyClaySand: grains([[146, 144, 140], 0.5], [[124, 122, 120], 0.3], [[166, 162, 156], 0.2]),
  pinkFeldspar: grains([[186, 146, 124], 0.5], [[202, 172, 152], 0.3], [[160, 118, 100], 0.2]),
  chromite: grains([[34, 33, 36], 0.6], [[54, 50, 50], 0.3], [[76, 70, 62], 0.1]),
  olivineGrey: grains([[130, 134, 118], 0.5], [[112, 116, 98], 0.3], [[150, 152, 140], 0.2]),
  coal: grains([[30, 30, 32], 0.6], [[44, 44, 47], 0.3], [[66, 64, 62], 0.1]),
  shale: grains([[122, 112, 104], 0.5], [[98, 92, 90], 0.3], [[142, 126, 108], 0.2]),
};
const solid = (
  name: string,
  look: keyof typeof LOOKS,
  grainMm: number,
  slope: number,
  spread: number,
  amount: number,
): Material => ({
  name,
  palette: LOOKS[look],
  grainMm,
  slope,
  spread,
  amount,
});

const PHOTO = { noise: 1, warmth: 0, vignette: 0.16, blur: 0.5, quality: 84, date: "2025:03:11 10:20:00" };

export const SAMPLES: Scenario[] = [
  {
    name: "black-sand",
    title: "Black sand with a little gold over quartz sand",
    scenario:
      "Good state. A blue-green right-hand deck in a hall lit by tubes; black sand leaves high on the dense-product end, quartz sand over the tailings side.",
    seed: 101,
    hand: "right",
    deck: {
      lengthMm: 1830,
      widthMm: 910,
      colour: [60, 114, 116],
      riffleColour: [50, 100, 104],
      riffle: { pitchMm: 32, widthMm: 7, heightMm: 5, firstMm: 42 },
      riffleEndMm: [1150, 1640],
      wear: 0.45,
      crossSlopeMmPerM: 36,
    },
    feedMm: [40, 430],
    materials: {
      dense: solid("black sand with a little gold", "blackSand", 0.3, 0.135, 0.22, 4.3),
      middling: solid("mixed sand", "sandMiddling", 0.5, 0.36, 0.2, 3.8),
      light: solid("quartz sand", "quartzSand", 0.6, 1.25, 0.42, 4.2),
    },
    splittersMm: [365, 1040],
    water: { ripple: 1, turbidity: 0.22, foam: 0.4 },
    camera: { azimuth: 14, elevation: 44, roll: 1.2, fov: 66, margin: 0.07 },
    light: {
      hdri: "autoshop_01_1k.hdr",
      strength: 0.7,
      turn: 30,
      exposure: 0.25,
      tubes: [
        { at: [0.9, 0.1, 2.4], lengthM: 2.4, turn: 4, watts: 120 },
        { at: [0.9, -1.6, 2.5], lengthM: 2.4, turn: 4, watts: 120 },
      ],
    },
    plant: {
      floor: [96, 94, 90],
      wall: [150, 152, 146],
      woodFeedBox: false,
      frame: [60, 84, 112],
      launder: [120, 124, 126],
      pipe: [176, 178, 180],
      clutter: 5,
    },
    photo: PHOTO,
  },
  {
    name: "dark-ore-dry-patch",
    title: "Dark ore over pale gangue, one dry patch",
    scenario:
      "A grey left-hand deck in daylight; the film has broken above the dense band near the wash pipe and left a dry patch with a few stranded grains.",
    seed: 202,
    hand: "left",
    deck: {
      lengthMm: 2440,
      widthMm: 1220,
      colour: [100, 105, 109],
      riffleColour: [92, 78, 60],
      riffle: { pitchMm: 38, widthMm: 8, heightMm: 6, firstMm: 46 },
      riffleEndMm: [1500, 2240],
      wear: 0.6,
      crossSlopeMmPerM: 30,
    },
    feedMm: [60, 620],
    materials: {
      dense: solid("dark oxide ore", "darkOre", 0.4, 0.15, 0.24, 3.7),
      middling: solid("locked ore", "oreMiddling", 0.6, 0.4, 0.2, 3.8),
      light: solid("pale gangue", "paleGangue", 0.7, 1.2, 0.4, 4.4),
    },
    dryPatches: [{ at: [1640, 105], sizeMm: [330, 110], turn: 8, stranded: 0.16 }],
    splittersMm: [420, 980],
    water: { ripple: 0.8, turbidity: 0.3, foam: 0.3 },
    camera: { azimuth: -22, elevation: 38, roll: -1.6, fov: 67, margin: 0.06 },
    light: { hdri: "kloppenheim_05_1k.hdr", strength: 0.8, turn: 200, exposure: -0.1, rail: false },
    plant: {
      floor: [124, 112, 94],
      wall: null,
      woodFeedBox: true,
      frame: [92, 74, 54],
      launder: [104, 86, 62],
      pipe: [62, 92, 132],
      clutter: 4,
    },
    photo: { ...PHOTO, noise: 0.7, date: "2025:04:02 09:05:00" },
  },
  {
    name: "sulphide-window",
    title: "Grey sulphide over whitish limestone on a rubber deck",
    scenario:
      "A black right-hand deck by a window wall; the shadow of someone standing by the table lies over the deck and the window glares in the film.",
    seed: 303,
    hand: "right",
    deck: {
      lengthMm: 1830,
      widthMm: 910,
      colour: [44, 44, 46],
      riffleColour: [38, 38, 40],
      riffle: { pitchMm: 28, widthMm: 6, heightMm: 4.5, firstMm: 40 },
      riffleEndMm: [1080, 1600],
      wear: 0.5,
      crossSlopeMmPerM: 34,
    },
    feedMm: [30, 400],
    materials: {
      dense: solid("grey sulphide", "greySulphide", 0.35, 0.15, 0.25, 4.2),
      middling: solid("locked sulphide", "sulphideMiddling", 0.5, 0.42, 0.22, 3.5),
      light: solid("limestone", "limestone", 0.6, 1.3, 0.42, 3.9),
    },
    splittersMm: [268, 730],
    water: { ripple: 1.1, turbidity: 0.35, foam: 0.5 },
    camera: { azimuth: 30, elevation: 36, roll: 0.8, fov: 68, margin: 0.06 },
    light: {
      hdri: "peppermint_powerplant_1k.hdr",
      strength: 0.9,
      turn: 160,
      exposure: 0.45,
      window: { azimuth: 108, distanceM: 3.2, watts: 260, heightM: 1.2 },
      person: 98,
    },
    plant: {
      floor: [92, 84, 76],
      wall: [134, 126, 112],
      woodFeedBox: false,
      frame: [52, 96, 70],
      launder: [88, 90, 92],
      pipe: [150, 150, 148],
      clutter: 5,
    },
    photo: { ...PHOTO, noise: 1.3, quality: 80, date: "2025:02:20 15:40:00" },
  },
  {
    name: "copper-scrap-low",
    title: "Shredded copper over mixed plastic, dense band too low",
    scenario:
      "A yellow right-hand deck outdoors under an overcast sky. Too much water: the copper band runs low and the upper splitter stands too high, so copper goes with the middling. The dense material is red, not dark.",
    seed: 404,
    hand: "right",
    deck: {
      lengthMm: 1250,
      widthMm: 610,
      colour: [188, 162, 82],
      riffleColour: [176, 146, 58],
      riffle: { pitchMm: 30, widthMm: 7, heightMm: 5, firstMm: 36 },
      riffleEndMm: [740, 1110],
      wear: 0.5,
      crossSlopeMmPerM: 60,
    },
    feedMm: [30, 290],
    materials: {
      dense: solid("shredded copper", "copper", 1.6, 0.26, 0.24, 3.7),
      middling: solid("aluminium and cable ends", "scrapMiddling", 2.2, 0.66, 0.2, 3.2),
      light: solid("mixed plastic", "plastic", 2.8, 1.6, 0.4, 3.1),
    },
    splittersMm: [196, 620],
    water: { ripple: 1.2, turbidity: 0.08, foam: 0.7 },
    camera: { azimuth: -12, elevation: 52, roll: 2, fov: 64, margin: 0.08 },
    light: {
      hdri: "aristea_wreck_puresky_1k.hdr",
      strength: 0.75,
      turn: 40,
      exposure: -0.1,
      rail: true,
      sun: { azimuth: 60, elevation: 48, strength: 1.1, softDegrees: 14 },
    },
    plant: {
      floor: [116, 112, 104],
      wall: null,
      woodFeedBox: false,
      frame: [86, 88, 90],
      launder: [60, 70, 84],
      pipe: [200, 200, 196],
      clutter: 4,
    },
    photo: { ...PHOTO, noise: 0.6, date: "2025:05:14 11:30:00" },
  },
  {
    name: "garnet-rill",
    title: "Red garnet over green sand, a dry patch and a rill",
    scenario:
      "A brown left-hand deck in a workshop. The deck is not level: water has gathered into a rill that cuts a bare streak through the bands, and beside it the film has broken.",
    seed: 505,
    hand: "left",
    deck: {
      lengthMm: 1830,
      widthMm: 910,
      colour: [98, 68, 44],
      riffleColour: [116, 84, 54],
      riffle: { pitchMm: 34, widthMm: 8, heightMm: 5, firstMm: 40 },
      riffleEndMm: [1120, 1680],
      wear: 0.7,
      crossSlopeMmPerM: 32,
    },
    feedMm: [40, 450],
    materials: {
      dense: solid("red garnet", "garnet", 0.5, 0.14, 0.26, 3.8),
      middling: solid("mixed sand", "garnetMiddling", 0.6, 0.4, 0.22, 3.5),
      light: solid("green sand", "greenSand", 0.7, 1.2, 0.42, 3.9),
    },
    dryPatches: [{ at: [1450, 520], sizeMm: [210, 90], turn: 24, stranded: 0.22 }],
    rills: [
      {
        path: [
          [1000, 20],
          [1045, 240],
          [1130, 450],
          [1165, 650],
          [1240, 910],
        ],
        widthMm: 26,
      },
    ],
    splittersMm: [262, 700],
    water: { ripple: 1, turbidity: 0.2, foam: 0.4 },
    camera: { azimuth: 8, elevation: 48, roll: -0.8, fov: 66, margin: 0.07 },
    light: {
      hdri: "aerodynamics_workshop_1k.hdr",
      strength: 0.9,
      turn: 80,
      exposure: 0.3,
      tubes: [{ at: [0.3, -0.9, 2.3], lengthM: 1.6, turn: 70, watts: 70 }],
    },
    plant: {
      floor: [120, 92, 82],
      wall: [170, 164, 150],
      woodFeedBox: true,
      frame: [70, 72, 74],
      launder: [128, 118, 98],
      pipe: [120, 70, 48],
      clutter: 5,
    },
    photo: { ...PHOTO, noise: 1.1, warmth: 0.03, date: "2025:06:03 14:10:00" },
  },
  {
    name: "pale-heavy",
    title: "Pale heavy mineral under darker light sand",
    scenario:
      "A dark grey right-hand deck in a hall: the dense product is the PALE band at the top, the darker sand is light and leaves over the tailings side. Both splitters stand too high.",
    seed: 606,
    hand: "right",
    deck: {
      lengthMm: 2440,
      widthMm: 1220,
      cutCornerMm: [260, 330],
      colour: [78, 82, 88],
      riffleColour: [70, 73, 78],
      riffle: { pitchMm: 36, widthMm: 8, heightMm: 5.5, firstMm: 44 },
      riffleEndMm: [1420, 2080],
      wear: 0.55,
      crossSlopeMmPerM: 30,
    },
    feedMm: [50, 580],
    materials: {
      dense: solid("pale heavy mineral", "paleHeavy", 0.3, 0.14, 0.24, 4.2),
      middling: solid("mixed", "paleMiddling", 0.5, 0.42, 0.22, 3.8),
      light: solid("dark sand", "darkLight", 0.6, 1.25, 0.42, 3.9),
    },
    splittersMm: [372, 900],
    water: { ripple: 0.9, turbidity: 0.25, foam: 0.4 },
    camera: { azimuth: 40, elevation: 34, roll: 1, fov: 68, margin: 0.06 },
    light: {
      hdri: "autoshop_01_1k.hdr",
      strength: 0.85,
      turn: 110,
      exposure: 0.35,
      tubes: [{ at: [1.2, -0.4, 2.8], lengthM: 3, turn: 0, watts: 150 }],
    },
    plant: {
      floor: [104, 104, 100],
      wall: [120, 132, 138],
      woodFeedBox: false,
      frame: [112, 60, 44],
      launder: [92, 98, 104],
      pipe: [160, 162, 164],
      clutter: 6,
    },
    photo: { ...PHOTO, noise: 1.2, date: "2025:01:28 08:15:00" },
  },
];

export const TUNING: Scenario[] = [
  {
    name: "t1-rust-ore",
    title: "Rust-brown ore over grey sand",
    scenario: "Tuning. Green deck, daylight hall.",
    seed: 11,
    hand: "right",
    deck: {
      lengthMm: 1830,
      widthMm: 910,
      colour: [70, 118, 82],
      riffleColour: [58, 100, 70],
      riffle: { pitchMm: 30, widthMm: 7, heightMm: 5, firstMm: 40 },
      riffleEndMm: [1120, 1620],
      wear: 0.5,
      crossSlopeMmPerM: 34,
    },
    feedMm: [40, 420],
    materials: {
      dense: solid("rust ore", "rustOre", 0.4, 0.14, 0.22, 4.1),
      middling: solid("locked ore", "oreMiddling", 0.5, 0.38, 0.2, 3.5),
      light: solid("grey sand", "greyClaySand", 0.6, 1.3, 0.42, 3.9),
    },
    splittersMm: [250, 660],
    water: { ripple: 1, turbidity: 0.25, foam: 0.4 },
    camera: { azimuth: -18, elevation: 42, roll: -1, fov: 66, margin: 0.07 },
    light: { hdri: "peppermint_powerplant_1k.hdr", strength: 1, turn: 20, exposure: 0.5 },
    plant: {
      floor: [96, 90, 84],
      wall: [140, 138, 128],
      woodFeedBox: true,
      frame: [80, 82, 84],
      launder: [110, 112, 112],
      pipe: [170, 170, 170],
      clutter: 4,
    },
    photo: { ...PHOTO, date: "2025:03:01 10:00:00" },
  },
  {
    name: "t2-chromite",
    title: "Black chromite-like ore over grey-green sand",
    scenario: "Tuning. Red-brown left-hand deck, tubes with glare, a dry patch.",
    seed: 12,
    hand: "left",
    deck: {
      lengthMm: 1830,
      widthMm: 910,
      colour: [128, 66, 50],
      riffleColour: [112, 58, 46],
      riffle: { pitchMm: 34, widthMm: 8, heightMm: 5, firstMm: 42 },
      riffleEndMm: [1180, 1700],
      wear: 0.5,
      crossSlopeMmPerM: 34,
    },
    feedMm: [40, 430],
    materials: {
      dense: solid("chromite-like ore", "chromite", 0.35, 0.16, 0.26, 4.3),
      middling: solid("mixed", "sandMiddling", 0.5, 0.44, 0.22, 3.5),
      light: solid("grey-green sand", "olivineGrey", 0.6, 1.25, 0.42, 3.9),
    },
    dryPatches: [{ at: [1330, 110], sizeMm: [260, 110], turn: 12, stranded: 0.15 }],
    splittersMm: [300, 760],
    water: { ripple: 1, turbidity: 0.25, foam: 0.4 },
    camera: { azimuth: 12, elevation: 46, roll: 1.4, fov: 66, margin: 0.06 },
    light: {
      hdri: "autoshop_01_1k.hdr",
      strength: 0.7,
      turn: 250,
      exposure: 0.35,
      tubes: [{ at: [0.8, -0.5, 2.2], lengthM: 2, turn: 15, watts: 110 }],
    },
    plant: {
      floor: [104, 102, 98],
      wall: [150, 144, 132],
      woodFeedBox: false,
      frame: [60, 84, 112],
      launder: [120, 124, 126],
      pipe: [176, 178, 180],
      clutter: 5,
    },
    photo: { ...PHOTO, noise: 1.4, date: "2025:03:02 10:00:00" },
  },
  {
    name: "t3-pale-on-black",
    title: "Pale heavy sand over pink feldspar on black rubber",
    scenario: "Tuning. Black deck, overcast, pale dense.",
    seed: 13,
    hand: "right",
    deck: {
      lengthMm: 2440,
      widthMm: 1220,
      colour: [46, 47, 50],
      riffleColour: [42, 42, 45],
      riffle: { pitchMm: 36, widthMm: 8, heightMm: 5.5, firstMm: 44 },
      riffleEndMm: [1450, 2200],
      wear: 0.45,
      crossSlopeMmPerM: 30,
    },
    feedMm: [50, 600],
    materials: {
      dense: solid("pale heavy sand", "paleHeavy", 0.35, 0.13, 0.22, 4.1),
      middling: solid("dark mixed", "oreMiddling", 0.5, 0.36, 0.2, 3.8),
      light: solid("pink feldspar", "pinkFeldspar", 0.6, 1.2, 0.4, 3.9),
    },
    splittersMm: [330, 820],
    water: { ripple: 0.9, turbidity: 0.2, foam: 0.3 },
    camera: { azimuth: 26, elevation: 38, roll: 0.5, fov: 68, margin: 0.06 },
    light: { hdri: "aristea_wreck_puresky_1k.hdr", strength: 0.8, turn: 120, exposure: 0 },
    plant: {
      floor: [118, 112, 100],
      wall: null,
      woodFeedBox: true,
      frame: [96, 78, 56],
      launder: [100, 84, 62],
      pipe: [60, 88, 128],
      clutter: 4,
    },
    photo: { ...PHOTO, noise: 0.7, date: "2025:03:03 10:00:00" },
  },
  {
    name: "t4-copper-grey-deck",
    title: "Copper over dark plastic, bands low",
    scenario: "Tuning. Pale grey small deck, left hand, sun with rail shadow.",
    seed: 14,
    hand: "left",
    deck: {
      lengthMm: 1250,
      widthMm: 610,
      colour: [162, 166, 164],
      riffleColour: [150, 152, 150],
      riffle: { pitchMm: 28, widthMm: 6, heightMm: 4.5, firstMm: 36 },
      riffleEndMm: [760, 1130],
      wear: 0.5,
      crossSlopeMmPerM: 60,
    },
    feedMm: [30, 300],
    materials: {
      dense: solid("shredded copper", "copper", 1.4, 0.28, 0.24, 3.5),
      middling: solid("light metals", "scrapMiddling", 2, 0.7, 0.2, 3.2),
      light: solid("dark plastic", "coal", 2.4, 1.6, 0.4, 2.9),
    },
    splittersMm: [180, 640],
    water: { ripple: 1.1, turbidity: 0.06, foam: 0.6 },
    camera: { azimuth: -30, elevation: 50, roll: 1, fov: 64, margin: 0.07 },
    light: {
      hdri: "noon_grass_1k.hdr",
      strength: 0.5,
      turn: 60,
      exposure: 0,
      rail: true,
      sun: { azimuth: -70, elevation: 50, strength: 2, softDegrees: 3 },
    },
    plant: {
      floor: [128, 120, 106],
      wall: null,
      woodFeedBox: false,
      frame: [86, 88, 90],
      launder: [60, 70, 84],
      pipe: [196, 196, 192],
      clutter: 3,
    },
    photo: { ...PHOTO, noise: 0.6, date: "2025:03:04 10:00:00" },
  },
  {
    name: "t5-coal-shale",
    title: "Brown shale under black coal",
    scenario:
      "Tuning. Coal cleaning: the light product is black, the dense one pale brown; grey-blue deck, with a rill.",
    seed: 15,
    hand: "right",
    deck: {
      lengthMm: 2440,
      widthMm: 1220,
      colour: [92, 112, 132],
      riffleColour: [80, 98, 118],
      riffle: { pitchMm: 44, widthMm: 10, heightMm: 6, firstMm: 50 },
      riffleEndMm: [1500, 2250],
      wear: 0.6,
      crossSlopeMmPerM: 40,
    },
    feedMm: [50, 640],
    materials: {
      dense: solid("shale", "shale", 1.5, 0.2, 0.28, 3.8),
      middling: solid("bone coal", "sulphideMiddling", 1.5, 0.5, 0.22, 3.1),
      light: solid("coal", "coal", 1.8, 1.3, 0.42, 3.9),
    },
    rills: [
      {
        path: [
          [1250, 20],
          [1330, 420],
          [1420, 800],
          [1500, 1220],
        ],
        widthMm: 30,
      },
    ],
    splittersMm: [470, 1100],
    water: { ripple: 1.1, turbidity: 0.2, foam: 0.5 },
    camera: { azimuth: 6, elevation: 36, roll: -0.6, fov: 68, margin: 0.06 },
    light: {
      hdri: "aerodynamics_workshop_1k.hdr",
      strength: 0.9,
      turn: 10,
      exposure: 0.4,
      window: { azimuth: 150, distanceM: 3.5, watts: 200, heightM: 1.4 },
    },
    plant: {
      floor: [100, 96, 92],
      wall: [156, 152, 142],
      woodFeedBox: false,
      frame: [150, 130, 60],
      launder: [98, 100, 102],
      pipe: [150, 150, 148],
      clutter: 5,
    },
    photo: { ...PHOTO, noise: 1.2, date: "2025:03:05 10:00:00" },
  },
  {
    name: "t6-garnet-white",
    title: "Garnet over quartz sand on a white deck",
    scenario: "Tuning. Off-white deck, warm lamps, person's shadow.",
    seed: 16,
    hand: "right",
    deck: {
      lengthMm: 1250,
      widthMm: 610,
      colour: [196, 192, 180],
      riffleColour: [176, 170, 156],
      riffle: { pitchMm: 26, widthMm: 6, heightMm: 4, firstMm: 34 },
      riffleEndMm: [760, 1120],
      wear: 0.7,
      crossSlopeMmPerM: 40,
    },
    feedMm: [30, 300],
    materials: {
      dense: solid("garnet", "garnet", 0.35, 0.16, 0.24, 4.1),
      middling: solid("mixed", "garnetMiddling", 0.5, 0.42, 0.2, 3.2),
      light: solid("quartz sand", "quartzSand", 0.6, 1.2, 0.4, 3.6),
    },
    dryPatches: [{ at: [1010, 330], sizeMm: [120, 70], turn: 20, stranded: 0.18 }],
    splittersMm: [196, 500],
    water: { ripple: 1, turbidity: 0.15, foam: 0.4 },
    camera: { azimuth: 20, elevation: 54, roll: 2.2, fov: 64, margin: 0.08 },
    light: {
      hdri: "aerodynamics_workshop_1k.hdr",
      strength: 0.7,
      turn: 200,
      exposure: 0.1,
      person: -60,
      tubes: [{ at: [0.5, -1, 1.9], lengthM: 1.2, turn: 0, watts: 60 }],
    },
    plant: {
      floor: [120, 110, 98],
      wall: [160, 150, 132],
      woodFeedBox: true,
      frame: [64, 66, 68],
      launder: [124, 116, 100],
      pipe: [120, 72, 50],
      clutter: 5,
    },
    photo: { ...PHOTO, noise: 1, warmth: 0.06, date: "2025:03:06 10:00:00" },
  },
  {
    name: "t7-sulphide-blue",
    title: "Grey sulphide over grey-brown sand, low contrast",
    scenario: "Tuning. Blue deck, left hand, cut corner, dim hall, two dry patches.",
    seed: 17,
    hand: "left",
    deck: {
      lengthMm: 1830,
      widthMm: 910,
      cutCornerMm: [200, 260],
      colour: [54, 84, 130],
      riffleColour: [48, 74, 116],
      riffle: { pitchMm: 32, widthMm: 7, heightMm: 5, firstMm: 42 },
      riffleEndMm: [1100, 1560],
      wear: 0.5,
      crossSlopeMmPerM: 32,
    },
    feedMm: [40, 420],
    materials: {
      dense: solid("grey sulphide", "greySulphide", 0.35, 0.15, 0.24, 3.8),
      middling: solid("brown mixed", "sandMiddling", 0.5, 0.42, 0.2, 3.5),
      light: solid("grey sand", "greyClaySand", 0.6, 1.25, 0.42, 3.9),
    },
    dryPatches: [
      { at: [1250, 60], sizeMm: [180, 70], turn: 5, stranded: 0.1 },
      { at: [1500, 470], sizeMm: [150, 80], turn: 30, stranded: 0.2 },
    ],
    splittersMm: [300, 700],
    water: { ripple: 1, turbidity: 0.3, foam: 0.4 },
    camera: { azimuth: 36, elevation: 40, roll: -1.5, fov: 68, margin: 0.06 },
    light: {
      hdri: "peppermint_powerplant_1k.hdr",
      strength: 0.8,
      turn: 60,
      exposure: 0.6,
      tubes: [{ at: [1, -1.2, 2.4], lengthM: 1.6, turn: 90, watts: 60 }],
    },
    plant: {
      floor: [88, 86, 82],
      wall: [118, 124, 120],
      woodFeedBox: false,
      frame: [100, 60, 46],
      launder: [90, 94, 98],
      pipe: [160, 160, 160],
      clutter: 6,
    },
    photo: { ...PHOTO, noise: 1.8, date: "2025:03:07 17:30:00" },
  },
  {
    name: "t8-ore-brown-high",
    title: "Dark ore over pale gangue, dense band high and thin",
    scenario: "Tuning. Wooden-brown deck, daylight, little water: bands lie high.",
    seed: 18,
    hand: "right",
    deck: {
      lengthMm: 1830,
      widthMm: 910,
      colour: [128, 98, 66],
      riffleColour: [142, 112, 78],
      riffle: { pitchMm: 34, widthMm: 8, heightMm: 5, firstMm: 42 },
      riffleEndMm: [1150, 1650],
      wear: 0.7,
      crossSlopeMmPerM: 24,
    },
    feedMm: [40, 460],
    materials: {
      dense: solid("dark ore", "darkOre", 0.4, 0.085, 0.22, 3.7),
      middling: solid("locked ore", "oreMiddling", 0.5, 0.25, 0.22, 3.5),
      light: solid("pale gangue", "paleGangue", 0.6, 0.8, 0.42, 3.9),
    },
    splittersMm: [210, 560],
    water: { ripple: 0.7, turbidity: 0.35, foam: 0.3 },
    camera: { azimuth: -34, elevation: 34, roll: 1, fov: 67, margin: 0.06 },
    light: { hdri: "kloppenheim_05_1k.hdr", strength: 0.9, turn: 80, exposure: 0.1 },
    plant: {
      floor: [130, 116, 94],
      wall: null,
      woodFeedBox: true,
      frame: [98, 80, 56],
      launder: [104, 88, 64],
      pipe: [66, 66, 68],
      clutter: 4,
    },
    photo: { ...PHOTO, noise: 0.8, date: "2025:03:08 10:00:00" },
  },
];
