import { el, fill } from "../element.ts";
import type { State } from "../state.ts";
import { inEnglish } from "../words.ts";

/** What went wrong and what to do, read out at once. */
export function problemNotice() {
  const element = el("div", { role: "alert", class: "problem", hidden: true });
  let shown: State["problem"] = null;
  const update = ({ problem }: State) => {
    if (problem === shown) return;
    shown = problem;
    element.hidden = problem === null;
    fill(
      element,
      problem && el("h2", {}, problem.title),
      problem && el("p", problem.foreign ? inEnglish() : {}, problem.detail),
    );
    if (problem) element.scrollIntoView({ block: "nearest" });
  };
  return { element, update };
}
