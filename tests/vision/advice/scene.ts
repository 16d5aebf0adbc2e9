import type { DeckFileInput, Reading } from "../../../vision/contract/index.ts";
import type { Notes } from "../../../vision/stages.ts";

/** An invented deck, 1800 × 900 mm, with two splitters, its settings and material. */
export const deckFile: DeckFileInput = {
  schemaVersion: 1,
  lengthMm: 1800,
  widthMm: 900,
  splitters: [
    { name: "upper", between: ["dense", "middling"], atMm: 240, stepMm: 5 },
    { name: "lower", between: ["middling", "light"], atMm: 640, stepMm: 5 },
  ],
};
export const notes: Notes = {
  settings: {
    washWaterLitresPerMinute: 14,
    feedWaterLitresPerMinute: 6,
    feedKgPerHour: 90,
    crossSlopeMmPerM: 24,
    strokeMm: 14,
    strokesPerMinute: 290,
    waterTemperatureCelsius: 18,
  },
  profile: {
    dense: { densityKgPerM3: 6950, sizeMm: [0.1, 0.25], feedShare: 0.1 },
    middling: { densityKgPerM3: 4000, sizeMm: [0.1, 0.25], feedShare: 0.2 },
    light: { densityKgPerM3: 2650, sizeMm: [0.1, 0.25] },
  },
};

/** Dense, middling and light between four outlet mm, one beside the other. */
export function bandsOf(
  [a, b, c, d]: readonly [number, number, number, number],
  errorMm = 12,
  confidence = 0.9,
): Reading["bands"] {
  const band = (kind: "dense" | "middling" | "light", fromMm: number, toMm: number) => ({
    kind,
    areaMm2: 90_000,
    meanWidthMm: 100,
    outlet: [{ fromMm, toMm, fromErrorMm: errorMm, toErrorMm: errorMm }],
    centreLine: [],
    edgeBlurMm: 90,
    confidence,
  });
  return [band("dense", a, b), band("middling", b, c), band("light", c, d)];
}

/** A reading of these bands, splitters judged as the bands divide. */
export function readingOf(bands: Reading["bands"], change: Partial<Reading> = {}): Reading {
  const at = (kind: string) => bands.find((band) => band.kind === kind)?.outlet[0];
  const place = (name: string, atMm: number, kind: string) => {
    const edge = at(kind);
    return { name, atMm, suggestedMm: edge ? Math.round(edge.toMm / 5) * 5 : null, errorMm: edge?.toErrorMm ?? null };
  };
  return {
    schemaVersion: 1,
    photo: { name: "a.jpg", sha256: "0", widthPx: 1, heightPx: 1, takenAt: null },
    madeBy: { version: "0", model: "none" },
    scale: "deck file",
    deckState: "running",
    quality: { usable: true, issues: [] },
    view: null,
    grid: { mmPerCell: 2, columns: 900, rows: 450 },
    cover: { unseen: 0, bare: 0.4, dense: 0.1, middling: 0.1, light: 0.4, dry: 0 },
    bands,
    outletUnseenMm: [],
    dryPatches: [],
    rills: [],
    splitters: [place("upper", 240, "dense"), place("lower", 640, "middling")],
    launders: [],
    advice: [],
    ...change,
  };
}
