/**
 * What one invented scene is made of: table, solids, what is wrong, light, camera and phone. Every scene is made up; none
 * shows a real plant. Lengths in mm where a name says no other unit, angles in degrees, colours sRGB 0..255 of the WET material.
 */
export type Rgb = [number, number, number];
export type Point = [number, number];
type Place = [number, number, number]; // deck metres, z up from the deck

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
    slantMm?: number; // a rhomboid: the low side lies this much further toward the dense-product end
    colour: Rgb;
    riffleColour: Rgb;
    riffle: { pitchMm: number; widthMm: number; heightMm: number; firstMm: number };
    riffleEndMm: Point; // where riffles end along x: at the high side, at the low side
    wear: number; // 0 new .. 1 stained and scratched
    crossSlopeMmPerM: number;
  };
  marks?: { id: number; centre: Point; sizeMm: number; turnDegrees: number }[]; // printed marks beside the deck, as its deck file lists them
  feedMm: Point; // x range of the feed box
  materials: { dense: Material; middling: Material; light: Material };
  surge?: { depth: number; everyMm: Record<"dense" | "middling" | "light", number> }; // pulses of feed: share of the bed, way down the deck between two
  dryPatches?: { at: Point; sizeMm: Point; turn: number; stranded: number }[];
  rills?: { path: Point[]; widthMm: number }[];
  splittersMm: Point; // upper, lower, in outlet mm
  water: { ripple: number; turbidity: number; foam: number };
  camera: {
    azimuth: number;
    elevation: number;
    roll: number;
    fov: number;
    margin: number;
    aside?: number; // turned away to the right from the framed deck
    jerk?: Point; // turned by this much to the right and up while the picture was taken
  };
  light: {
    hdri: string;
    strength: number;
    turn: number;
    exposure: number;
    tubes?: { at: Place; lengthM: number; turn: number; watts: number }[];
    lamps?: { at: Place; sizeM: number; watts: number; colour: Rgb }[]; // bulbs
    sun?: { azimuth: number; elevation: number; strength: number; softDegrees: number };
    window?: { azimuth: number; distanceM: number; watts: number; heightM: number };
    flashWatts?: number; // the phone's own
    person?: number; // azimuth of someone standing by the table
    rail?: boolean;
  };
  plant: { floor: Rgb; wall: Rgb | null; woodFeedBox: boolean; frame: Rgb; launder: Rgb; pipe: Rgb; clutter: number };
  photo: { noise: number; warmth: number; vignette: number; blur: number; quality: number; date: string };
  /** Why nobody can read the photo, and the kind of issue that says so. */
  unusable?: { because: string; issue: "blurred" | "dark" | "cut-off" | "no-deck" };
}

export const PHOTO = { noise: 1, warmth: 0, vignette: 0.16, blur: 0.5, quality: 84, date: "2025:03:11 10:20:00" };
