import type { LessonChange } from "../vision/contract/index.ts";
import { isKey, say } from "./words.ts";

/** Changes that a lesson offers, each one step at the table. */
export const LESSON_CHANGES: readonly LessonChange[] = [
  { control: "none", direction: "hold" },
  { control: "washWater", direction: "raise" },
  { control: "washWater", direction: "lower" },
  { control: "crossSlope", direction: "raise" },
  { control: "crossSlope", direction: "lower" },
  { control: "feedRate", direction: "raise" },
  { control: "feedRate", direction: "lower" },
  { control: "feedWater", direction: "raise" },
  { control: "feedSpread", direction: "hold" },
  { control: "washPipe", direction: "hold" },
  { control: "level", direction: "hold" },
  { control: "inspect", direction: "hold" },
];

export function changeWords({ control, direction }: LessonChange): string {
  const key = `hint.${control}.${direction}`;
  return isKey(key) ? say(key) : control;
}
