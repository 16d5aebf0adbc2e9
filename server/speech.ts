import { readdirSync, readFileSync } from "node:fs";
import { IntlMessageFormat } from "intl-messageformat";
import type { Speech } from "../vision/telling/index.ts";

/** What reports, messages and the command say: the words are the page's, one file a language. */

const FOLDER = new URL("../web/words/", import.meta.url);
type Words = Readonly<Record<string, string>>;
const wordsOf = (code: string): Words => JSON.parse(readFileSync(new URL(`${code}.json`, FOLDER), "utf8"));

/** Codes of all languages (BCP 47). */
export const LANGUAGES: readonly string[] = readdirSync(FOLDER)
  .filter((name) => name.endsWith(".json"))
  .map((name) => name.slice(0, -".json".length));

/** One language, with what a document wants to know of it. */
export interface Language extends Speech {
  readonly code: string;
}

const spoken = new Map<string, Language>();

/** A language by its code; English where there is none of this code. */
export function speechIn(code: string): Language {
  const known = LANGUAGES.includes(code) ? code : "en";
  const there = spoken.get(known) ?? load(known);
  spoken.set(known, there);
  return there;
}

function load(code: string): Language {
  const [words, english] = [wordsOf(code), wordsOf("en")];
  const made = new Map<string, IntlMessageFormat>();
  const message = (key: string) => {
    const own = words[key] ?? english[key];
    if (own === undefined) throw new Error(`no words for ${key}`);
    const format = new IntlMessageFormat(own, words[key] === undefined ? "en" : code, undefined, { ignoreTag: true });
    made.set(key, format);
    return format;
  };
  return {
    code,
    say: (key, values = {}) => String((made.get(key) ?? message(key)).format(values)),
    number: (value, least = 0, most = least) =>
      new Intl.NumberFormat(code, {
        minimumFractionDigits: least,
        maximumFractionDigits: most,
        useGrouping: false,
      }).format(value),
    // as clocks at the table show it: photos and notes carry no offset
    when: (time) => new Intl.DateTimeFormat(code, { dateStyle: "medium", timeStyle: "short" }).format(time),
  };
}

/** The first of a header's languages (RFC 9110, section 12.5.4) that is here; English where none is. */
export function languageAsked(header: string | undefined): string {
  const wanted = (header ?? "").split(",").map((part) => {
    const [tag = "", ...rest] = part.trim().split(";");
    const weight = rest.map((one) => /^\s*q=([\d.]+)/.exec(one)?.[1]).find((q) => q !== undefined);
    return { code: tag.split("-")[0]!.toLowerCase(), weight: weight === undefined ? 1 : Number(weight) };
  });
  const known = wanted.filter(({ code, weight }) => weight > 0 && LANGUAGES.includes(code));
  return known.toSorted((a, b) => b.weight - a.weight)[0]?.code ?? "en";
}
