import { PROGRAM } from "../../server/made-by.ts";
import type { Parts } from "../../server/parts.ts";
import { now } from "../../server/storage/naming.ts";
import type { Reading } from "../../vision/contract/index.ts";
import { readingOf } from "../vision/accounts/deck-readings.ts";

/** Runs with photos and assays, invented: the dense launder's grade is a straight line in where the dense band ends. */

/** A photo whose dense band ends at `denseTo` mm; the dense launder ends at 240 mm. */
const photo = (denseTo: number): Reading => ({
  ...readingOf({ denseTo, middlingTo: 640, dense: 0.05, middling: 0.1, light: 0.4, dry: 0 }),
  launders: [
    { name: "A", product: "dense", fromMm: 0, toMm: 240, carried: { dense: 1, middling: 0, light: 0 } },
    { name: "B", product: "light", fromMm: 240, toMm: 2740, carried: { dense: 0, middling: 1, light: 1 } },
  ],
});
/** What such a launder truly holds, % Sn. */
export const gradeAt = (denseTo: number) => 10 + (30 * denseTo) / 240;

/** A run sheet whose figures agree, weighed and assayed to 1 %. */
function sheetOf(name: string, denseTo: number): string {
  const grade = gradeAt(denseTo);
  const head = (4 * grade + 96 * 0.2) / 100;
  return [
    "kind,stream,sample,item,value,error,unit",
    `run,,,name,${name},,`,
    "run,,,material,river sand,,",
    "run,,,mineral,cassiterite,,",
    "mass,feed,,dry,100,1,kg",
    "mass,dense,,dry,4,0.04,kg",
    "mass,light,,dry,96,1,kg",
    `assay,feed,,Sn,${head},${0.02 * head},%`,
    `assay,dense,,Sn,${grade},${0.01 * grade},%`,
    "assay,light,,Sn,0.2,0.01,%",
  ].join("\n");
}

/** @returns the run's id. */
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
  const sheet = sheetOf(name, denseTo);
  const headers = { "Content-Type": "text/csv", "If-Match": '"0"' };
  if (assayed) await fetch(`${at}/api/runs/${run}/sheet.csv`, { method: "PUT", body: sheet, headers });
  else {
    const about = { metal: "Sn", mineral: "cassiterite" };
    const entry = JSON.stringify({ entry: { kind: "about", about } });
    await fetch(`${at}/api/runs/${run}/entries`, { method: "POST", body: entry, headers: json });
  }
  const own = { site_id: parts.data.local.site, run_id: run };
  const id = (n: number) => `${run.replaceAll("-", "")}${n.toString(16).padStart(32, "0")}`;
  const about = { name: `${name}.jpg`, format: "jpeg", bytes: 1, width_px: 4000, height_px: 3000 };
  const { db } = parts.data;
  const times = { taken_at: "2031-05-04T09:00:00", sent_at: now() };
  await db
    .insertInto("photos")
    .values({ ...own, ...about, ...times, sha256: id(1), preview_sha256: id(1) })
    .execute();
  const nothing = {
    deck_id: null,
    deck_version: null,
    remade_from: null,
    overlay_sha256: null,
    classes_sha256: null,
    confidence_sha256: null,
  };
  const reading = { id: id(2), photo: id(1), program: PROGRAM, usable: 1, made_at: now() };
  const asked_json = JSON.stringify({ photo: id(1), corners: null });
  await db
    .insertInto("readings")
    .values({ ...own, ...nothing, ...reading, asked_json, reading_json: JSON.stringify(photo(denseTo)) })
    .execute();
  await db
    .insertInto("current_readings")
    .values({ site_id: own.site_id, photo: id(1), reading_id: id(2) })
    .execute();
  return run;
}
/** The reading that `seenRun` kept of a run. */
export const readingIn = (run: string) => `${run.replaceAll("-", "")}${(2).toString(16).padStart(32, "0")}`;
