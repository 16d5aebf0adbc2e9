/** The only door to Papa Parse: rows of text in, text of rows out. */
import Papa from "papaparse";

export interface CsvRow {
  /** Of the row's first character; the file begins with line 1. */
  readonly line: number;
  /** Without blanks around them. */
  readonly cells: readonly string[];
  /** A quotation mark that is never closed, or text after one. */
  readonly broken: boolean;
}

/**
 * Rows of a CSV text, separated by comma, semicolon or tab; empty rows and rows that begin with # are left out.
 *
 * Source of the format: RFC 4180.
 */
export function readCsv(text: string): { readonly rows: readonly CsvRow[]; readonly delimiter: string } {
  const whole = text.replace(/^\uFEFF/, "");
  const rows: CsvRow[] = [];
  let delimiter = ",";
  let [read, line] = [0, 1];
  Papa.parse<string[]>(whole, {
    delimitersToGuess: [",", ";", "\t"],
    step: ({ data, meta, errors }) => {
      const at = line;
      line += whole.slice(read, meta.cursor).split("\n").length - 1;
      read = meta.cursor;
      delimiter = meta.delimiter;
      const cells = data.map((cell) => cell.trim());
      if (cells.every((cell) => cell === "") || cells[0]!.startsWith("#")) return;
      rows.push({ line: at, cells, broken: errors.some(({ type }) => type === "Quotes") });
    },
  });
  return { rows, delimiter };
}

/** Text that a spreadsheet would take for a formula gets an apostrophe before it; `plainCell` takes it off. */
export function writeCsv(columns: readonly string[], rows: readonly (readonly (string | number)[])[]): string {
  const data = rows.map((row) => [...row]);
  return `${Papa.unparse({ fields: [...columns], data }, { escapeFormulae: true, newline: "\n" })}\n`;
}

export const plainCell = (cell: string): string => cell.replace(/^'(?=[=+\-@\t\r])/, "");
