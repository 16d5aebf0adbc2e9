/** The only door to the libraries that read and write spreadsheet files (Office Open XML, ECMA-376). */
import { unzipSync } from "fflate";
import readWorkbook from "read-excel-file/universal";
import writeWorkbook from "write-excel-file/universal";
import { RequestError } from "./problems.ts";

export const WORKBOOK_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
/** A run sheet of the most rows unpacks to a tenth of this. */
const MOST_UNPACKED = 64e6;
const MOST_PARTS = 1000;

export interface WorkbookRow {
  /** As the spreadsheet program numbers it, from 1. */
  readonly line: number;
  readonly cells: readonly string[];
}

/**
 * Rows of a workbook's sheet `wanted`, or of its first sheet; empty rows and rows that begin with # are left out. What a
 * formula came to is taken, never the formula.
 *
 * @throws {RequestError} `workbook-broken` for what is no workbook, or unpacks to more than any.
 */
export async function readRows(bytes: Uint8Array, wanted: string): Promise<WorkbookRow[]> {
  checkUnpacked(bytes);
  const sheets = await readWorkbook(new Blob([new Uint8Array(bytes)])).catch(() => {
    throw broken();
  });
  const sheet = sheets.find(({ sheet }) => sheet.toLowerCase() === wanted) ?? sheets[0];
  return (sheet?.data ?? [])
    .map((row, i) => ({ line: i + 1, cells: row.map(cellText) }))
    .filter(({ cells }) => cells.some((cell) => cell !== "") && !cells[0]!.startsWith("#"));
}

/** One sheet as a workbook; text stays text and is never taken for a formula. */
export async function writeRows(
  name: string,
  heading: readonly string[],
  rows: readonly (readonly (string | number)[])[],
): Promise<Uint8Array> {
  const cell = (value: string | number) =>
    value === ""
      ? null
      : typeof value === "number"
        ? { value, type: Number as NumberConstructor }
        : { value, type: String as StringConstructor };
  const head = heading.map((value) => ({ value, type: String as StringConstructor, fontWeight: "bold" as const }));
  const made = writeWorkbook([head, ...rows.map((row) => row.map(cell))], { sheet: name, stickyRowsCount: 1 });
  return new Uint8Array(await (await made.toBlob()).arrayBuffer());
}

/** What the parts say they unpack to; the library gives each no more room than that. */
function checkUnpacked(bytes: Uint8Array): void {
  let [unpacked, parts] = [0, 0];
  try {
    unzipSync(bytes, {
      filter: ({ originalSize }) => {
        unpacked += originalSize;
        parts++;
        return false;
      },
    });
  } catch {
    throw broken();
  }
  if (unpacked > MOST_UNPACKED || parts > MOST_PARTS) {
    throw new RequestError(
      "workbook-broken",
      "This workbook unpacks to more than any run sheet. Copy the run's rows into a new one, and send that.",
    );
  }
}

const broken = () =>
  new RequestError("workbook-broken", "This is no workbook that can be read. Save it anew as .xlsx, or as CSV.");

function cellText(cell: unknown): string {
  if (cell === null || cell === undefined) return "";
  if (cell instanceof Date) return timeText(cell);
  return String(cell).trim();
}

/** Workbooks count days from the end of 1899: a time of day alone lies there. */
function timeText(time: Date): string {
  const [day, clock] = time.toISOString().split("T") as [string, string];
  const minutes = clock.startsWith("00:00:00") && time.getUTCFullYear() > 1900 ? "" : clock.slice(0, 5);
  return time.getUTCFullYear() < 1901 ? clock.slice(0, 5) : [day, minutes].filter(Boolean).join("T");
}
