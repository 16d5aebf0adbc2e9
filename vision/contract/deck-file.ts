import { z } from "zod";
import { DeckPair, Product, SchemaVersion } from "./shapes.ts";

export const Splitter = z.strictObject({
  name: z.string().min(1),
  between: z.tuple([Product, Product]),
  atMm: z.number().min(0),
  minMm: z.number().min(0).optional(),
  maxMm: z.number().min(0).optional(),
  stepMm: z.number().positive().optional(),
  movable: z.boolean().default(true),
});
export type Splitter = z.infer<typeof Splitter>;

export const Launder = z.strictObject({
  name: z.string().min(1),
  product: Product,
  fromMm: z.number().min(0),
  toMm: z.number().min(0),
});
export type Launder = z.infer<typeof Launder>;

export const Controls = z.strictObject({
  splitters: z.boolean().default(true),
  washWater: z.boolean().default(true),
  feedWater: z.boolean().default(true),
  feedRate: z.boolean().default(true),
  crossSlope: z.boolean().default(true),
  endSlope: z.boolean().default(false),
  stroke: z.boolean().default(false),
  speed: z.boolean().default(false),
});

/** One shaking table's deck, lengths in mm in deck coordinates (see DEVELOPERS.md). */
export const DeckFile = z.strictObject({
  schemaVersion: SchemaVersion,
  name: z.string().default("Deck"),
  hand: z.enum(["right", "left"]).default("right"),
  lengthMm: z.number().min(200).max(6000),
  widthMm: z.number().min(100).max(3000),
  outline: z.array(DeckPair).min(4).optional(),
  riffled: z.array(DeckPair).min(3).optional(),
  smoothZones: z.array(z.array(DeckPair).min(3)).optional(),
  outletPath: z.array(DeckPair).min(2).optional(),
  feedBox: z.array(DeckPair).length(2).optional(),
  washPipes: z.array(z.array(DeckPair).min(2)).optional(),
  splitters: z.array(Splitter).default([]),
  launders: z.array(Launder).optional(),
  controls: Controls.default(() => Controls.parse({})),
  marks: z
    .strictObject({
      dictionary: z.string(),
      items: z.array(
        z.strictObject({
          id: z.number().int().min(0),
          centre: DeckPair,
          sizeMm: z.number().positive(),
          turnDegrees: z.number().default(0),
        }),
      ),
    })
    .optional(),
  setPoints: z
    .strictObject({
      crossSlopeMmPerM: z.number().optional(),
      endSlopeMmPerM: z.number().optional(),
      /** Wash and feed water together, [least, most]. */
      waterLitresPerMinute: z.tuple([z.number().min(0), z.number().min(0)]).optional(),
      /** For the person to time a float by, [least, most]; no rule uses it, since no settings file holds it. */
      floatSeconds: z.tuple([z.number().min(0), z.number().min(0)]).optional(),
    })
    .optional(),
  strokeMm: z.number().min(0).max(60).optional(),
  supports: z.strictObject({ alongMm: z.number().positive(), acrossMm: z.number().positive() }).optional(),
});
export type DeckFile = z.infer<typeof DeckFile>;
/** A deck file as people write it: what has a default may be left out. */
export type DeckFileInput = z.input<typeof DeckFile>;
