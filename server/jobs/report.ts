import type { HintTaken, Reading, Run, SettingsEntry } from "../../vision/contract/index.ts";
import type { Caller } from "../storage/caller.ts";
import type { Data } from "../storage/data.ts";
import { wholeList } from "../storage/whole-list.ts";
import { rulerOf, SAFETY_LINES, sayHint } from "../words.ts";

/**
 * A run told on one page to print or send: what the controls stood at, where the bands left the deck in each photo, which
 * hints were followed. A page without scripts or pictures, in the order of time.
 *
 * @throws {Error} the signal's reason, when it aborts.
 */
export async function tellRun(data: Data, caller: Caller, id: string, signal: AbortSignal): Promise<string> {
  const run = await data.runs.one(caller, id);
  const settings: SettingsEntry[] = [];
  for await (const entry of wholeList((ask) => data.runs.settings(caller, id, ask))) settings.unshift(entry);
  const photos: string[] = [];
  for await (const photo of wholeList((ask) => data.photos.list(caller, ask, id))) {
    signal.throwIfAborted();
    const reading = photo.reading && (await data.readings.reading(caller, photo.reading));
    const hints: HintTaken[] = [];
    if (photo.reading) {
      for await (const hint of wholeList((ask) => data.said.hintsTaken(caller, photo.reading!, ask)))
        hints.unshift(hint);
    }
    photos.unshift(photoPart(photo.name, photo.takenAt ?? photo.sentAt, reading || null, hints));
  }
  return page(run, settings, photos);
}

/** One reading told on one page, with its picture, for people outside. */
export function tellCase(reading: Reading, pictureUrl: string): string {
  const hints = reading.advice.map((hint) => `<li>${safe(sayHint(hint, rulerOf(reading)).join(" "))}</li>`);
  return [
    `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>${safe(reading.photo.name)}</title></head><body>`,
    photoPart(reading.photo.name, reading.photo.takenAt ?? "", reading, []),
    reading.quality.usable ? `<p><img src="${safe(pictureUrl)}" alt="The photo with its bands drawn on it"></p>` : "",
    hints.length > 0 ? `<h2>Hints</h2><ul>${hints.join("")}</ul>` : "",
    careList(),
    "</body></html>",
  ].join("\n");
}

function page(run: Run, settings: readonly SettingsEntry[], photos: readonly string[]): string {
  const span = `${moment(run.startedAt)} to ${run.endedAt ? moment(run.endedAt) : "now"}`;
  const rows = settings.map(({ at, settings: set }) => {
    const said = Object.entries(set).filter(([name]) => name !== "schemaVersion");
    return row([moment(at), said.map(([name, value]) => `${words(name)} ${value}`).join("; ")]);
  });
  return [
    `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>${safe(run.name)}</title></head><body>`,
    `<h1>${safe(run.name)}</h1><p>${safe(span)}${run.material ? `, ${safe(run.material)}` : ""}</p>`,
    "<h2>What the controls stood at</h2>",
    rows.length > 0 ? table(["from", "settings"], rows) : "<p>Nothing was written down.</p>",
    `<h2>Photos (${photos.length})</h2>`,
    ...photos,
    careList(),
    "</body></html>",
  ].join("\n");
}

function photoPart(name: string, at: string, reading: Reading | null, hints: readonly HintTaken[]): string {
  const title = `<h3>${safe([name, moment(at)].filter(Boolean).join(", "))}</h3>`;
  if (!reading) return `${title}<p>Not read yet.</p>`;
  if (!reading.quality.usable) {
    return `${title}<p>Could not be read: ${safe(reading.quality.issues.map(({ say }) => say).join(" "))}</p>`;
  }
  const ruler = rulerOf(reading);
  const edge = (mm: number, error: number | null) =>
    error === null ? `${ruler.show(mm)} (end of the outlet)` : `${ruler.show(mm)} ± ${ruler.show(error)}`;
  const rows = reading.bands.flatMap(({ kind, outlet }) =>
    outlet.map((s) => row([kind, edge(s.fromMm, s.fromErrorMm), edge(s.toMm, s.toErrorMm)])),
  );
  const unit = `${ruler.unit} along the outlet, ± one standard error`;
  const bands = rows.length > 0 ? table(["band", `from (${unit})`, "to"], rows) : "<p>No band was seen.</p>";
  const taken = hints.map(({ said, taken: how, note }) => {
    return `<li>${safe(said.control)}${said.target ? ` ${safe(said.target)}` : ""}: followed ${safe(how)}${note ? `, ${safe(note)}` : ""}</li>`;
  });
  return `${title}${bands}${taken.length > 0 ? `<p>Hints</p><ul>${taken.join("")}</ul>` : ""}`;
}

const careList = () => `<h2>Take care</h2><ul>${SAFETY_LINES.map((line) => `<li>${safe(line)}</li>`).join("")}</ul>`;
const table = (heads: readonly string[], rows: readonly string[]) =>
  `<table><tr>${heads.map((head) => `<th>${safe(head)}</th>`).join("")}</tr>${rows.join("")}</table>`;
const row = (cells: readonly string[]) => `<tr>${cells.map((cell) => `<td>${safe(cell)}</td>`).join("")}</tr>`;
const moment = (iso: string) => iso.replace("T", " ").replace(/:\d\d(\.\d+)?Z?$/, "");
/** washWaterLitresPerMinute → wash water litres per minute */
const words = (name: string) => name.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
/** What people typed, as text of a page and never as its code. */
const safe = (text: string) =>
  text.replace(/[&<>"']/g, (c) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;" })[c] ?? c);
