import type { NewReadingInput, Reading } from "../vision/contract/index.ts";
import { type NumberTable, numberTables } from "./number-tables.ts";
import { hintHeadline, hintWords, issueWords } from "./reading-words.ts";
import { knownSettings, withUnit } from "./settings-words.ts";
import { currentLanguage, safetyLines, say, sureness, when } from "./words.ts";

/** One reading as a page to print: what stands on it, in the language spoken. How it is laid out is for `write-pdf.ts`. */

export interface SheetPicture {
  readonly caption: string;
  /** JPEG. */
  readonly image: Blob;
}
/** Some lines under a heading. */
export interface SheetLines {
  readonly title: string;
  readonly lines: readonly string[];
}
export interface Sheet {
  /** BCP 47. */
  readonly language: string;
  readonly title: string;
  readonly about: string;
  readonly pictures: readonly SheetPicture[];
  readonly next: SheetLines & { readonly headline: string; readonly caution: readonly string[] };
  readonly tables: readonly NumberTable[];
  readonly notes: readonly SheetLines[];
  readonly safety: SheetLines;
}

/** So many rows and lines fit the page at the most; what is left out is told. */
const MOST = { rows: 5, reasons: 4, hints: 4, notes: 3 };

export function reportSheet(reading: Reading, request: NewReadingInput, pictures: readonly SheetPicture[]): Sheet {
  const { quality, advice, photo, madeBy } = reading;
  const [first, ...later] = advice;
  const taken = photo.takenAt ? new Date(photo.takenAt) : null;
  const about = [
    request.deck?.name ?? say(reading.scale === "assumed" ? "report.deckUnknown" : "deck.title"),
    photo.name,
    taken && !Number.isNaN(taken.getTime()) && when(taken),
    say("report.madeBy", { version: madeBy.version }),
  ];
  const { places, noBand, tables, unseen, cover } = numberTables(reading);
  const issues = quality.issues.map((issue) => issueWords(issue).words);
  if (reading.deckState === "stopped") issues.unshift(say("mind.stopped"));
  const told = first && hintWords(first);
  const nothing = quality.usable ? say("next.nothing") : say("next.anotherPhoto");
  const notes: SheetLines[] = [
    {
      title: say("next.later"),
      lines: few(
        later.map((hint) => hintHeadline(hint, reading)),
        MOST.hints,
      ),
    },
    {
      title: say("report.settings"),
      lines: knownSettings(request.settings ?? {}).map(({ name, value, unit }) => `${name}: ${withUnit(value, unit)}`),
    },
    { title: say("mind.title"), lines: few(quality.usable ? issues : [], MOST.notes) },
    {
      title: say("numbers.title"),
      lines: quality.usable ? [places, noBand, unseen].filter((line) => line !== null) : [],
    },
  ];
  return {
    language: currentLanguage(),
    title: say("report.title"),
    about: about.filter(Boolean).join(" · "),
    pictures,
    next: {
      title: say("next.title"),
      headline: first ? hintHeadline(first, reading) : nothing,
      lines: told
        ? [
            ...few(
              told.because.map(({ words }) => words),
              MOST.reasons,
            ),
            `${say("next.expect")}: ${told.expect.words}`,
            say("next.lookAgain", { minutes: first.lookAgainMinutes, sure: sureness(first.confidence) }),
          ]
        : few(quality.usable ? [] : issues, MOST.reasons),
      caution: told?.caution
        ? [told.caution.foreign ? say("safety.drive") : null, told.caution.words].filter((line) => line !== null)
        : [],
    },
    tables: quality.usable ? [...tables.map(shortened), ...(cover ? [cover] : [])] : [],
    notes: notes.filter(({ lines }) => lines.length > 0),
    safety: { title: say("safety.title"), lines: safetyLines() },
  };
}

const few = (lines: readonly string[], most: number): readonly string[] =>
  lines.length <= most ? lines : [...lines.slice(0, most), say("report.more", { count: lines.length - most })];

const shortened = ({ rows, ...table }: NumberTable): NumberTable => ({
  ...table,
  rows:
    rows.length <= MOST.rows
      ? rows
      : [
          ...rows.slice(0, MOST.rows),
          [say("report.more", { count: rows.length - MOST.rows }), ...table.heads.slice(1).map(() => "")],
        ],
});
