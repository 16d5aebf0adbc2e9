import { strToU8, zipSync } from "fflate";
import { BALANCE_COLUMNS, type RunAccounts, writeBalance, writeCsv } from "../../vision/accounts/index.ts";
import type { Drift, HintTaken, Reading, StoredPhoto } from "../../vision/contract/index.ts";
import { type Speech, watchedName } from "../../vision/telling/index.ts";

/** The data that lies beside a report. */

/** One photo of a report. */
export interface PhotoTold {
  readonly photo: StoredPhoto;
  readonly at: string;
  readonly reading: Reading | null;
  readonly hints: readonly HintTaken[];
}

/** CSV files as one ZIP. */
export const packCsv = (files: Readonly<Record<string, string>>): Uint8Array =>
  zipSync(Object.fromEntries(Object.entries(files).map(([name, text]) => [name, strToU8(text)])));

/** Where the bands left in each photo: a row a stretch of a band. Where the scale is assumed, mm are shares of a guessed outlet. */
export function readingsCsv({ say }: Speech, seen: readonly PhotoTold[]): string {
  const lines = seen.flatMap(({ photo, at, reading }) => {
    const first = [photo.name, at, photo.reading ?? "", reading ? String(reading.quality.usable) : ""];
    const scale = reading?.scale ?? "";
    const spans = (reading?.bands ?? []).flatMap(({ kind, outlet }) =>
      outlet.map((s) => [kind, s.fromMm, s.fromErrorMm ?? "", s.toMm, s.toErrorMm ?? ""]),
    );
    return (spans.length > 0 ? spans : [["", "", "", "", ""]]).map((band) => [...first, scale, ...band]);
  });
  const edge = (which: "from" | "to") => [`${say(`rep.${which}`)}, mm`, `${say(`rep.${which}`)} ±, mm`];
  const heads = [
    say("rep.photo"),
    say("rep.when"),
    say("rep.reading"),
    say("rep.usable"),
    say("rep.scale"),
    say("rep.band"),
    ...edge("from"),
    ...edge("to"),
  ];
  return writeCsv(heads, lines);
}

/** What the charts show: a row a photo. */
export const chartsCsv = (speech: Speech, { photos, charts }: Drift): string =>
  writeCsv(
    [
      speech.say("rep.when"),
      speech.say("rep.reading"),
      ...charts.flatMap(({ quantity, unit }) => {
        const name = watchedName(speech, quantity);
        return [`${name}, ${unit}`, `${name} ±, ${unit}`];
      }),
    ],
    photos.map(({ at, reading }, i) => [
      at,
      reading,
      ...charts.flatMap(({ values, errors }) => [values[i] ?? "", errors[i] ?? ""]),
    ]),
  );

/** A balance, with its columns named in the language spoken. */
export const balanceCsv = ({ say }: Speech, accounts: RunAccounts): string =>
  writeBalance(
    accounts,
    BALANCE_COLUMNS.map((column) => say(`rep.column.${column}`)),
  );
