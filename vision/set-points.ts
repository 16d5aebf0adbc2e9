import type { SettingsFile } from "./contract/index.ts";
import type { Deck, Notes } from "./stages.ts";

/** A slope this near to its set point stands at it, mm/m: what a builder's level shows (judgement). */
const LEVEL_SHOWS_MM_PER_M = 1;

/** A control beside its set points in the deck file, from what the settings file says it stands at. */
export interface Standing {
  readonly control: "washWater" | "crossSlope" | "endSlope";
  readonly unit: "L/min" | "mm/m";
  readonly at: number;
  readonly least: number;
  readonly most: number;
  /** The change that brings it back within: 0 when it is, above 0 to raise. */
  readonly off: number;
}

/**
 * Where the controls stand beside the deck file's set points; those of which both are known.
 *
 * `waterLitresPerMinute` is wash and feed water together. With the feed water unknown the wash water alone can still
 * be too much, never too little. What is off is put right by the wash water.
 */
export function standings({ file }: Deck, { settings = {} }: Notes): Standing[] {
  const { crossSlopeMmPerM: cross, endSlopeMmPerM: end, waterLitresPerMinute: water } = file.setPoints ?? {};
  const found: (Standing | null)[] = [
    water ? waterStands(water, settings) : null,
    slopeStands("crossSlope", cross, settings.crossSlopeMmPerM),
    slopeStands("endSlope", end, settings.endSlopeMmPerM),
  ];
  return found.filter((standing) => standing !== null);
}

function waterStands([from, to]: readonly [number, number], settings: SettingsFile): Standing | null {
  const { washWaterLitresPerMinute: wash, feedWaterLitresPerMinute: feed } = settings;
  if (wash === undefined) return null;
  const at = wash + (feed ?? 0);
  const [least, most] = [feed === undefined ? 0 : Math.min(from, to), Math.max(from, to)];
  // More cannot be taken from the wash water than runs.
  const off = Math.max(-wash, outside(at, least, most));
  return { control: "washWater", unit: "L/min", at, least, most, off };
}

function slopeStands(control: "crossSlope" | "endSlope", point?: number, at?: number): Standing | null {
  if (point === undefined || at === undefined) return null;
  const near = Math.abs(point - at) <= LEVEL_SHOWS_MM_PER_M;
  return { control, unit: "mm/m", at, least: point, most: point, off: near ? 0 : point - at };
}

const outside = (at: number, least: number, most: number) => (at < least ? least - at : at > most ? most - at : 0);
