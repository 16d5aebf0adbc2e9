import { readRunRows, readRunSheet, type SheetRead } from "../vision/accounts/index.ts";
import { readRows } from "./workbook.ts";

/** A run sheet as CSV. */
export const readSheetText = (bytes: Uint8Array): SheetRead => readRunSheet(textOf(bytes));

/** A run sheet as a workbook: its sheet run, or its first. @throws {RequestError} `workbook-broken`. */
export async function readSheetWorkbook(bytes: Uint8Array): Promise<SheetRead> {
  const rows = await readRows(bytes, "run");
  // cells are cells: a comma in one can only be a decimal comma
  return readRunRows(
    rows.map((row) => ({ ...row, broken: false })),
    "\t",
  );
}

/** Whether a file is packed as workbooks are (ZIP, APPNOTE.TXT section 4.3.7). */
export const isWorkbook = (bytes: Uint8Array) => bytes[0] === 0x50 && bytes[1] === 0x4b && bytes[2] === 3;

/** Spreadsheet programs save UTF-8 or, on older systems, Windows-1252 (WHATWG Encoding Standard). */
function textOf(bytes: Uint8Array): string {
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder("windows-1252").decode(bytes);
  }
}
