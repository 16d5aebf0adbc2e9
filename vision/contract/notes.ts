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
export const TapsFile = z.object({ taps: z.array(Tap) });
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
});
export type SettingsFile = z.infer<typeof SettingsFile>;

/** What the person wants of the dense launder. */
export const AimFile = z.object({
  schemaVersion: SchemaVersion.optional(),
  /** Least share of what falls into the dense launder that must be dense, 0 to 1 of the outlet length there. */
  densePurity: z.number().min(0).max(1).optional(),
  /** Least share of the dense band that must fall into the dense launder, 0 to 1. */
  denseRecovery: z.number().min(0).max(1).optional(),
});
export type AimFile = z.infer<typeof AimFile>;
