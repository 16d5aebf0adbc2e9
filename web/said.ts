import type { Hint, Said, SaidText, SaidValue } from "../vision/contract/index.ts";
import { BASIS_WORDS } from "../vision/telling/index.ts";
import { given } from "./units.ts";
import {
  currentLanguage,
  inEnglish,
  isKey,
  type Key,
  number,
  percent,
  say,
  splitterName,
  type Worded,
} from "./words.ts";

type Basis = Hint["basis"][number];

/** What readings say, in the language and the units of whoever reads them. */

/** Words, and whether they are English for want of others. */
export interface SaidWords extends Worded {
  readonly foreign: boolean;
}
export const own = (words: string): SaidWords => ({ words, foreign: false, attributes: {} });

/**
 * A text by its sentences' names; as it was stored, in English, where it has none or this program does not know one.
 *
 * @param stored  The text as a document carries it.
 */
export function saidWords(stored: string, said: SaidText | readonly Said[] | null | undefined): SaidWords {
  if (!said?.every(({ key }) => isKey(key))) {
    return { words: stored, foreign: currentLanguage() !== "en", attributes: inEnglish() };
  }
  return own(said.map(({ key, values = {} }) => say(key as Key, filled(values))).join(" "));
}

/** A `name` is a splitter's, or one that people gave. */
const filled = (values: Readonly<Record<string, SaidValue>>) =>
  Object.fromEntries(
    Object.entries(values).map(([name, value]) => [
      name,
      name === "name" && typeof value === "string" ? splitterName(value) : valueWords(value),
    ]),
  );

function valueWords(value: SaidValue): string | number {
  if (typeof value !== "object") return value;
  const { unit, error } = value;
  if (Array.isArray(value.value)) return `${value.value.map((one) => number(one, 0, 1)).join(", ")}\u00a0${unit}`;
  if (unit === "share") return shareWords(value.value);
  if (unit === "ofOutlet") return say("said.unit.ofOutlet", { share: `${number(100 * value.value, 0, 1)}\u00a0%` });
  if (unit === "degrees") return say("said.unit.degrees", { value: number(value.value, 0, 1) });
  return given(value.value, unit, error ?? null);
}
const shareWords = (share: number) =>
  share > 0 && share < 0.01 ? say("said.unit.underOne", { one: `${number(1)}\u00a0%` }) : percent(share);

/** What something leans on, with what kind of source it is. */
export function sourceWords({ source, kind, said }: Basis): SaidWords {
  const told = saidWords(source, said && [said]);
  return { ...told, words: `${told.words} (${say(BASIS_WORDS[kind])})` };
}
