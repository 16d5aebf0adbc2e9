import type { Reading } from "../../../vision/contract/index.ts";

/** What an invented photo of a 1830 by 910 mm deck shows, mm along the outlet and shares of the deck. */
export interface Shown {
  readonly denseTo: number;
  readonly middlingTo: number;
  readonly dense: number;
  readonly middling: number;
  readonly light: number;
  readonly dry: number;
}

/** A reading of it: the dense band from the outlet's high end, the middling after it, the light to its low end. */
export function readingOf({ denseTo, middlingTo, dense, middling, light, dry }: Shown): Reading {
  const band = (kind: "dense" | "middling" | "light", from: [number, number | null], to: [number, number | null]) => ({
    kind,
    areaMm2: 1e5,
    meanWidthMm: 100,
    outlet: [{ fromMm: from[0], fromErrorMm: from[1], toMm: to[0], toErrorMm: to[1] }],
    centreLine: [],
    edgeBlurMm: 8,
    confidence: 0.9,
  });
  return {
    schemaVersion: 1,
    photo: { name: "invented.jpg", sha256: "0".repeat(64), widthPx: 4000, heightPx: 3000, takenAt: null },
    madeBy: { version: "0.0.0", model: "none" },
    scale: "deck file",
    deckState: "running",
    quality: { usable: true, issues: [] },
    view: null,
    grid: { mmPerCell: 2, columns: 915, rows: 455 },
    cover: { unseen: 0, bare: 1 - dense - middling - light - dry, dense, middling, light, dry },
    bands: [
      band("dense", [0, null], [denseTo, 4]),
      band("middling", [denseTo, 4], [middlingTo, 5]),
      band("light", [middlingTo, 5], [2740, null]),
    ],
    outletUnseenMm: [],
    dryPatches: [],
    rills: [],
    splitters: [],
    launders: [],
    advice: [],
  };
}

/** Photos of a table that runs quietly, with what `off` adds to the edges, mm, by photo from 0. */
export const quietDeck =
  (gauss: () => number) =>
  (photo: number, off: (photo: number) => number = () => 0): Shown => ({
    denseTo: 240 + 8 * gauss() + off(photo),
    middlingTo: 640 + 12 * gauss() + off(photo),
    dense: 0.05 + 0.004 * gauss(),
    middling: 0.11 + 0.008 * gauss(),
    light: 0.4 + 0.02 * gauss(),
    dry: 0.02 + 0.004 * gauss(),
  });
