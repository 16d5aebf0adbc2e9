import type { Reading } from "../../vision/contract/index.ts";

/** An invented reading of a 1830 by 910 mm deck with one dense band at the outlet, mm, and its edges' standard error. */
export function denseBetween(
  fromMm: number,
  toMm: number,
  errorMm: number,
  fromErrorMm: number | null = errorMm,
): Reading {
  return {
    schemaVersion: 1,
    photo: {
      name: "invented.jpg",
      sha256: "0".repeat(64),
      widthPx: 4000,
      heightPx: 3000,
      takenAt: "2031-05-04T13:05:09",
    },
    madeBy: { version: "0.0.0", model: "none" },
    scale: "deck file",
    deckState: "running",
    quality: { usable: true, issues: [{ kind: "glare", share: 0.03, say: "Glare hides 3 % of the deck." }] },
    view: {
      source: "corners",
      photoToDeck: [1, 0, 0, 0, 1, 0, 0, 0, 1],
      lens: 0,
      errorMm: 2,
      orientationConfidence: 1,
      cornersPx: [],
    },
    grid: { mmPerCell: 2, columns: 915, rows: 455 },
    cover: { unseen: 0, bare: 0.5, dense: 0.1, middling: 0.1, light: 0.3, dry: 0 },
    bands: [
      {
        kind: "dense",
        areaMm2: 90000,
        meanWidthMm: 120,
        outlet: [{ fromMm, toMm, fromErrorMm, toErrorMm: errorMm }],
        centreLine: [],
        edgeBlurMm: 12,
        confidence: 0.9,
      },
    ],
    outletUnseenMm: [],
    dryPatches: [],
    rills: [],
    splitters: [{ name: "upper", atMm: 240, suggestedMm: 222, errorMm: 4 }],
    launders: [],
    advice: [
      {
        control: "splitter",
        target: "upper",
        direction: "lower",
        amount: { value: 18, unit: "mm" },
        toMm: 222,
        because: ["The dense band ends before the splitter."],
        evidence: {},
        expect: "The dense launder runs cleaner.",
        lookAgainMinutes: 5,
        caution: "Stop and lock out the drive before reaching near it.",
        basis: [{ source: "invented for this test", kind: "computed" }],
        confidence: 0.8,
      },
    ],
  };
}
