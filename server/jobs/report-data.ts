import { strToU8, zipSync } from "fflate";
import { writeCsv } from "../../vision/accounts/index.ts";
import type { Drift, HintTaken, Reading, StoredPhoto } from "../../vision/contract/index.ts";

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
export function readingsCsv(seen: readonly PhotoTold[]): string {
  const lines = seen.flatMap(({ photo, at, reading }) => {
    const first = [photo.name, at, photo.reading ?? "", reading ? String(reading.quality.usable) : ""];
    const scale = reading?.scale ?? "";
    const spans = (reading?.bands ?? []).flatMap(({ kind, outlet }) =>
      outlet.map((s) => [kind, s.fromMm, s.fromErrorMm ?? "", s.toMm, s.toErrorMm ?? ""]),
    );
    return (spans.length > 0 ? spans : [["", "", "", "", ""]]).map((band) => [...first, scale, ...band]);
  });
  const heads = [
    "photo",
    "at",
    "reading",
    "usable",
    "scale",
    "band",
    "from mm",
    "from error mm",
    "to mm",
    "to error mm",
  ];
  return writeCsv(heads, lines);
}

/** What the charts show: a row a photo. */
export const chartsCsv = ({ photos, charts }: Drift): string =>
  writeCsv(
    [
      "at",
      "reading",
      ...charts.flatMap(({ quantity, unit }) => [`${quantity}, ${unit}`, `${quantity} error, ${unit}`]),
    ],
    photos.map(({ at, reading }, i) => [
      at,
      reading,
      ...charts.flatMap(({ values, errors }) => [values[i] ?? "", errors[i] ?? ""]),
    ]),
  );
