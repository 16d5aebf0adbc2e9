import { driftOf, type NotedChange } from "../vision/accounts/index.ts";
import type { Drift } from "../vision/contract/index.ts";
import type { TimedReading } from "./storage/readings.ts";

/** Charts of kept readings, with which photos they are drawn of. */
export const driftOver = (readings: readonly TimedReading[], changes: readonly NotedChange[]): Drift => ({
  photos: readings.map(({ id: reading, photo, at, run }) => ({ reading, photo, at, run })),
  ...driftOf(readings, changes),
});
