import { sha256 } from "@noble/hashes/sha2.js";
import { bytesToHex, utf8ToBytes } from "@noble/hashes/utils.js";
import { strFromU8, unzipSync, type ZipOptions, zipSync } from "fflate";
import { z } from "zod";
import { LIMITS } from "./photo-limits.ts";

/** A case file: all that one reading rests on, in a ZIP with a list that says what each file is. Runs in the paper worker. */

/** What a file of a case may be. */
export const PARTS = ["photo", "picture", "classes", "reading", "deck", "corners", "notes"] as const;
export type Part = (typeof PARTS)[number];
export interface CasePart {
  readonly is: Part;
  readonly name: string;
  /** For people, in the language of whoever wrote the case. */
  readonly what: string;
  readonly bytes: Uint8Array<ArrayBuffer>;
}
/** A part that came out of a case; its bytes are what the list says. */
export interface OpenedPart extends CasePart {
  readonly sha256: string;
  /** What a part of JSON says; null where it is none. */
  readonly data: unknown;
}
/** Why a ZIP cannot be opened as a case; the page has words for each. */
export class CaseError extends Error {
  readonly code: CaseFault;
  constructor(code: CaseFault) {
    super(code);
    this.code = code;
  }
}
export type CaseFault = "case-broken" | "case-foreign" | "case-newer" | "case-large";

const LIST_NAME = "list.json";
const KIND = "deckbands case";
const VERSION = 1;
const List = z.object({
  kind: z.literal(KIND),
  schemaVersion: z.number().int().positive(),
  files: z
    .array(z.object({ name: z.string(), is: z.enum(PARTS), what: z.string(), sha256: z.string() }))
    .max(PARTS.length),
});
/** A list tells a few names; anything longer is none. */
const MOST_LIST_BYTES = 100_000;
/** JPEG and PNG are packed already. */
const PACKED = /\.json$/;

export function packCase(parts: readonly CasePart[]): Uint8Array<ArrayBuffer> {
  const files = parts.map(({ bytes, ...told }) => ({ ...told, sha256: bytesToHex(sha256(bytes)) }));
  const list = utf8ToBytes(JSON.stringify({ kind: KIND, schemaVersion: VERSION, files }, null, 2));
  const named = [{ name: LIST_NAME, bytes: list }, ...parts].map(
    ({ name, bytes }): [string, [Uint8Array, ZipOptions]] => [name, [bytes, { level: PACKED.test(name) ? 6 : 0 }]],
  );
  return zipSync(Object.fromEntries(named));
}

/** @throws {CaseError} for what is no ZIP, one of something else, or one whose files are not what its list says. */
export function unpackCase(zip: Uint8Array): ReadonlyMap<Part, OpenedPart> {
  const { [LIST_NAME]: listBytes } = unzipped(zip, (name) => name === LIST_NAME, MOST_LIST_BYTES);
  if (!listBytes) throw new CaseError("case-foreign");
  const list = List.safeParse(jsonOf(listBytes));
  if (!list.success) throw new CaseError("case-foreign");
  if (list.data.schemaVersion > VERSION) throw new CaseError("case-newer");
  const { files } = list.data;
  const found = unzipped(zip, (name) => files.some((file) => file.name === name), LIMITS.bytes);
  return new Map(
    files.map(({ name, is, what, sha256: told }): [Part, OpenedPart] => {
      const bytes = found[name];
      if (!bytes || bytesToHex(sha256(bytes)) !== told) throw new CaseError("case-broken");
      return [is, { is, name, what, bytes: Uint8Array.from(bytes), sha256: told, data: jsonOf(bytes) }];
    }),
  );
}

/** @param mostBytes  No file may say that it unpacks to more. */
function unzipped(zip: Uint8Array, wanted: (name: string) => boolean, mostBytes: number) {
  try {
    return unzipSync(zip, {
      filter: ({ name, originalSize }) => {
        if (!wanted(name)) return false;
        if (originalSize > mostBytes) throw new CaseError("case-large");
        return true;
      },
    });
  } catch (error) {
    throw error instanceof CaseError ? error : new CaseError("case-broken");
  }
}

function jsonOf(bytes: Uint8Array): unknown {
  try {
    return JSON.parse(strFromU8(bytes));
  } catch {
    return null;
  }
}
