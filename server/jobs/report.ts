import sharp from "sharp";
import {
  AccountsError,
  accountFor,
  changesOf,
  type RunAccounts,
  tellBalance,
  writeRunSheet,
} from "../../vision/accounts/index.ts";
import type {
  Drift,
  Hint,
  HintTaken,
  Reading,
  Run,
  RunRecord,
  RunSplitters,
  SettingsEntry,
} from "../../vision/contract/index.ts";
import {
  BASIS_WORDS,
  CONTROL_WORDS,
  causeWords,
  checkWords,
  hintOrder,
  KIND_WORDS,
  meaningOf,
  measured,
  moneyLines,
  movedWords,
  type Speech,
  settingsLines,
  splitterName,
  surenessOf,
  tell,
} from "../../vision/telling/index.ts";
import {
  concentrationHeads,
  concentrationRows,
  figureHeads,
  figureRows,
  middlingLines,
  productHeads,
  productRows,
} from "../balance-words.ts";
import { driftOver } from "../drift.ts";
import { readingPicture } from "../pictures.ts";
import { MOST_FOR_MONEY, splittersOver } from "../run-money.ts";
import { type Language, sayText, speechIn } from "../speech.ts";
import type { Caller } from "../storage/caller.ts";
import type { Data } from "../storage/data.ts";
import { wholeList } from "../storage/whole-list.ts";
import { hintUnits, rulerOf } from "../words.ts";
import { type Block, heading, list, moment, table, text } from "./report-blocks.ts";
import { chartBlock } from "./report-chart.ts";
import { balanceCsv, chartsCsv, type PhotoTold, readingsCsv } from "./report-data.ts";
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
  const speech = speechIn(span.language);
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
  const pictures = await picturesOf(data, caller, seen, speech, signal);
  const photos = seen.map((one) =>
    photoPart(speech, one.photo.name, one.at, one.reading, one.hints, pictures.get(one) ?? null),
  );
  const accounts = accountsOf(speech, record);
  const splitters = splittersOver(record, timed.slice(-MOST_FOR_MONEY));
  return {
    title: run.name,
    blocks: blocksOf(speech, { run, span, record, settings, accounts, splitters, drift, photos }),
    data: {
      "run.csv": writeRunSheet(record),
      "readings.csv": readingsCsv(speech, seen),
      "charts.csv": chartsCsv(speech, drift),
      ...(typeof accounts !== "string" && { "balance.csv": balanceCsv(speech, accounts) }),
    },
  };
}

/** One reading told on one page, with its picture, for people outside. */
export function tellCase(speech: Language, reading: Reading, pictureUrl: string): string {
  const { say, code } = speech;
  const { name, takenAt } = reading.photo;
  const picture: Block = { kind: "photo", source: pictureUrl, alt: say("rep.photoAlt", { name }) };
  const hints = reading.advice.flatMap((hint) => hintPart(speech, hint, reading));
  const blocks = [
    ...photoPart(speech, name, takenAt ?? "", reading, [], null),
    ...(reading.quality.usable ? [picture] : []),
    ...(hints.length > 0 ? [heading(2, say("rep.hints")), ...hints] : []),
    ...carePart(speech),
  ];
  return writePage(name, blocks, code);
}

/** A hint with all that it explains itself by, as the page has it. */
function hintPart(speech: Speech, hint: Hint, reading: Reading): Block[] {
  const { say } = speech;
  const { because, expect, caution, basis, lookAgainMinutes, confidence, said } = hint;
  const order = hintOrder(speech, hint, hintUnits(speech, rulerOf(reading)));
  const sure = say(`sure.${surenessOf(confidence)}`, { share: `${speech.number(100 * confidence)}\u00a0%` });
  const sources = basis.map(
    ({ source, kind, said: named }) => `${sayText(speech, source, named && [named])} (${say(BASIS_WORDS[kind])})`,
  );
  return [
    heading(3, order),
    ...list(because.map((why, i) => sayText(speech, why, said?.because[i]))),
    ...(caution === null ? [] : [text(sayText(speech, caution, said?.caution))]),
    text(say("next.expect")),
    ...list([sayText(speech, expect, said?.expect)]),
    text(say("next.lookAgain", { minutes: lookAgainMinutes, sure })),
    text(say("rep.restsOn", { sources: sources.join("; ") })),
  ];
}

const carePart = ({ say }: Speech): Block[] => [
  heading(2, say("safety.title")),
  ...list(SAFETY_NAMES.map((name) => say(`safety.${name}`))),
];
const SAFETY_NAMES = ["drive", "electric", "lever", "dust", "mercury", "water", "local"] as const;

interface RunTold {
  readonly run: Run;
  readonly span: ReportSpan;
  readonly record: RunRecord;
  readonly settings: readonly SettingsEntry[];
  readonly accounts: RunAccounts | string;
  readonly splitters: RunSplitters;
  readonly drift: Drift;
  readonly photos: readonly (readonly Block[])[];
}

function blocksOf(speech: Speech, told: RunTold): Block[] {
  const { run, span, record, settings, accounts, splitters, drift, photos } = told;
  const { say } = speech;
  const begun = span.from ?? record.startedAt ?? run.startedAt;
  const ended = span.to ?? run.endedAt ?? record.endedAt;
  const place = [record.site, run.material ?? record.material].filter(Boolean).join(", ");
  const when = say("rep.span", { from: moment(begun), to: ended ? moment(ended) : say("rep.now") });
  return [
    heading(1, run.name),
    text([when, place].filter(Boolean).join(", ")),
    heading(2, say("report.settings")),
    ...settingsPart(speech, record, settings),
    ...(record.notes.length > 0 ? [heading(2, say("run.note")), ...list(record.notes.map(sayNote))] : []),
    heading(2, say("run.balance")),
    ...(typeof accounts === "string" ? [text(accounts)] : balancePart(speech, accounts)),
    ...(splitters.refusal === "no-price" ? [] : [heading(2, say("run.money")), ...moneyPart(speech, splitters)]),
    heading(2, say("run.charts")),
    ...driftPart(speech, drift),
    heading(2, say("rep.photos", { count: photos.length })),
    ...photos.flat(),
    ...carePart(speech),
  ];
}

function settingsPart(speech: Speech, record: RunRecord, settings: readonly SettingsEntry[]): Block[] {
  const { say } = speech;
  const told = settings.map(({ at, settings: set }) => [moment(at), settingsLines(speech, set).join("; "), "", ""]);
  const logged = (["settings", "changes"] as const).flatMap((which) =>
    record[which].map(({ control, target, figure, at, who, note }) => {
      const { words, unit } = CONTROL_WORDS[control];
      const name = [say(words), target && splitterName(speech, target)].filter(Boolean).join(" ");
      const value = measured(speech, figure.value, figure.error, unit);
      const how = which === "settings" ? "run.said.stands" : "run.said.changed";
      return [moment(at ?? ""), say(how, { name, value }), who, note];
    }),
  );
  const rows = [...told, ...logged].toSorted(([a], [b]) => (a! < b! ? -1 : a! > b! ? 1 : 0));
  return table([say("rep.when"), say("rep.what"), say("rep.who"), say("run.note")], rows, say("run.log.none"));
}

function balancePart(speech: Speech, accounts: RunAccounts): Block[] {
  const balance = tellBalance(accounts);
  const { verdict, water, middling, checks, notes } = balance;
  const { say } = speech;
  const told = (lines: typeof notes) => list(lines.map((line) => tell(speech, line)));
  return [
    ...told(verdict),
    ...table(figureHeads(speech), figureRows(speech, balance)),
    ...table(productHeads(speech), productRows(speech, balance)),
    ...table(concentrationHeads(speech), concentrationRows(speech, balance)),
    text(say("run.balance.errors")),
    ...(water ? [heading(3, say("run.balance.water")), ...told(water.verdict)] : []),
    ...(middling ? [heading(3, say("class.middling")), ...list(middlingLines(speech, middling))] : []),
    ...(checks.length > 0
      ? [heading(3, say("run.balance.checks")), ...list(checks.map((check) => checkWords(speech, check)))]
      : []),
    ...told(notes),
  ];
}

function moneyPart(speech: Speech, splitters: RunSplitters): Block[] {
  const told = moneyLines(speech, splitters);
  if (typeof told === "string") return [text(told)];
  const { places, worth, also, rests, cautions, heads, rows, careful } = told;
  return [
    ...list([...places, ...worth]),
    ...(careful ? [text(careful)] : []),
    text(speech.say("run.money.launders")),
    ...table(heads, rows),
    ...list(also),
    text(rests),
    ...list(cautions),
  ];
}

function driftPart(speech: Speech, drift: Drift): Block[] {
  const { say } = speech;
  const events = drift.events.map((event) => [
    moment(drift.photos[event.since]!.at),
    say(KIND_WORDS[event.kind ?? "open"]),
    movedWords(speech, event),
    `${meaningOf(speech, event)} ${causeWords(speech, event)}`,
  ]);
  const heads = [say("rep.since"), say("rep.kind"), say("rep.moved"), say("rep.means")];
  return [
    ...table(heads, events, drift.charts.length > 0 ? say("run.charts.quiet") : null),
    ...drift.charts.map((chart) => chartBlock(speech, chart, drift)),
    ...list(drift.notes.map((note) => tell(speech, note))),
  ];
}

function photoPart(
  speech: Speech,
  name: string,
  at: string,
  reading: Reading | null,
  hints: readonly HintTaken[],
  picture: Uint8Array | null,
): Block[] {
  const { say } = speech;
  const title = heading(3, [name, moment(at)].filter(Boolean).join(", "));
  if (!reading) return [title, text(say("rep.notRead"))];
  if (!reading.quality.usable) {
    return [
      title,
      text(
        say("rep.unusable", { why: reading.quality.issues.map((why) => sayText(speech, why.say, why.said)).join(" ") }),
      ),
    ];
  }
  const ruler = rulerOf(reading);
  const edge = (mm: number, error: number | null) =>
    error === null ? `${ruler.show(mm)} (${say("rep.end")})` : `${ruler.show(mm)}\u00a0±\u00a0${ruler.show(error)}`;
  const rows = reading.bands.flatMap(({ kind, outlet }) =>
    outlet.map((s) => [say(`class.${kind}`), edge(s.fromMm, s.fromErrorMm), edge(s.toMm, s.toErrorMm)]),
  );
  const from = say("rep.fromUnit", { unit: ruler.unit });
  const taken = hints.map(({ said: { control, target }, taken: how, note }) => {
    const other = OTHER_CONTROLS.some((one) => one === control);
    const name = say(other ? `rep.control.${control}` : `run.control.${control}`);
    const what = [name, target && splitterName(speech, target)].filter(Boolean).join(" ");
    return [say(`rep.followed.${how}`, { what }), note].filter(Boolean).join(", ");
  });
  return [
    title,
    ...(picture ? [{ kind: "photo", source: picture, alt: say("rep.photoAlt", { name }) } as const] : []),
    ...table([say("rep.band"), from, say("rep.to")], rows, say("rep.noBand")),
    ...(taken.length > 0 ? [text(say("rep.hints")), ...list(taken)] : []),
  ];
}

/** What hints name that no run log does. */
const OTHER_CONTROLS = ["feedSpread", "washPipe", "level", "inspect", "none"] as const;

/** The latest photos with their bands, small; they were drawn by a reading process, so that they may be opened here. */
async function picturesOf(
  data: Data,
  caller: Caller,
  seen: readonly PhotoTold[],
  speech: Language,
  signal: AbortSignal,
) {
  const pictures = new Map<PhotoTold, Uint8Array>();
  for (const one of seen.toReversed()) {
    if (pictures.size === MOST_PICTURES) break;
    const bytes = one.photo.reading && (await readingPicture(data, caller, one.photo.reading, speech));
    if (!bytes) continue;
    signal.throwIfAborted();
    const small = sharp(bytes, { failOn: "warning" }).resize(PICTURE_PX, PICTURE_PX, { fit: "inside" });
    pictures.set(one, new Uint8Array(await small.jpeg({ quality: 80 }).toBuffer()));
  }
  return pictures;
}

function accountsOf(speech: Speech, record: RunRecord): RunAccounts | string {
  if (record.samples.length === 0) return speech.say("rep.noSample");
  try {
    return accountFor(record);
  } catch (error) {
    if (error instanceof AccountsError) return sayText(speech, error.message, error.said);
    throw error;
  }
}

const sayNote = ({ text: said, at, who }: RunRecord["notes"][number]) =>
  [[moment(at ?? ""), who].filter(Boolean).join(" "), said].filter(Boolean).join(": ");
