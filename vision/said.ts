import { IntlMessageFormat } from "intl-messageformat";
import type { Hint, QualityIssue, SaidText, SaidValue } from "./contract/index.ts";
import english from "./sentences/en.json" with { type: "json" };

/**
 * What `vision/` says to people. Each sentence stands once, in `sentences/en.json`, by its name; beside it the same in other
 * languages. A document carries the English and, as `said`, the names with their numbers, so that a page can say it anew in
 * the language and the units of whoever reads it.
 */
export type SentenceKey = keyof typeof english;
/** Sentences read one after the other: texts are put together by spreading them. */
export type Text = Readonly<SaidText>;

export const said = (key: SentenceKey, values?: Record<string, SaidValue>): SaidText => [
  values ? { key, values } : { key },
];

/** A text as documents carry it. */
export const inEnglish = (text: Text): string =>
  text.map(({ key, values = {} }) => message(key as SentenceKey, values)).join(" ");

const made = new Map<SentenceKey, IntlMessageFormat>();
function message(key: SentenceKey, values: Readonly<Record<string, SaidValue>>): string {
  let form = made.get(key);
  if (!form) {
    form = new IntlMessageFormat(english[key], "en", undefined, { ignoreTag: true });
    made.set(key, form);
  }
  return String(
    form.format(Object.fromEntries(Object.entries(values).map(([name, value]) => [name, valueWords(value)]))),
  );
}

function valueWords(value: SaidValue): string | number {
  if (typeof value !== "object") return value;
  const { unit, error } = value;
  const numbers = [value.value].flat().join(", ");
  const doubted = error === undefined ? numbers : `${numbers} ± ${error}`;
  switch (unit) {
    case "share":
      return percent(value.value as number);
    case "ofOutlet":
      return message("said.unit.ofOutlet", { share: `${Math.round(1000 * (value.value as number)) / 10} %` });
    case "1/min":
      return message("said.unit.strokes", { value: doubted });
    case "degrees":
      return message("said.unit.degrees", { value: doubted });
    default:
      return `${doubted} ${unit}`;
  }
}
const percent = (share: number) =>
  share > 0 && share < 0.01 ? message("said.unit.underOne", { one: "1 %" }) : `${Math.round(share * 100)} %`;

/** A share of 0 to 1 in a sentence. */
export const asShare = (value: number): SaidValue => ({ value: Math.round(value * 10_000) / 10_000, unit: "share" });
export const asMm = (value: number): SaidValue => ({ value, unit: "mm" });

/** A hint that has its sentences by name only. */
export type UnsaidHint = Omit<Hint, "because" | "expect" | "caution" | "said"> & {
  readonly because: readonly Text[];
  readonly expect: Text;
  readonly caution: Text | null;
};
/** The same with its English words. */
export const hintOf = ({ because, expect, caution, ...hint }: UnsaidHint): Hint => ({
  ...hint,
  because: because.map(inEnglish),
  expect: inEnglish(expect),
  caution: caution && inEnglish(caution),
  said: {
    because: because.map((text) => [...text]),
    expect: [...expect],
    caution: caution && [...caution],
  },
});

/** Something that limits a photo. */
export const issueOf = (kind: string, text: Text, share?: number): QualityIssue => ({
  kind,
  ...(share === undefined ? {} : { share: Math.round(share * 10_000) / 10_000 }),
  say: inEnglish(text),
  said: [...text],
});
