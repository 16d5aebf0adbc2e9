import { el, fill } from "./element.ts";
import { VisionError } from "./set-up-sums.ts";
import { inEnglish } from "./words.ts";

/**
 * What comes out of a sum, line by line, each with its name; it is said again when it changes. Words of `vision/` where the
 * numbers cannot be: they are English.
 */
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
      fill(element, el("p", { class: "fault", ...inEnglish() }, error.message));
    }
  };
  return { element, show };
}
