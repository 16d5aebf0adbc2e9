import { readdirSync, readFileSync } from "node:fs";
import { IntlMessageFormat } from "intl-messageformat";
import { z } from "zod";
import type { SaidText, SaidValue } from "../vision/contract/index.ts";
import { measured, type Speech, splitterName } from "../vision/telling/index.ts";

/** What reports, messages and the command say: the words are the page's, one file a language, with what readings and runs say. */

const FOLDER = new URL("../web/words/", import.meta.url);
const SENTENCES = new URL("../vision/sentences/", import.meta.url);
type Words = Readonly<Record<string, string>>;
const read = (code: string, folder: URL): Words => JSON.parse(readFileSync(new URL(`${code}.json`, folder), "utf8"));
const wordsOf = (code: string): Words => ({ ...read(code, FOLDER), ...read(code, SENTENCES) });

/** Codes of all languages (BCP 47). */
export const LANGUAGES: readonly string[] = readdirSync(FOLDER)
  .filter((name) => name.endsWith(".json"))
  .map((name) => name.slice(0, -".json".length));

/** A language that a request may name. */
export const LanguageQuery = z.object({ language: z.enum(LANGUAGES as [string]).optional() });

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
    knows: (key) => Object.hasOwn(english, key),
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

const ENGLISH_SENTENCES = read("en", SENTENCES);
/** A text by its sentences' names; as it was stored, in English, where it has none or this program does not know one. */
export function sayText(speech: Speech, stored: string, said: Readonly<SaidText> | null | undefined): string {
  if (!said?.every(({ key }) => Object.hasOwn(ENGLISH_SENTENCES, key))) return stored;
  const filled = (values: Readonly<Record<string, SaidValue>>) =>
    Object.fromEntries(
      Object.entries(values).map(([name, value]) => [
        name,
        name === "name" && typeof value === "string" ? splitterName(speech, value) : valueWords(speech, value),
      ]),
    );
  return said.map(({ key, values = {} }) => speech.say(key, filled(values))).join(" ");
}

function valueWords(speech: Speech, value: SaidValue): string | number {
  if (typeof value !== "object") return value;
  const { unit, error = null } = value;
  if (Array.isArray(value.value))
    return `${value.value.map((one) => speech.number(one, 0, 1)).join(", ")}\u00a0${unit}`;
  const percent = () => `${speech.number(100 * (value.value as number), 0, 1)}\u00a0%`;
  if (unit === "share") return percent();
  if (unit === "ofOutlet") return speech.say("said.unit.ofOutlet", { share: percent() });
  if (unit === "degrees") return speech.say("said.unit.degrees", { value: speech.number(value.value, 0, 1) });
  if (unit === "1/min") return speech.say("said.unit.strokes", { value: measured(speech, value.value, error, "") });
  return measured(speech, value.value, error, unit);
}
