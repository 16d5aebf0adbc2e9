import type { Hint, Reading } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import { hintHeadline, sureness } from "../words.ts";

/** The one next step, in large words, with why. */
export function nextStep(reading: Reading): HTMLElement {
  const [first] = reading.advice;
  if (!reading.quality.usable) {
    return el(
      "section",
      { class: "card next" },
      el("p", { class: "eyebrow" }, "Next step"),
      el("h1", { tabindex: -1 }, "Take another photo."),
      el("p", {}, "This one could not be read:"),
      el("ul", {}, ...reading.quality.issues.map((issue) => el("li", {}, issue.say))),
    );
  }
  return el(
    "section",
    { class: "card next" },
    el("p", { class: "eyebrow" }, "Next step"),
    el("h1", { tabindex: -1 }, first ? hintHeadline(first, reading) : "Nothing to change is seen."),
    first && hintBody(first),
  );
}

/** The rest of what was noticed, each folded up; one change at a time is made. */
export function otherHints(reading: Reading): HTMLElement | null {
  const rest = reading.advice.slice(1);
  if (!reading.quality.usable || rest.length === 0) return null;
  return el(
    "section",
    { class: "card" },
    el("h2", {}, "Later, one at a time"),
    ...rest.map((hint) => el("details", {}, el("summary", {}, hintHeadline(hint, reading)), hintBody(hint))),
  );
}

function hintBody(hint: Hint): HTMLElement {
  return el(
    "div",
    { class: "hint" },
    el("h3", {}, "Why"),
    el("ul", {}, ...hint.because.map((b) => el("li", {}, b))),
    hint.caution && el("p", { class: "caution" }, hint.caution),
    el("h3", {}, "Then you should see"),
    el("p", {}, hint.expect),
    el(
      "p",
      {},
      `Look again after ${hint.lookAgainMinutes} minutes. The program is ${sureness(hint.confidence)} of this.`,
    ),
    el(
      "details",
      { class: "basis" },
      el("summary", {}, "Where this comes from"),
      el("ul", {}, ...hint.basis.map((b) => el("li", {}, `${b.source} (${b.kind})`))),
    ),
  );
}
