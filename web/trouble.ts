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

/** Problems that the page has words of its own for: heading and what to do. */
const OWN = {
  "no-answer": ["problem.noAnswer.title", "problem.noAnswer"],
  "strange-answer": ["problem.strange.title", "problem.strange"],
  "log-in": ["problem.logIn.title", "problem.logIn"],
  internal: ["problem.page.title", "problem.page"],
} as const satisfies Record<string, readonly [Key, Key]>;

/** @param detail  What to do, from whoever found the problem, where the page has no words of its own. */
export function troubleOf(code: string, detail = "", cause?: unknown): Trouble {
  const own = code in OWN ? OWN[code as keyof typeof OWN] : null;
  const title = own ? say(own[0]) : problemTitle(code);
  return new Trouble({ code, title, detail: own ? say(own[1]) : detail }, cause);
}
