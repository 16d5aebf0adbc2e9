import { SetupRecord } from "../vision/contract/index.ts";

/** What this device keeps of setting up: the record of each deck, what was typed last, and the choice of units. */

const RECORD = "deckbands set-up of ";
const ENTRIES = "deckbands set-up entries";

/** The record of this deck, as far as it was kept here; a new one where none was. */
export function keptRecord(deck: string): SetupRecord {
  const checked = SetupRecord.safeParse(parsed(get(RECORD + deck)));
  return checked.success ? checked.data : { schemaVersion: 1, deck, entries: [] };
}
/** @returns false where this browser keeps nothing: the record is then only on the screen. */
export const keepRecord = (record: SetupRecord): boolean => put(RECORD + record.deck, JSON.stringify(record));

/** What was typed into the fields, by their names, as it was typed. */
export function keptEntries(): Record<string, string> {
  const found = parsed(get(ENTRIES));
  if (typeof found !== "object" || found === null) return {};
  return Object.fromEntries(Object.entries(found).filter(([, value]) => typeof value === "string"));
}
export const keepEntry = (name: string, value: string): boolean =>
  put(ENTRIES, JSON.stringify({ ...keptEntries(), [name]: value }));

function get(name: string): string | null {
  try {
    return localStorage.getItem(name);
  } catch {
    return null; // a browser that keeps nothing
  }
}
function put(name: string, value: string): boolean {
  try {
    localStorage.setItem(name, value);
    return true;
  } catch {
    return false;
  }
}
function parsed(text: string | null): unknown {
  try {
    return JSON.parse(text ?? "null");
  } catch {
    return null;
  }
}
