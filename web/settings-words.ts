import type { SettingsFile } from "../vision/contract/index.ts";
import { type Key, number, say } from "./words.ts";

/** What controls stand at, in words with their units. */

type Setting = Exclude<keyof SettingsFile, "schemaVersion" | "reach" | "seen" | "edgeCounts" | "twin">;
const SETTINGS = [
  ["washWaterLitresPerMinute", "run.control.washWater", "L/min"],
  ["feedWaterLitresPerMinute", "run.control.feedWater", "L/min"],
  ["feedKgPerHour", "run.control.feedRate", "kg/h"],
  ["feedSolidsPercent", "run.control.feedSolids", "%"],
  ["crossSlopeMmPerM", "run.control.crossSlope", "mm/m"],
  ["endSlopeMmPerM", "run.control.endSlope", "mm/m"],
  ["strokeMm", "run.control.stroke", "mm"],
  ["strokesPerMinute", "run.control.speed", ""],
  ["waterTemperatureCelsius", "report.waterTemperature", "°C"],
] as const satisfies readonly (readonly [Setting, Key, string])[];

export interface KnownSetting {
  readonly name: string;
  readonly value: number;
  readonly unit: string;
}
/** What is known of the controls, in a fixed order. */
export const knownSettings = (settings: SettingsFile): KnownSetting[] =>
  SETTINGS.flatMap(([key, words, unit]) => {
    const value = settings[key];
    return value === undefined ? [] : [{ name: say(words), value, unit }];
  });
export const withUnit = (value: number, unit: string) => `${number(value, 0, 2)}${unit && `\u00a0${unit}`}`;
