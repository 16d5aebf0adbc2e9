import {
  CONTROLS,
  type Figure,
  PENALTIES,
  PRICES,
  type PriceName,
  RunRecord,
  type RunSample,
} from "../contract/index.ts";
import { VisionError } from "../errors.ts";
import { inEnglish, said, type Text } from "../said.ts";
import { type CsvRow, plainCell, readCsv, writeCsv } from "./csv.ts";
import { AccountsError } from "./fault.ts";
import { penaltiesOf } from "./run-log.ts";
import { quantityOf, RowReader, SHEET_COLUMNS, type SheetRow } from "./sheet-rows.ts";
import { keptUnit, type Quantity } from "./units.ts";

/** A row that cannot be used, by its line in the file; the heading is line 1. */
export interface SheetFault {
  readonly line: number;
  readonly say: string;
  /** The same by name; null where it has none. */
  readonly said: Text | null;
}
const faultAt = (line: number, told: Text): SheetFault => ({ line, say: inEnglish(told), said: told });

export interface SheetRead {
  /** Null while a row is wrong: leaving it out would balance another run. */
  readonly run: RunRecord | null;
  readonly faults: readonly SheetFault[];
}

const NEEDED = ["kind", "item", "value"] as const;
/** Larger sheets are no run's: characters and rows. */
const MOST_CHARACTERS = 4_000_000;
const MOST_ROWS = 20_000;

/**
 * A run sheet as CSV → the run.
 *
 * Separated by comma, semicolon or tab; decimal commas where the separator is none. Lines that begin with # are left out.
 *
 * @returns every wrong row with its line and what to do; never half a run.
 * @throws {AccountsError} `out-of-range` when it is too large to be a run sheet.
 */
export function readRunSheet(text: string): SheetRead {
  if (text.length > MOST_CHARACTERS) {
    throw new AccountsError("out-of-range", said("said.sheet.tooLarge"));
  }
  const { rows, delimiter } = readCsv(text);
  return readRunRows(rows, delimiter);
}

/**
 * The rows of a run sheet, from a CSV text or a spreadsheet → the run, as `readRunSheet`.
 *
 * @param delimiter  What parts cells, where it is not to be taken for a decimal comma.
 */
export function readRunRows(all: readonly CsvRow[], delimiter: string): SheetRead {
  const faults: SheetFault[] = [];
  const reader = new RowReader(delimiter);
  for (const { line, row } of rowsOf(all, delimiter, faults)) {
    try {
      reader.take(row);
    } catch (error) {
      if (!(error instanceof VisionError)) throw error;
      faults.push({ line, say: error.message, said: error.said });
    }
  }
  if (faults.length > 0) return { run: null, faults: faults.toSorted((a, b) => a.line - b.line) };
  const checked = RunRecord.safeParse(reader.run());
  if (checked.success) return { run: checked.data, faults };
  const say = checked.error.issues.map(({ path, message }) => `${path.join(" ")}: ${message}`).join("; ");
  return { run: null, faults: [{ line: 1, say: `This is no whole run yet. ${say}`, said: null }] };
}

/**
 * The run as a sheet that `readRunSheet` reads to the same run, every figure in its kept unit.
 */
export const writeRunSheet = (run: RunRecord): string => writeCsv(SHEET_COLUMNS, runRows(run));

/** The rows of a run sheet below its heading, cells in the order of `SHEET_COLUMNS`; figures in their kept units. */
export function runRows(run: RunRecord): (string | number)[][] {
  const rows = [...headRows(run), ...run.samples.flatMap(sampleRows), ...restRows(run)];
  return rows.map((row) => SHEET_COLUMNS.map((column) => row[column] ?? ""));
}
type Written = Partial<Record<keyof SheetRow, string | number>>;

function headRows(run: RunRecord): Written[] {
  const { name, site, material, metal, mineral, startedAt, endedAt, hours, streams } = run;
  const said = { name, site, material, metal, mineral, start: startedAt, end: endedAt };
  return [
    ...Object.entries(said).flatMap(([item, value]) => (value ? [{ kind: "run", item, value }] : [])),
    ...(hours ? [{ kind: "run", item: "hours", ...written("hours", hours) }] : []),
    ...streams.flatMap(({ name: stream, from, to, product }) => [
      { kind: "stream", stream, item: "from", value: from ?? "" },
      { kind: "stream", stream, item: "to", value: to ?? "" },
      ...(product ? [{ kind: "stream", stream, item: "product", value: product }] : []),
    ]),
  ];
}

const sampleRows = ({ kind, stream, sample, figures, at, who, note }: RunSample): Written[] =>
  Object.entries(figures).map(([item, figure]) => ({
    kind,
    stream,
    sample,
    item,
    ...written(quantityOf(kind, item.toLowerCase()), figure),
    time: at ?? "",
    who,
    note,
  }));

function restRows(run: RunRecord): Written[] {
  const { settings, changes, prices, photos, notes } = run;
  const set = (kind: string, entries: RunRecord["settings"]) =>
    entries.map(({ control, target, figure, at, who, note }) => ({
      kind,
      sample: target,
      item: control,
      ...written(CONTROLS[control], figure),
      time: at ?? "",
      who,
      note,
    }));
  const priced = Object.entries(prices) as [PriceName, Figure][];
  return [
    ...set("setting", settings),
    ...set("change", changes),
    ...priced.map(([item, figure]) => ({ kind: "price", item, ...written(PRICES[item], figure) })),
    ...penaltiesOf(run).map(({ assay, of, figure }) => {
      return { kind: "price", sample: assay, item: of, ...written(PENALTIES[of], figure) };
    }),
    ...photos.map(({ name, at, note }) => ({ kind: "photo", value: name, time: at ?? "", note })),
    ...notes.map(({ text, at, who }) => ({ kind: "note", value: text, time: at ?? "", who })),
  ];
}

const written = (quantity: Quantity, { value, error }: Figure) => ({
  value,
  error: error ?? "",
  unit: keptUnit(quantity),
});

function rowsOf(all: readonly CsvRow[], delimiter: string, faults: SheetFault[]) {
  const [first, ...rest] = all;
  if (!first) {
    faults.push(faultAt(1, said("said.sheet.empty", { columns: SHEET_COLUMNS.join(", ") })));
    return [];
  }
  if (rest.length > MOST_ROWS) {
    throw new AccountsError("out-of-range", said("said.sheet.tooMany", { rows: MOST_ROWS }));
  }
  const header = first.cells.map((cell) => cell.toLowerCase());
  const told = headingFaults(header);
  if (told.length > 0) {
    faults.push(...told.map((one) => faultAt(first.line, one)));
    return [];
  }
  return rest.flatMap(({ line, cells, broken }) => {
    const beyond = cells.slice(header.length).some((cell) => cell !== "");
    if (broken) faults.push(faultAt(line, said("said.sheet.quote")));
    else if (beyond) {
      const values = { has: cells.length, heading: header.length, mark: delimiter };
      faults.push(faultAt(line, said("said.sheet.cells", values)));
    } else return [{ line, row: rowFrom(header, cells) }];
    return [];
  });
}

function headingFaults(header: readonly string[]): Text[] {
  const columns: readonly string[] = SHEET_COLUMNS;
  const known = columns.join(", ");
  const missing = NEEDED.filter((name) => !header.includes(name));
  const strange = header.filter((name) => name !== "" && !columns.includes(name));
  const twice = header.filter((name, i) => name !== "" && header.indexOf(name) !== i);
  return [
    ...(missing.length > 0 ? [said("said.sheet.lacks", { names: missing.join(", "), known })] : []),
    ...strange.map((name) => said("said.sheet.noColumn", { name, known })),
    ...twice.map((name) => said("said.sheet.columnTwice", { name })),
  ];
}

const rowFrom = (header: readonly string[], cells: readonly string[]): SheetRow =>
  Object.fromEntries(
    SHEET_COLUMNS.map((name) => [name, plainCell(cells[header.indexOf(name)] ?? "")]),
  ) as unknown as SheetRow;
