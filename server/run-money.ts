import { splittersOfRun } from "../vision/accounts/index.ts";
import type { RunRecord, RunSplitters } from "../vision/contract/index.ts";
import type { Caller } from "./storage/caller.ts";
import type { Data } from "./storage/data.ts";
import type { TimedReading } from "./storage/readings.ts";

/** The latest photos that are looked at: more say little more, and each costs time. */
export const MOST_FOR_MONEY = 20;

/** Where a run's splitters bring most money, by those of its photos that were read as the newest was. */
export function splittersOver(record: RunRecord, timed: readonly TimedReading[]): RunSplitters {
  const newest = timed.at(-1);
  const alike = timed.filter(({ measuredBy }) => measuredBy === newest?.measuredBy);
  return splittersOfRun(record, newest?.deck ?? null, alike);
}

/** The same of a run that is kept. */
export async function splittersFor(data: Data, caller: Caller, run: string): Promise<RunSplitters> {
  const { record } = await data.runLogs.record(caller, run);
  return splittersOver(record, await data.readings.inTime(caller, { run }, MOST_FOR_MONEY));
}
