import type { SEEN_BY_EYE, SettingsFile } from "../contract/index.ts";
import type { Speech } from "./speech.ts";

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
] as const satisfies readonly (readonly [Setting, string, string])[];

/** What a person saw that a photo does not show well. */
export const SEEN_WORDS = {
  "feed surges": "seen.surges",
  "feed uneven along the feed box": "seen.uneven",
  "bed stands in the riffles": "seen.bedStands",
  "wash jets land low": "seen.jetsLow",
  "water thick with fines": "seen.thick",
  "fine streaks ahead of the dense edge": "seen.streaks",
  "round heavy grains roll to the low side": "seen.roundGrains",
  "froth or floating grains": "seen.froth",
  "dense band gone, weights the same": "seen.denseGone",
} as const satisfies Record<(typeof SEEN_BY_EYE)[number], string>;

export interface KnownSetting {
  readonly name: string;
  readonly value: number;
  readonly unit: string;
}
/** What is known of the controls, in a fixed order. */
export const knownSettings = (speech: Speech, settings: SettingsFile): KnownSetting[] =>
  SETTINGS.flatMap(([key, words, unit]) => {
    const value = settings[key];
    return value === undefined ? [] : [{ name: speech.say(words), value, unit }];
  });

/** All that was said of a moment: controls, what was seen, grains counted. The controls' reach and the twin are no settings. */
export const settingsLines = (speech: Speech, settings: SettingsFile): string[] => [
  ...knownSettings(speech, settings).map(
    ({ name, value, unit }) => `${name}: ${speech.number(value, 0, 2)}${unit && `\u00a0${unit}`}`,
  ),
  ...(settings.seen ?? []).map((seen) => speech.say(SEEN_WORDS[seen])),
  ...(settings.edgeCounts ?? []).map(({ atMm, grains }) => speech.say("rep.counted", { at: atMm, ...grains })),
];
