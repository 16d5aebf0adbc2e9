import type { Parts } from "../../server/parts.ts";
import { launderReading, launderSheet } from "../vision/accounts/launder-runs.ts";
import { keepRows } from "./kept-readings.ts";

export { gradeAt } from "../vision/accounts/launder-runs.ts";

/** Keep an invented run with one photo, and with assays where it is to have some. @returns the run's id. */
export async function seenRun(
  at: string,
  parts: Parts,
  name: string,
  denseTo: number,
  assayed = true,
): Promise<string> {
  const json = { "Content-Type": "application/json" };
  const body = JSON.stringify({ name, material: "river sand" });
  const run = (await (await fetch(`${at}/api/runs`, { method: "POST", body, headers: json })).json()).id as string;
  const sheet = launderSheet(name, denseTo);
  const headers = { "Content-Type": "text/csv", "If-Match": '"0"' };
  if (assayed) await fetch(`${at}/api/runs/${run}/sheet.csv`, { method: "PUT", body: sheet, headers });
  else {
    const about = { metal: "Sn", mineral: "cassiterite" };
    const entry = JSON.stringify({ entry: { kind: "about", about } });
    await fetch(`${at}/api/runs/${run}/entries`, { method: "POST", body: entry, headers: json });
  }
  const photo = { id: idIn(run, 1), name: `${name}.jpg`, takenAt: "2031-05-04T09:00:00", run };
  await keepRows(parts, photo, { id: readingIn(run), reading: launderReading(denseTo) });
  return run;
}
const idIn = (run: string, n: number) => `${run.replaceAll("-", "")}${n.toString(16).padStart(32, "0")}`;
/** The reading that `seenRun` kept of a run. */
export const readingIn = (run: string) => idIn(run, 2);
