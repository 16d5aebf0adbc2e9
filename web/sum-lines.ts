import { el, fill } from "./element.ts";
import { saidWords } from "./said.ts";
import { VisionError } from "./set-up-sums.ts";

/** What comes out of a sum, line by line, each with its name, or what `vision/` says is wrong with it; said again when it changes. */
export function sumLines() {
  const element = el("div", { class: "sum", role: "status" });
  /** @param work  Null where something is still to be typed; `hint` says what. */
  const show = (work: () => readonly (readonly [name: string, value: string])[] | null, hint: string) => {
    try {
      const lines = work();
      if (!lines) return fill(element, el("p", { class: "hint-line" }, hint));
      fill(element, el("dl", {}, ...lines.flatMap(([name, value]) => [el("dt", {}, name), el("dd", {}, value)])));
    } catch (error) {
      if (!(error instanceof VisionError)) throw error;
      const { words, attributes } = saidWords(error.message, error.said ? [...error.said] : null);
      fill(element, el("p", { class: "fault", ...attributes }, words));
    }
  };
  return { element, show };
}
