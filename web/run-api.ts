import {
  DeckList,
  Drift,
  Expected,
  Job,
  type NewRunLogEntryInput,
  PhotoList,
  ReportReceipt,
  Run,
  RunBalance,
  RunList,
  RunLog,
  RunLogEntry,
  RunSplitters,
  type SamplingAim,
  SamplingPlans,
  SheetTaken,
  StoredPhoto,
} from "../vision/contract/index.ts";
import { ask, askFile, askTag, readingUrl } from "./api.ts";

/** Calls about runs. A key sent twice writes once. */

const json = (method: string, body: unknown, key?: string) => ({
  method,
  body: JSON.stringify(body),
  headers: { "content-type": "application/json", ...(key && { "idempotency-key": key }) },
});

export const makeRun = (
  run: {
    readonly name: string;
    readonly material: string | null;
    readonly deck: string | null;
    readonly startedAt: string;
  },
  key: string,
) => ask(Run, "api/runs", json("POST", run, key));
export const endRun = (id: string, endedAt: string | null) => ask(Run, `api/runs/${id}`, json("PATCH", { endedAt }));
export const newestRuns = async () => (await ask(RunList, "api/runs?limit=12", {})).items;
export const keptDecks = async () => (await ask(DeckList, "api/decks?limit=100", {})).items;

export const writeDown = (run: string, entry: NewRunLogEntryInput, key: string) =>
  ask(RunLogEntry, `api/runs/${run}/entries`, json("POST", entry, key));
export const writtenDown = async (run: string) => (await ask(RunLog, `api/runs/${run}/entries?limit=200`, {})).items;
export const putPhotoInto = (photo: string, run: string) =>
  ask(StoredPhoto, `api/photos/${photo}`, json("PATCH", { run }));

export const balanceOf = (run: string) => ask(RunBalance, `api/runs/${run}/balance`, {});
export const splittersOf = (run: string) => ask(RunSplitters, `api/runs/${run}/splitters`, {});
export const driftOf = (run: string, deck: string | null) =>
  ask(Drift, deck === null ? `api/runs/${run}/drift` : `api/decks/${deck}/drift`, {});
/** What the run's newest photo lets expect; null where it has none that is read. */
export async function expectedOf(run: string): Promise<Expected | null> {
  const { items } = await ask(PhotoList, `api/photos?run=${run}&limit=20`, {});
  const reading = items.find((photo) => photo.reading !== null)?.reading;
  return reading ? ask(Expected, `${readingUrl(reading)}/expected`, {}) : null;
}

export const sheetUrl = (run: string, kind: "csv" | "xlsx") => `api/runs/${run}/sheet.${kind}`;
/** Have the run say what this file says; what was written down since the sheet was asked for is not lost: the server then refuses. */
export async function takeSheet(run: string, file: File): Promise<SheetTaken> {
  const kind = /\.xlsx$/i.test(file.name) ? "xlsx" : "csv";
  const tag = await askTag(`api/runs/${run}/record`);
  return ask(SheetTaken, sheetUrl(run, kind), { method: "PUT", body: file, headers: { "if-match": tag } });
}

export const planOf = (aim: SamplingAim) => ask(SamplingPlans, "api/sampling-plan", json("POST", aim));
/** A page of labels to print, in this language. */
export function labelsOf(aim: SamplingAim, language: string): Promise<Blob> {
  const init = json("POST", aim);
  return askFile("api/sampling-plan/labels.html", {
    ...init,
    headers: { ...init.headers, "accept-language": language },
  });
}

export const makeReport = async (run: string, language: string) =>
  (await ask(ReportReceipt, `api/runs/${run}/reports?language=${language}`, { method: "POST" })).id;
export const jobOf = (id: string) => ask(Job, `api/jobs/${id}`, {});
export const reportUrl = (id: string, file: "" | "/report.pdf" | "/data.zip") => `api/reports/${id}${file}`;
