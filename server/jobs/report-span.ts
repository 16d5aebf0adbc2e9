import { dated } from "../../vision/accounts/index.ts";
import type { RunRecord } from "../../vision/contract/index.ts";
import type { ReportSpan } from "./rows.ts";

/** Whether a moment is told: times as clocks at the table show them, to the minute; what has no time always is. */
export type Within = (at: string | null) => boolean;

/** @param startedAt  When the run began: times of day alone are of that day. */
export function withinOf({ from, to }: ReportSpan, startedAt: string | null): Within {
  const minute = (at: string) => dated(at, startedAt).slice(0, 16);
  return (at) =>
    at === null || ((from === null || minute(at) >= minute(from)) && (to === null || minute(at) < minute(to)));
}

/** A run with what was noted in its part alone. */
export const partOf = (run: RunRecord, within: Within): RunRecord => ({
  ...run,
  samples: run.samples.filter(({ at }) => within(at)),
  settings: run.settings.filter(({ at }) => within(at)),
  changes: run.changes.filter(({ at }) => within(at)),
  notes: run.notes.filter(({ at }) => within(at)),
});
