import type { RunEntry } from "../../vision/contract/index.ts";
import { button, el, fill, plainFolded } from "../element.ts";
import { sayEntry, sayWhen } from "../run-words.ts";
import { inEnglish, say } from "../words.ts";

/** One thing that was written down, here or elsewhere. */
export interface LogLine {
  readonly id: string;
  readonly entry: RunEntry;
  readonly state: "waits" | "sent" | "refused";
  /** Why the server did not take it. */
  readonly problem: string | null;
}

/** How many lines are in sight; the others are unfolded. */
const SHOWN_FIRST = 8;

/** All that was written down of a run, the latest first. */
export function runLog(withdraw: (line: LogLine) => void) {
  const list = el("div");
  const none = el("p", { class: "hint-line" }, say("run.log.none"));
  const element = el("div", {}, none, list);
  const update = (lines: readonly LogLine[]) => {
    none.hidden = lines.length > 0;
    const items = lines.map((line) => {
      const what = sayEntry(line.entry);
      return el(
        "li",
        {},
        el(
          "span",
          {},
          el("b", {}, what),
          el("small", {}, sayWhen(line.entry)),
          line.state === "waits" && el("small", {}, say("kept.waiting")),
          line.state === "refused" && el("small", { class: "fault", ...inEnglish() }, line.problem ?? ""),
        ),
        button("×", () => withdraw(line), { class: "quiet remove", "aria-label": say("run.withdraw", { what }) }),
      );
    });
    const earlier = items.slice(SHOWN_FIRST);
    fill(
      list,
      el("ol", { class: "run-log" }, ...items.slice(0, SHOWN_FIRST)),
      earlier.length > 0 && plainFolded(say("run.log.earlier"), el("ol", { class: "run-log" }, ...earlier)),
    );
  };
  return { element, update };
}
