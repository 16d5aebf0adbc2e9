import { type Key, problemTitle, say } from "./words.ts";

/** Something went wrong, in words for the person: what, and what to do. */
export class Trouble extends Error {
  readonly title: string;
  readonly detail: string;
  readonly code: string;
  /** @param cause  What was thrown first, for the console. */
  constructor({ title, detail, code }: { title: string; detail: string; code: string }, cause?: unknown) {
    super(`${title} ${detail}`, { cause });
    this.title = title;
    this.detail = detail;
    this.code = code;
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
};

/** @param detail  What to do, from whoever found the problem, where the page has no words of its own. */
export function troubleOf(code: string, detail = "", cause?: unknown): Trouble {
  const own = OWN[code];
  return new Trouble({ code, title: problemTitle(code), detail: own ? say(own) : detail }, cause);
}
