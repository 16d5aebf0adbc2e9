import { z } from "zod";
import { Said, SaidText } from "./said.ts";
import { DeckPair, OutletSpan, PhotoPair, Product, SchemaVersion } from "./shapes.ts";

const Share = z.number().min(0).max(1);

/** One suggested change. */
export const Hint = z.strictObject({
  control: z.enum([
    "splitter",
    "washWater",
    "feedWater",
    "feedRate",
    "feedSolids",
    "feedSpread",
    "washPipe",
    "crossSlope",
    "endSlope",
    "level",
    "stroke",
    "speed",
    "inspect",
    "none",
  ]),
  target: z.string().nullable(),
  direction: z.enum(["raise", "lower", "hold"]),
  amount: z.strictObject({ value: z.number(), unit: z.enum(["mm", "mm/m", "L/min", "kg/h", "%", "1/min"]) }).nullable(),
  toMm: z.number().nullable(),
  because: z.array(z.string()).min(1),
  evidence: z.record(z.string(), z.union([z.number(), z.string(), z.array(z.number())])),
  expect: z.string(),
  lookAgainMinutes: z.number().positive(),
  caution: z.string().nullable(),
  basis: z
    .array(
      z.strictObject({
        source: z.string(),
        kind: z.enum(["published", "common practice", "from memory", "computed"]),
        said: Said.optional(),
      }),
    )
    .min(1),
  confidence: Share,
  /** `because`, `expect` and `caution` by name, for other languages. Readings made before there were names lack it. */
  said: z.strictObject({ because: z.array(SaidText), expect: SaidText, caution: SaidText.nullable() }).optional(),
});
export type Hint = z.infer<typeof Hint>;

/** Something about the photo that limits the reading, in a worker's words; `said` as in a hint. */
export const QualityIssue = z.strictObject({
  kind: z.string(),
  share: Share.optional(),
  say: z.string(),
  said: SaidText.optional(),
});
export type QualityIssue = z.infer<typeof QualityIssue>;

export const Band = z.strictObject({
  kind: Product,
  areaMm2: z.number().min(0),
  meanWidthMm: z.number().min(0),
  /** Stretches of the outlet path where this class leaves; a null error marks an end of the path, which is no edge. */
  outlet: z.array(
    z.strictObject({
      fromMm: z.number(),
      toMm: z.number(),
      fromErrorMm: z.number().nullable(),
      toErrorMm: z.number().nullable(),
    }),
  ),
  centreLine: z.array(DeckPair),
  /** 10-90 % width of the band's edges at the outlet, mm; null where none was seen. */
  edgeBlurMm: z.number().min(0).nullable(),
  confidence: Share,
});
export type Band = z.infer<typeof Band>;

export const DryPatch = z.strictObject({
  areaMm2: z.number(),
  centre: DeckPair,
  outline: z.array(DeckPair),
  confidence: Share,
});
export type DryPatch = z.infer<typeof DryPatch>;
export const Rill = z.strictObject({ path: z.array(DeckPair), widthMm: z.number(), confidence: Share });
export type Rill = z.infer<typeof Rill>;

export const DeckState = z.enum(["running", "stopped", "unknown"]);
export type DeckState = z.infer<typeof DeckState>;

/** Everything measured from one photo. Never changed once stored. Lengths mm, to 0.1; shares to 0.0001. */
export const Reading = z.strictObject({
  schemaVersion: SchemaVersion,
  photo: z.strictObject({
    name: z.string(),
    sha256: z.string(),
    widthPx: z.number().int().nullable(),
    heightPx: z.number().int().nullable(),
    takenAt: z.string().nullable(),
  }),
  madeBy: z.strictObject({ version: z.string(), model: z.string() }),
  scale: z.enum(["deck file", "assumed"]),
  deckState: DeckState,
  quality: z.strictObject({ usable: z.boolean(), issues: z.array(QualityIssue) }),
  view: z
    .strictObject({
      source: z.enum(["corners", "marks", "outline"]),
      photoToDeck: z.array(z.number()).length(9),
      lens: z.number(),
      errorMm: z.number().min(0),
      orientationConfidence: Share,
      cornersPx: z.array(PhotoPair),
    })
    .nullable(),
  grid: z
    .strictObject({
      mmPerCell: z.number().positive(),
      columns: z.number().int().positive(),
      rows: z.number().int().positive(),
    })
    .nullable(),
  cover: z
    .strictObject({ unseen: Share, bare: Share, dense: Share, middling: Share, light: Share, dry: Share })
    .nullable(),
  bands: z.array(Band),
  outletUnseenMm: z.array(OutletSpan),
  dryPatches: z.array(DryPatch),
  rills: z.array(Rill),
  splitters: z.array(
    z.strictObject({
      name: z.string(),
      atMm: z.number(),
      suggestedMm: z.number().nullable(),
      errorMm: z.number().nullable(),
    }),
  ),
  launders: z.array(
    z.strictObject({
      name: z.string(),
      product: Product,
      fromMm: z.number(),
      toMm: z.number(),
      carried: z.strictObject({ dense: Share, middling: Share, light: Share }),
    }),
  ),
  advice: z.array(Hint),
});
export type Reading = z.infer<typeof Reading>;
