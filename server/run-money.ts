import { splittersOfRun } from "../vision/accounts/index.ts";
import type { RunSplitters } from "../vision/contract/index.ts";
import type { Caller } from "./storage/caller.ts";
import type { Data } from "./storage/data.ts";

/** The latest photos that are looked at: more say little more, and each costs time. */
const MOST_PHOTOS = 20;

/** Where a run's splitters bring most money, by its photos that were read with the deck file of the newest. */
export async function splittersFor(data: Data, caller: Caller, run: string): Promise<RunSplitters> {
  const { record } = await data.runLogs.record(caller, run);
  const timed = await data.readings.inTime(caller, { run }, MOST_PHOTOS);
  const newest = timed.at(-1);
  const alike = timed.filter(({ measuredBy }) => measuredBy === newest?.measuredBy);
  return splittersOfRun(record, newest?.deck ?? null, alike);
}
