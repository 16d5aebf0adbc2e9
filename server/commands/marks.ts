import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { DeckFile } from "../../vision/contract/index.ts";
import { markerSheet, NotesError } from "../../vision/index.ts";
import { readJson } from "../json-file.ts";
import { UsageError } from "../usage.ts";

export interface MarksOptions {
  readonly deck?: string;
  readonly out?: string;
  readonly json?: boolean;
}

/** Printed when no deck file says otherwise: one for each corner. */
const FOUR = [0, 1, 2, 3].map((id) => ({ id, sizeMm: 70 }));

/**
 * The sheet of marks to print: those the deck file lists, else four. An HTML page in real millimetres, on standard output or
 * as `marks.html` in the folder named.
 */
export async function marks({ deck, out }: MarksOptions): Promise<number> {
  const listed = deck === undefined ? undefined : (await readJson(deck, DeckFile, "deck file")).marks?.items;
  if (deck !== undefined && !listed?.length) {
    throw new UsageError(`The deck file ${deck} lists no marks. Leave out --deck to print four to begin with.`);
  }
  let page: string;
  try {
    page = markerSheet(listed ?? FOUR);
  } catch (error) {
    throw error instanceof NotesError ? new UsageError(error.message) : error;
  }
  if (out === undefined) {
    process.stdout.write(page);
    return 0;
  }
  const path = join(out, "marks.html");
  try {
    await mkdir(out, { recursive: true });
    await writeFile(path, page);
  } catch (error) {
    throw new UsageError(
      `${path} cannot be written (${(error as NodeJS.ErrnoException).code}). Name another folder with --out.`,
    );
  }
  process.stdout.write(`${path}\n`);
  return 0;
}
