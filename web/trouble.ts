import type { SaidText } from "../vision/contract/index.ts";
import { LIMITS } from "./photo-limits.ts";
import { saidWords } from "./said.ts";
import { type Key, number, problemTitle, say } from "./words.ts";

/** Something went wrong, in words for the person: what, and what to do. */
export class Trouble extends Error {
  readonly title: string;
  readonly detail: string;
  readonly code: string;
  /** Whether `detail` is English because nothing here can say it in the language spoken. */
  readonly foreign: boolean;
  /** @param cause  What was thrown first, for the console. */
  constructor(
    { title, detail, code, foreign }: { title: string; detail: string; code: string; foreign: boolean },
    cause?: unknown,
  ) {
    super(`${title} ${detail}`, { cause });
    this.title = title;
    this.detail = detail;
    this.code = code;
    this.foreign = foreign;
  }
}

/** Problems that the page has words of its own for: what to do, in the language spoken. */
const OWN: Readonly<Record<string, Key>> = {
  "no-answer": "problem.noAnswer",
  "strange-answer": "problem.strange",
  "log-in": "problem.logIn",
  internal: "problem.page",
  "corners-cross": "problem.corners-cross",
  "corners-small": "problem.corners-small",
  "corners-outside": "problem.corners-outside",
  "camera-denied": "problem.camera-denied",
  "camera-none": "problem.camera-none",
  "camera-busy": "problem.camera-busy",
  "case-broken": "problem.case-broken",
  "case-foreign": "problem.case-foreign",
  "case-newer": "problem.case-newer",
  "case-large": "problem.case-large",
  "pack-broken": "problem.pack-broken",
  "pack-forged": "problem.pack-forged",
  "pack-hostile": "problem.pack-hostile",
  "pack-newer": "problem.pack-newer",
  "pack-huge": "problem.pack-huge",
  "pack-other-key": "problem.pack-other-key",
  "photo-empty": "problem.photo-empty",
  "photo-broken": "problem.photo-broken",
  "photo-not-an-image": "problem.photo-broken",
  "photo-too-small": "problem.photo-too-small",
  "photo-too-large": "problem.photo-too-large",
  "photo-unknown-here": "problem.photo-unknown-here",
};

/** What was thrown, as trouble in words; what nobody foresaw goes to the console. */
export function inTrouble(error: unknown): Trouble {
  if (error instanceof Trouble) return error;
  console.error(error);
  return troubleOf("internal", "", error);
}

/**
 * The page's own words go first, since they know where the person stands.
 *
 * @param told  What to do, in English, from whoever found the problem; `said`: the same by name, for other languages.
 */
export function troubleOf(code: string, told = "", cause?: unknown, said?: SaidText | null): Trouble {
  const own = OWN[code];
  const values = {
    sidePx: number(LIMITS.sidePx),
    megapixels: number(LIMITS.pixels / 1e6),
    megabytes: number(LIMITS.bytes / 1e6),
  };
  const { words, foreign } = own ? { words: say(own, values), foreign: false } : saidWords(told, said);
  return new Trouble({ code, title: problemTitle(code), detail: words, foreign }, cause);
}

/** A script of its own that is wanted now. @throws {Trouble} when it cannot be had. */
export const loaded = <T>(script: Promise<T>): Promise<T> =>
  script.catch((error: unknown) => {
    throw troubleOf("no-answer", "", error);
  });
