import type { SettingsFile } from "../vision/contract/index.ts";
import * as telling from "../vision/telling/index.ts";
import { given } from "./units.ts";
import { speech } from "./words.ts";

/** What is known of the controls, in words with their units, in a fixed order. */
export const knownSettings = (settings: SettingsFile) => telling.knownSettings(speech, settings);
export const withUnit = (value: number, unit: string) => given(value, unit);
