import type {
  AimFile,
  ClassName,
  DeckFile,
  DeckState,
  EarlierLook,
  Launder,
  MaterialProfile,
  SettingsFile,
  Splitter,
  Tap,
} from "./contract/index.ts";

/** The records that pass between stages, in the order of the flow. Lengths mm unless the name says otherwise. */

/** A point in the photo: pixels from the outer corner of the top-left pixel, y down. */
export interface PhotoPoint {
  readonly frame: "photo";
  readonly x: number;
  readonly y: number;
}
/** A point on the deck: mm from the high drive-end corner, x along the riffles, y down the cross slope. */
export interface DeckPoint {
  readonly frame: "deck";
  readonly x: number;
  readonly y: number;
}
export const photoPoint = ([x, y]: readonly [number, number]): PhotoPoint => ({ frame: "photo", x, y });
export const deckPoint = ([x, y]: readonly [number, number]): DeckPoint => ({ frame: "deck", x, y });

/** An upright photo: RGBA, `height × width × 4` bytes, sRGB. */
export interface Photo {
  readonly width: number;
  readonly height: number;
  readonly rgba: Uint8ClampedArray | Uint8Array;
}

/** A deck file with everything that has a default filled in and checked. */
export interface Deck {
  readonly file: DeckFile;
  readonly scale: "deck file" | "assumed";
  readonly hand: "right" | "left";
  readonly lengthMm: number;
  readonly widthMm: number;
  readonly outline: readonly DeckPoint[];
  readonly outletPath: readonly DeckPoint[];
  /** Middle of the stretch of the high side where feed comes on. */
  readonly feed: { readonly from: DeckPoint; readonly to: DeckPoint };
  readonly splitters: readonly Splitter[];
  readonly launders: readonly Launder[];
}

/** How one photo maps to the deck. */
export interface View {
  readonly source: "corners" | "marks" | "outline";
  /** Row-major 3 × 3: lens-corrected photo pixel → deck mm. */
  readonly photoToDeck: readonly number[];
  /** One radial term; see DEVELOPERS.md. 0: a lens without bulge. */
  readonly lens: number;
  /** One standard error of a mapped point, RMS over the deck, mm. */
  readonly errorMm: number;
  readonly orientationConfidence: number;
  readonly cornersPx: readonly PhotoPoint[];
  /** One standard error of a mapped point at one place on the deck, along x and y, mm. */
  readonly errorAt: (at: DeckPoint) => readonly [number, number];
}

export interface Grid {
  readonly mmPerCell: number;
  readonly columns: number;
  readonly rows: number;
}

/** The deck laid flat: `rows × columns × 4` bytes RGBA; alpha 0 where the photo does not show it or outside the outline. */
export interface FlatDeck {
  readonly grid: Grid;
  readonly rgba: Uint8ClampedArray;
  /** Photo pixels per mm at the deck's centre: detail finer than this is not in the photo. */
  readonly pxPerMm: number;
}

/** The flat deck with colour cast and shading taken out. */
export interface EvenDeck {
  readonly grid: Grid;
  /** 1 where the deck's surface can be judged; 0 outside, hidden or burnt out; `rows × columns`. */
  readonly seen: Uint8Array;
  /** Means over two by two of the deck's cells, where grain and noise have averaged out a little; planes of their own grid. */
  readonly halved: {
    readonly grid: Grid;
    /** 1 where any of the four can be judged. */
    readonly seen: Uint8Array;
    /** CIELAB, L 0 to 100; meaningless where `seen` is 0. */
    readonly lab: { readonly L: Float32Array; readonly a: Float32Array; readonly b: Float32Array };
  };
  /** Share of the deck inside the outline that is burnt out, 0 to 1. */
  readonly glareShare: number;
  /** Colour of the light, linear RGB, green 1. */
  readonly light: readonly [number, number, number];
}

/** What each cell shows: class number 0 to 5 and how sure, 0 to 255; and the probability of each class on a coarser grid. */
export interface Classes {
  readonly grid: Grid;
  readonly labels: Uint8Array;
  readonly confidence: Uint8Array;
  /** Class probabilities, plane k − 1 for class k (1 bare … 5 dry), `5 × rows × columns` at `evidenceGrid`. */
  readonly evidenceGrid: Grid;
  readonly evidence: Float32Array;
}

/** One stretch of the outlet path under one class. */
export interface OutletStretch {
  readonly class: Exclude<ClassName, "unseen">;
  readonly fromMm: number;
  readonly toMm: number;
  /** One standard error of each end; null at an end of the path or beside an unseen stretch. */
  readonly fromErrorMm: number | null;
  readonly toErrorMm: number | null;
  /** 10-90 % width of the transition at each end, mm. */
  readonly fromBlurMm: number | null;
  readonly toBlurMm: number | null;
  readonly confidence: number;
}
/** The outlet path from its first point to its last. */
export interface Outlet {
  readonly lengthMm: number;
  readonly stretches: readonly OutletStretch[];
  readonly unseenMm: readonly (readonly [number, number])[];
  /** Share of each class in the 20 mm inside the path, for each mm: `5 × lengthMm`, plane k − 1 for class k. */
  readonly shares: Float32Array;
}

/** What a person typed or tapped beside the photo. */
export interface Notes {
  readonly taps?: readonly Tap[];
  /** Photo pixels: near the drive end's corner on the wash-water side. */
  readonly firstCorner?: readonly [number, number];
  readonly profile?: MaterialProfile;
  readonly settings?: SettingsFile;
  readonly aim?: AimFile;
  /** Earlier looks at the same deck, oldest first. */
  readonly earlier?: readonly EarlierLook[];
  /** What the frames of a burst told. */
  readonly deckState?: DeckState;
}
