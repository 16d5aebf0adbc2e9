import sharp from "sharp";
import {
  AccountsError,
  accountFor,
  changesOf,
  keptUnit,
  type RunAccounts,
  tellBalance,
  writeBalance,
  writeRunSheet,
} from "../../vision/accounts/index.ts";
import {
  CONTROLS,
  type Drift,
  type HintTaken,
  type Reading,
  type Run,
  type RunRecord,
  type SettingsEntry,
  type SettingsFile,
} from "../../vision/contract/index.ts";
import { FIGURE_HEADS, figureRows, measured, percentOf, sayCheck, sayMiddling } from "../balance-words.ts";
import { driftOver } from "../drift.ts";
import type { Caller } from "../storage/caller.ts";
import type { Data } from "../storage/data.ts";
import { wholeList } from "../storage/whole-list.ts";
import { rulerOf, SAFETY_LINES, sayHint } from "../words.ts";
import { type Block, heading, list, moment, short, table, text } from "./report-blocks.ts";
import { chartBlock } from "./report-chart.ts";
import { chartsCsv, type PhotoTold, readingsCsv } from "./report-data.ts";
import { writePage } from "./report-page.ts";
import { partOf, withinOf } from "./report-span.ts";
import type { ReportSpan } from "./rows.ts";

/** A run or a shift told: to be read, and the data beside it. */
export interface RunReport {
  readonly title: string;
  readonly blocks: readonly Block[];
  /** CSV texts by file name. */
  readonly data: Readonly<Record<string, string>>;
}

/** Photos that are shown; the others are told without their picture. */
const MOST_PICTURES = 24;
const PICTURE_PX = 900;
/** Photos that charts are drawn of. */
const MOST_ON_CHARTS = 400;

/**
 * A run told in the order of time: what was set and changed, what it adds up to, how its bands moved, each photo with its
 * reading, which hints were followed.
 *
 * @throws {Error} the signal's reason, when it aborts.
 */
export async function tellRun(
  data: Data,
  caller: Caller,
  id: string,
  span: ReportSpan,
  signal: AbortSignal,
): Promise<RunReport> {
  const run = await data.runs.one(caller, id);
  const { record: whole } = await data.runLogs.record(caller, id);
  const within = withinOf(span, whole.startedAt);
  const record = partOf(whole, within);
  const settings: SettingsEntry[] = [];
  for await (const entry of wholeList((ask) => data.runs.settings(caller, id, ask)))
    if (within(entry.at)) settings.unshift(entry);
  const timed = (await data.readings.inTime(caller, { run: id }, MOST_ON_CHARTS)).filter(({ at }) => within(at));
  const drift = driftOver(timed, changesOf(record));
  const seen: PhotoTold[] = [];
  for await (const photo of wholeList((ask) => data.photos.list(caller, ask, id))) {
    signal.throwIfAborted();
    const at = photo.takenAt ?? photo.sentAt;
    if (!within(at)) continue;
    const reading = photo.reading && (await data.readings.reading(caller, photo.reading));
    const hints: HintTaken[] = [];
    if (photo.reading) {
      for await (const hint of wholeList((ask) => data.said.hintsTaken(caller, photo.reading!, ask)))
        hints.unshift(hint);
    }
    seen.push({ photo, at, reading: reading || null, hints });
  }
  seen.sort((a, b) => (a.at < b.at ? -1 : 1));
  const pictures = await picturesOf(data, caller, seen, signal);
  const photos = seen.map((one) =>
    photoPart(one.photo.name, one.at, one.reading, one.hints, pictures.get(one) ?? null),
  );
  const accounts = accountsOf(record);
  return {
    title: run.name,
    blocks: blocksOf(run, span, record, settings, accounts, drift, photos),
    data: {
      "run.csv": writeRunSheet(record),
      "readings.csv": readingsCsv(seen),
      "charts.csv": chartsCsv(drift),
      ...(typeof accounts !== "string" && { "balance.csv": writeBalance(accounts) }),
    },
  };
}

/** One reading told on one page, with its picture, for people outside. */
export function tellCase(reading: Reading, pictureUrl: string): string {
  const hints = reading.advice.map((hint) => sayHint(hint, rulerOf(reading)).join(" "));
  const picture: Block = { kind: "photo", source: pictureUrl, alt: "The photo with its bands drawn on it" };
  return writePage(reading.photo.name, [
    ...photoPart(reading.photo.name, reading.photo.takenAt ?? "", reading, [], null),
    ...(reading.quality.usable ? [picture] : []),
    ...(hints.length > 0 ? [heading(2, "Hints"), ...list(hints)] : []),
    ...careList(),
  ]);
}

function blocksOf(
  run: Run,
  span: ReportSpan,
  record: RunRecord,
  settings: readonly SettingsEntry[],
  accounts: RunAccounts | string,
  drift: Drift,
  photos: readonly (readonly Block[])[],
): Block[] {
  const begun = span.from ?? record.startedAt ?? run.startedAt;
  const ended = span.to ?? run.endedAt ?? record.endedAt;
  const place = [record.site, run.material ?? record.material].filter(Boolean).join(", ");
  return [
    heading(1, run.name),
    text([`${moment(begun)} to ${ended ? moment(ended) : "now"}`, place].filter(Boolean).join(", ")),
    heading(2, "What the controls stood at"),
    ...settingsPart(record, settings),
    ...(record.notes.length > 0 ? [heading(2, "Notes"), ...list(record.notes.map(sayNote))] : []),
    heading(2, "Balance"),
    ...(typeof accounts === "string" ? [text(accounts)] : balancePart(accounts)),
    heading(2, "How the bands moved"),
    ...driftPart(drift),
    heading(2, `Photos (${photos.length})`),
    ...photos.flat(),
    ...careList(),
  ];
}

function settingsPart(record: RunRecord, settings: readonly SettingsEntry[]): Block[] {
  const told = settings.map(({ at, settings: set }) => [moment(at), saySettings(set).join("; "), "", ""]);
  const logged = (["settings", "changes"] as const).flatMap((which) =>
    record[which].map(({ control, target, figure, at, who, note }) => {
      const value = figure.error === null ? `${figure.value}` : `${figure.value} ± ${figure.error}`;
      const what = [control, target].filter(Boolean).join(" ");
      const how = which === "settings" ? "stood at" : "changed to";
      return [moment(at ?? ""), `${what} ${how} ${value} ${keptUnit(CONTROLS[control])}`, who, note];
    }),
  );
  const rows = [...told, ...logged].toSorted(([a], [b]) => (a! < b! ? -1 : a! > b! ? 1 : 0));
  return table(["when", "what", "who", "note"], rows, "Nothing was written down.");
}

/** What the table was at; the controls' reach and what the twin believes are no settings. */
function saySettings({ schemaVersion: _, reach: _reach, twin: _twin, seen, edgeCounts, ...controls }: SettingsFile) {
  return [
    ...Object.entries(controls).map(([name, value]) => `${words(name)} ${value}`),
    ...(seen ?? []),
    ...(edgeCounts ?? []).map(({ atMm, grains: { dense, middling, light } }) => {
      return `counted at ${atMm} mm: ${dense} dense, ${middling} middling, ${light} light grains`;
    }),
  ];
}

function balancePart(accounts: RunAccounts): Block[] {
  const balance = tellBalance(accounts);
  const { verdict, products, water, middling, checks, notes } = balance;
  return [
    ...list(verdict),
    ...table(FIGURE_HEADS, figureRows(balance)),
    ...table(
      ["leaves", "of the feed", "metal", "grade", "recovered", "separation efficiency"],
      products.flatMap(({ stream, share, metals }) =>
        metals.map(({ metal, gradePercent, recovery, separation }) => [
          stream,
          percentOf(share),
          metal,
          gradePercent ? `${measured(gradePercent)} %` : "not known",
          percentOf(recovery),
          separation ? percentOf(separation) : "",
        ]),
      ),
    ),
    text("Every figure ± one standard error."),
    ...(water ? [heading(3, "Water"), ...list(water.verdict)] : []),
    ...(middling ? [heading(3, "Middling"), ...list(sayMiddling(middling))] : []),
    ...(checks.length > 0 ? [heading(3, "Hand checks (19 times of 20 between)"), ...list(checks.map(sayCheck))] : []),
    ...list(notes),
  ];
}

function driftPart(drift: Drift): Block[] {
  const events = drift.events.map(({ since, kind, moved, say, cause }) => [
    moment(drift.photos[since]!.at),
    kind ?? "not clear yet",
    moved
      .map(({ quantity, size, unit }) => `${quantity} ${size > 0 ? "+" : "−"}${short(Math.abs(size))} ${unit}`)
      .join(", "),
    `${say} ${cause.say} (${cause.kind})`,
  ]);
  return [
    ...table(["since", "kind", "moved", "what it means"], events, drift.charts.length > 0 ? "No alarm." : null),
    ...drift.charts.map((chart) => chartBlock(chart, drift)),
    ...list(drift.notes),
  ];
}

function photoPart(
  name: string,
  at: string,
  reading: Reading | null,
  hints: readonly HintTaken[],
  picture: Uint8Array | null,
): Block[] {
  const title = heading(3, [name, moment(at)].filter(Boolean).join(", "));
  if (!reading) return [title, text("Not read yet.")];
  if (!reading.quality.usable) {
    return [title, text(`Could not be read: ${reading.quality.issues.map(({ say }) => say).join(" ")}`)];
  }
  const ruler = rulerOf(reading);
  const edge = (mm: number, error: number | null) =>
    error === null ? `${ruler.show(mm)} (end of the outlet)` : `${ruler.show(mm)} ± ${ruler.show(error)}`;
  const rows = reading.bands.flatMap(({ kind, outlet }) =>
    outlet.map((s) => [kind, edge(s.fromMm, s.fromErrorMm), edge(s.toMm, s.toErrorMm)]),
  );
  const unit = `${ruler.unit} along the outlet, ± one standard error`;
  const taken = hints.map(({ said: { control, target }, taken: how, note }) =>
    [`${[control, target].filter(Boolean).join(" ")}: followed ${how}`, note].filter(Boolean).join(", "),
  );
  return [
    title,
    ...(picture ? [{ kind: "photo", source: picture, alt: `${name} with its bands drawn on it` } as const] : []),
    ...table(["band", `from (${unit})`, "to"], rows, "No band was seen."),
    ...(taken.length > 0 ? [text("Hints"), ...list(taken)] : []),
  ];
}

/** The latest photos with their bands, small; they were drawn by a reading process, so that they may be opened here. */
async function picturesOf(data: Data, caller: Caller, seen: readonly PhotoTold[], signal: AbortSignal) {
  const pictures = new Map<PhotoTold, Uint8Array>();
  for (const one of seen.toReversed()) {
    if (pictures.size === MOST_PICTURES) break;
    const blob = one.photo.reading && (await data.readings.picture(caller, one.photo.reading, "overlay"));
    const bytes = blob && (await data.blobs.read(blob));
    if (!bytes) continue;
    signal.throwIfAborted();
    const small = sharp(bytes, { failOn: "warning" }).resize(PICTURE_PX, PICTURE_PX, { fit: "inside" });
    pictures.set(one, new Uint8Array(await small.jpeg({ quality: 80 }).toBuffer()));
  }
  return pictures;
}

function accountsOf(record: RunRecord): RunAccounts | string {
  if (record.samples.length === 0) return "No sample was taken.";
  try {
    return accountFor(record);
  } catch (error) {
    if (error instanceof AccountsError) return error.message;
    throw error;
  }
}

const careList = () => [heading(2, "Take care"), ...list(SAFETY_LINES)];
const sayNote = ({ text: said, at, who }: RunRecord["notes"][number]) =>
  [[moment(at ?? ""), who].filter(Boolean).join(" "), said].filter(Boolean).join(": ");
/** washWaterLitresPerMinute → wash water litres per minute */
const words = (name: string) => name.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
