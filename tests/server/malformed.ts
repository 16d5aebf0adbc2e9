import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import type { Endpoint } from "../../server/endpoint.ts";
import { quarters } from "./pictures.ts";

/** Requests and photos as nobody should send them; the same for the same seed. */

export type Random = () => number;
export function randomFrom(seed: number): Random {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0; // Numerical Recipes, 2nd ed., section 7.1
    return state / 2 ** 32;
  };
}
const pick = <T>(random: Random, all: readonly T[]): T => all[Math.floor(random() * all.length)]!;

const WORDS: readonly unknown[] = [
  ...[
    "",
    "x",
    "../../etc/passwd",
    "%00",
    "\u0000",
    "💧",
    "0".repeat(64),
    "'; drop table photos; --",
    "{{7*7}}",
    "a".repeat(5000),
  ],
  ...[0, -1, 1e308, Number.NaN, 2 ** 53, true, null, [], {}, [[[[[[[[]]]]]]]]],
  ...["2031-13-45T99:99:99.999Z", "1970-01-01T00:00:00.000Z", "=1+1", "<script>", "f".repeat(64)],
];
const FIELDS = [
  "photo",
  "corners",
  "deck",
  "deckId",
  "name",
  "file",
  "schemaVersion",
  "lengthMm",
  "taps",
  "settings",
  "at",
  "hint",
];
const ODD_FIELDS = ["__proto__", "constructor", "toString", "", "most", "edges", "note", "endedAt", "startedAt"];
const HEADERS: readonly Record<string, string>[] = [
  {},
  { "Content-Type": "text/plain" },
  { "Content-Type": "application/json; charset=utf-99" },
  { "Content-Encoding": "gzip" },
  { "Content-Encoding": "br" },
  { "Idempotency-Key": "\u00ff" },
  { "Idempotency-Key": "same-key-again" },
  { "If-Match": "*" },
  { "If-Match": '"99999999999999999999"' },
  { Range: "bytes=9-1,a-b" },
  { Range: "bytes=0-,-1" },
  { "X-File-Name": "%E0%A4%A" },
  { "X-File-Name": "..%2F..%2Fetc%2Fpasswd" },
  { "Tus-Resumable": "1.0.0", "Upload-Length": "-5" },
  { "Tus-Resumable": "9.9.9", "Upload-Length": "10" },
  { "Tus-Resumable": "1.0.0", "Upload-Length": "10", "Upload-Metadata": "filename !!!,,=" },
  { Origin: "null" },
];

function value(random: Random, depth: number): unknown {
  if (depth === 0 || random() < 0.4) return pick(random, WORDS);
  if (random() < 0.3) return Array.from({ length: Math.floor(random() * 6) }, () => value(random, depth - 1));
  const keys = Array.from({ length: 1 + Math.floor(random() * 5) }, () =>
    pick(random, random() < 0.7 ? FIELDS : ODD_FIELDS),
  );
  return Object.fromEntries(keys.map((key) => [key, value(random, depth - 1)]));
}

export interface OddRequest {
  readonly method: string;
  readonly path: string;
  readonly headers: Record<string, string>;
  readonly body: string | undefined;
}

/** One wrong request to one of these addresses, or beside them. */
export function oddRequest(random: Random, endpoints: readonly Endpoint[]): OddRequest {
  const { method, path, body } = pick(random, endpoints);
  const filled = path.replace(/:\w+/g, () => encodeURIComponent(String(pick(random, WORDS)).slice(0, 300)));
  const query =
    random() < 0.4
      ? `?${pick(random, ["cursor", "limit", "state", "photo", "since", "run"])}=${encodeURIComponent(String(pick(random, WORDS)).slice(0, 300))}`
      : "";
  const used = random() < 0.85 ? method.toUpperCase() : pick(random, ["PUT", "PATCH", "DELETE", "POST", "OPTIONS"]);
  const beside =
    random() < 0.1
      ? pick(random, [
          "/api/uploads",
          "/api/uploads/..%2f..",
          "/api//photos",
          "/%2e%2e/%2e%2e/etc/passwd",
          "/samples/%5c..%5cx",
        ])
      : filled;
  const text = JSON.stringify(value(random, 4)) ?? "";
  const sent = random() < 0.2 ? text.slice(0, Math.floor(text.length / 2)) : text;
  const headers = { ...(body && random() < 0.85 && { "Content-Type": "application/json" }), ...pick(random, HEADERS) };
  return { method: used, path: beside + query, headers, body: used === "GET" ? undefined : sent };
}

/** Whole photos of every format, to be broken. */
export async function seedPhotos(): Promise<Buffer[]> {
  const heic = readFileSync(fileURLToPath(new URL("tiny.heic", import.meta.url)));
  const formats = ["jpeg", "png", "webp", "avif", "tiff", "gif"] as const;
  return [...(await Promise.all(formats.map((format) => quarters().toFormat(format).toBuffer()))), heic];
}

/** One broken photo: cut, with bytes changed, with wrong sizes in its head, packed, or no photo at all. */
export function oddPhoto(random: Random, seeds: readonly Buffer[]): Uint8Array {
  const bytes = Buffer.from(pick(random, seeds));
  const at = () => Math.floor(random() * bytes.length);
  switch (Math.floor(random() * 7)) {
    case 0:
      return new Uint8Array(bytes.subarray(0, at()));
    case 1:
      for (let i = 0; i < 1 + random() * 40; i++) bytes[at()] = Math.floor(random() * 256);
      return new Uint8Array(bytes);
    case 2: // the head alone, where sizes and offsets stand
      for (let i = 0; i < 8; i++)
        bytes[Math.floor(random() * Math.min(200, bytes.length))] = random() < 0.5 ? 255 : Math.floor(random() * 256);
      return new Uint8Array(bytes);
    case 3:
      return new Uint8Array(hugePng(random));
    case 4: {
      const from = at();
      return new Uint8Array(Buffer.concat([bytes.subarray(0, from), bytes.subarray(at())]));
    }
    case 5:
      return new Uint8Array(Buffer.concat([Buffer.from("PK\u0003\u0004../../../etc/passwd"), bytes]));
    default:
      return new Uint8Array(Buffer.from(Array.from({ length: 1 + (at() % 4000) }, () => Math.floor(random() * 256))));
  }
}

/** A PNG that says it is far larger than any photo (ISO/IEC 15948, section 11.2.2), with next to nothing in it. */
function hugePng(random: Random): Buffer {
  const head = Buffer.from("\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\0\0\0\0\0\x08\x02\0\0\0\0\0\0\0", "latin1");
  head.writeUInt32BE(Math.floor(1e4 + random() * 2e9), 16);
  head.writeUInt32BE(Math.floor(1e4 + random() * 2e9), 20);
  return head;
}
