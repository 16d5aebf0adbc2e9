import { z } from "zod";
import { ClassName, PhotoPair, SchemaVersion } from "./shapes.ts";

/** Where the deck's outline corners lie in the photo, in the outline's order. */
export const CornersFile = z.object({
  corners: z.array(PhotoPair).min(4),
  /** One standard error of each coordinate, photo pixels, where it is known. */
  errorPx: z.number().positive().optional(),
});
export type CornersFile = z.infer<typeof CornersFile>;

/** What a person said a spot shows. */
export const Tap = z.strictObject({ at: PhotoPair, class: ClassName.exclude(["unseen"]) });
export type Tap = z.infer<typeof Tap>;
export const TapsFile = z.object({
  taps: z.array(Tap),
  /** One tap near the deck's first corner (drive end, wash-water side), where the photo does not tell which way round it lies. */
  firstCorner: PhotoPair.optional(),
});
export type TapsFile = z.infer<typeof TapsFile>;

/** Look of a material: sRGB 0-255 of the wet heap in white light, or words for how pale it is beside the others. */
export const Look = z.strictObject({
  rgb: z.tuple([z.number(), z.number(), z.number()]).optional(),
  tone: z.enum(["dark", "mid", "pale"]).optional(),
});
const Material = z.strictObject({
  name: z.string().optional(),
  densityKgPerM3: z.number().positive().optional(),
  sizeMm: z.tuple([z.number().positive(), z.number().positive()]).optional(),
  /** Its share of the dry feed by weight, 0 to 1. */
  feedShare: z.number().min(0).max(1).optional(),
  look: Look.optional(),
});
/** What makes dense, middling and light here, and what each looks like. */
export const MaterialProfile = z.object({
  schemaVersion: SchemaVersion.optional(),
  name: z.string().optional(),
  dense: Material.optional(),
  middling: Material.optional(),
  light: Material.optional(),
  deckLook: Look.optional(),
});
export type MaterialProfile = z.infer<typeof MaterialProfile>;

/** How far a control goes, and in which steps it can be set; in the unit of its setting. */
const Reach = z.strictObject({
  least: z.number().min(0).optional(),
  most: z.number().min(0).optional(),
  step: z.number().positive().optional(),
});

/** What a person saw that a photo does not show well. */
export const SEEN_BY_EYE = [
  "feed surges",
  "feed uneven along the feed box",
  "bed stands in the riffles",
  "wash jets land low",
  "water thick with fines",
  "fine streaks ahead of the dense edge",
  "round heavy grains roll to the low side",
  "froth or floating grains",
  "dense band gone, weights the same",
] as const;

/** What earlier changes taught of this deck with this material; `compare --json` prints it anew after each pair. */
export const TwinBelief = z.strictObject({
  parameters: z.strictObject({
    drift: z.number().min(0.05).max(50),
    sorting: z.number().min(0.2).max(2),
    friction: z.number().min(0.1).max(1.5),
    climbMmPerM: z.number().min(5).max(200),
    spread: z.number().min(0.01).max(0.5),
    locking: z.number().min(0.3).max(3),
    fullKgPerHourPerMm: z.number().min(0.02).max(20),
    waterResponse: z.number().min(0.1).max(2),
    slopeResponse: z.number().min(0.1).max(2),
    fading: z.number().min(0.001).max(1),
    breaksMm: z.number().min(0.3).max(3),
    atLitresPerMinutePerM: z.number().positive(),
    atSlopeMmPerM: z.number().positive(),
  }),
  /** One standard error of the logarithm of each: 0.1 is about 10 %. */
  logErrors: z.strictObject({
    drift: z.number().positive(),
    sorting: z.number().positive(),
    climbMmPerM: z.number().positive(),
    spread: z.number().positive(),
    locking: z.number().positive(),
    waterResponse: z.number().positive(),
    slopeResponse: z.number().positive(),
    fading: z.number().positive(),
    breaksMm: z.number().positive(),
  }),
});
export type TwinBelief = z.infer<typeof TwinBelief>;

const GrainCount = z.number().int().min(0).max(100_000);
/** What the controls stand at. */
export const SettingsFile = z.object({
  schemaVersion: SchemaVersion.optional(),
  washWaterLitresPerMinute: z.number().min(0).optional(),
  feedWaterLitresPerMinute: z.number().min(0).optional(),
  feedKgPerHour: z.number().min(0).optional(),
  feedSolidsPercent: z.number().min(0).max(100).optional(),
  crossSlopeMmPerM: z.number().optional(),
  endSlopeMmPerM: z.number().optional(),
  strokeMm: z.number().min(0).optional(),
  strokesPerMinute: z.number().min(0).optional(),
  waterTemperatureCelsius: z.number().min(0).max(60).optional(),
  reach: z
    .strictObject({
      washWaterLitresPerMinute: Reach.optional(),
      feedWaterLitresPerMinute: Reach.optional(),
      feedKgPerHour: Reach.optional(),
      crossSlopeMmPerM: Reach.optional(),
      endSlopeMmPerM: Reach.optional(),
      strokeMm: Reach.optional(),
      strokesPerMinute: Reach.optional(),
    })
    .optional(),
  seen: z.array(z.enum(SEEN_BY_EYE)).optional(),
  /** Grains counted under a lens in narrow cuts taken where product leaves, at these settings. */
  edgeCounts: z
    .array(
      z.strictObject({
        atMm: z.number().min(0),
        grains: z.strictObject({ dense: GrainCount, middling: GrainCount, light: GrainCount }),
      }),
    )
    .max(24)
    .optional(),
  /** What an older program was taught is not understood: left out, and learned anew. */
  twin: TwinBelief.optional().catch(undefined),
});
export type SettingsFile = z.infer<typeof SettingsFile>;

/** What the person wants of the dense launder. */
export const AimFile = z.object({
  schemaVersion: SchemaVersion.optional(),
  /** Least share of what falls into the dense launder that must be dense, 0 to 1 of the outlet length there. */
  densePurity: z.number().min(0).max(1).optional(),
  /** Least share of the dense band that must fall into the dense launder, 0 to 1. */
  denseRecovery: z.number().min(0).max(1).optional(),
  /**
   * Money for a tonne of each class in each launder, in outlet order: a price, or below 0 a penalty or the cost of
   * grinding and running it again. Counts before the floors.
   */
  perTonne: z
    .array(z.strictObject({ dense: z.number(), middling: z.number(), light: z.number() }))
    .min(2)
    .max(6)
    .optional(),
});
export type AimFile = z.infer<typeof AimFile>;
