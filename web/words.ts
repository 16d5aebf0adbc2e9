import { IntlMessageFormat } from "intl-messageformat";
import type { Tap } from "../vision/contract/index.ts";
import sentences from "../vision/sentences/en.json" with { type: "json" };
import * as telling from "../vision/telling/index.ts";
import english from "./words/en.json" with { type: "json" };

/**
 * What the page says. Each language is a file in `words/`, ICU messages by name (its README says how to add one), and one in
 * `vision/sentences/` for what readings say; here is how they are chosen and filled in. Every number has its unit.
 */

const ENGLISH = { ...english, ...sentences };
export type Key = keyof typeof ENGLISH;
export const isKey = (name: string): name is Key => name in ENGLISH;
type Words = Readonly<Partial<Record<Key, string>>>;
type Values = Readonly<Record<string, string | number>>;

const LOADERS = import.meta.glob<Words>(["./words/*.json", "!./words/en.json"], { import: "default" });
const SENTENCES = import.meta.glob<Words>(["../vision/sentences/*.json", "!../vision/sentences/en.json"], {
  import: "default",
});
const loaderOf = (loaders: typeof LOADERS, code: string) =>
  Object.entries(loaders).find(([path]) => codeOf(path) === code)?.[1];
const codeOf = (path: string) => path.replace(/^.*\/|\.json$/g, "");
/** Codes of all languages (BCP 47), English first. */
export const LANGUAGES: readonly string[] = ["en", ...Object.keys(LOADERS).map(codeOf).sort()];
const CHOSEN = "deckbands language";

let language = "en";
/** The language with the browser's own region, which numbers and times are written by. */
let locale = "en";
let words: Words = ENGLISH;
const made = new Map<Key, IntlMessageFormat>();

export const currentLanguage = () => language;

/** A language's name in itself, such as “español”. */
export const languageName = (code: string) =>
  new Intl.DisplayNames([code], { type: "language", languageDisplay: "standard" }).of(code) ?? code;

/** The language chosen before on this device, else the first of the browser's that is here, else English. */
export function preferredLanguage(): string {
  const wanted = [remembered(), ...navigator.languages].map((code) => code?.split("-")[0]?.toLowerCase());
  return wanted.find((code) => code !== undefined && LANGUAGES.includes(code)) ?? "en";
}
function remembered(): string | null {
  try {
    return localStorage.getItem(CHOSEN);
  } catch {
    return null; // a browser that keeps nothing
  }
}

/** Speak this language from now on; what is on the screen must be made anew. @throws when its file cannot be had. */
export async function speak(code: string): Promise<void> {
  const load = loaderOf(LOADERS, code);
  const [own, told] = await Promise.all([load?.(), loaderOf(SENTENCES, code)?.()]);
  words = own ? { ...own, ...told } : ENGLISH;
  language = load ? code : "en";
  locale = navigator.languages.find((tag) => tag.split("-")[0]?.toLowerCase() === language) ?? language;
  made.clear();
}

export function rememberLanguage(code: string): void {
  try {
    localStorage.setItem(CHOSEN, code);
  } catch {
    // it is asked of the browser again next time
  }
}

/** A sentence in the language spoken; in English where that language lacks it. */
export function say(key: Key, values: Values = {}): string {
  let message = made.get(key);
  if (!message) {
    const own = words[key];
    message = new IntlMessageFormat(own ?? ENGLISH[key], own ? language : "en", undefined, { ignoreTag: true });
    made.set(key, message);
  }
  return String(message.format(values));
}

/** Attributes of words that come from `vision/` or the server: they are English, whatever the page speaks. */
export const inEnglish = () => (language === "en" ? {} : { lang: "en", dir: "ltr" });

/** Words with the attributes of the element that holds them. */
export interface Worded {
  readonly words: string;
  readonly attributes: ReturnType<typeof inEnglish>;
}
const worded = ({ words, known }: ReturnType<typeof telling.stuffOf>): Worded => ({
  words,
  attributes: known ? {} : inEnglish(),
});

/** What a photo shows: one that came with the program, or was made by it, in the language spoken; any other one's own title. */
export const photoTitle = (called: Parameters<typeof telling.titleOf>[1]) => worded(telling.titleOf(speech, called));

/** What is told of a photo that came with the program, in the language spoken; of any other one as it was written. */
export const photoNote = (of: Parameters<typeof telling.noteOf>[1]) => worded(telling.noteOf(speech, of));

/** A material of the photos that came with the program, in the language spoken; any other as it was written. */
export const stuff = (name: string) => worded(telling.stuffOf(speech, name));

/** A splitter by one of the two usual names, in the language spoken; any other one's own name. */
export const splitterName = (name: string) => telling.splitterName(speech, name);

/** A number as the language writes it, without marks between thousands: those of one are the decimal marks of another. */
export const number = (value: number, least = 0, most = least) =>
  new Intl.NumberFormat(locale, {
    minimumFractionDigits: least,
    maximumFractionDigits: most,
    useGrouping: false,
  }).format(value);

/** A day as the language writes it. */
export const dayWords = (time: Date) => new Intl.DateTimeFormat(locale, { dateStyle: "medium" }).format(time);

/** A time as the language writes it, to the minute. */
export const when = (time: Date) =>
  new Intl.DateTimeFormat(locale, { dateStyle: "medium", timeStyle: "short" }).format(time);

/** The language spoken, for what says things in any. */
export const speech: telling.Speech = {
  say: (key, values) => say(key as Key, values),
  knows: isKey,
  number,
  when,
};

/** A share in per cent; the sign never stands on a line of its own. */
export const percent = (share: number) => `${number(share * 100, share > 0 && share < 0.1 ? 1 : 0)}\u00a0%`;

/** How far something has come, in whole per cent. */
export const progressOf = (share: number) => `${number(Math.floor(share * 100))}\u00a0%`;

/** How sure, as people say it, with the number behind it. */
export function sureness(confidence: number): string {
  return say(`sure.${telling.surenessOf(confidence)}`, { share: percent(confidence) });
}

/** What went wrong, as a heading; the detail below it says what to do. */
export function problemTitle(code: string): string {
  if (code === "no-answer") return say("problem.noAnswer.title");
  if (code === "strange-answer") return say("problem.strange.title");
  if (code === "internal") return say("problem.page.title");
  if (code.startsWith("camera-")) return say("problem.camera.title");
  if (code === "busy" || code === "storage-away") return say("problem.busy.title");
  if (code === "log-in") return say("problem.logIn.title");
  if (code === "photo-timeout") return say("problem.timeout.title");
  if (code.startsWith("photo-")) return say("problem.photo.title");
  if (code.startsWith("case-")) return say("problem.case.title");
  if (code.startsWith("corners-")) return say("problem.corners.title");
  if (code.startsWith("deck-")) return say("problem.deck.title");
  return say("problem.other.title");
}

/** What a spot can show, in the order of the buttons. */
export const TAP_CLASSES = ["dense", "middling", "light", "bare", "dry"] as const satisfies readonly Tap["class"][];

export function tapSummary(taps: readonly Tap[]): string {
  if (taps.length === 0) return say("taps.none");
  const counts = TAP_CLASSES.flatMap((name) => {
    const count = taps.filter((tap) => tap.class === name).length;
    return count > 0
      ? [say("taps.count", { count: number(count), name: say(`taps.${name}`).toLocaleLowerCase(language) })]
      : [];
  });
  return say("taps.some", { count: taps.length, list: counts.join(", ") });
}

/** Always shown: an instrument beside moving machinery, water and mineral dust. */
export const safetyLines = () =>
  (["drive", "electric", "lever", "dust", "mercury", "water", "local"] as const).map((name) => say(`safety.${name}`));
