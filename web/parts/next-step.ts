import type { Hint, Reading } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import { currentLanguage, hintHeadline, inEnglish, issueWords, say, sureness } from "../words.ts";

/** The one next step, in large words, with why. */
export function nextStep(reading: Reading): HTMLElement {
  const [first] = reading.advice;
  if (!reading.quality.usable) {
    return el(
      "section",
      { class: "card next" },
      el("p", { class: "eyebrow" }, say("next.title")),
      el("h1", { tabindex: -1 }, say("next.anotherPhoto")),
      el("p", {}, say("next.unreadable")),
      el(
        "ul",
        {},
        ...reading.quality.issues.map(issueWords).map(({ words, attributes }) => el("li", attributes, words)),
      ),
    );
  }
  return el(
    "section",
    { class: "card next" },
    el("p", { class: "eyebrow" }, say("next.title")),
    el("h1", { tabindex: -1 }, first ? hintHeadline(first, reading) : say("next.nothing")),
    first && hintBody(first, "h2"),
  );
}

/** The rest of what was noticed, each folded up; one change at a time is made. */
export function otherHints(reading: Reading): HTMLElement | null {
  const rest = reading.advice.slice(1);
  if (!reading.quality.usable || rest.length === 0) return null;
  return el(
    "section",
    { class: "card" },
    el("h2", {}, say("next.later")),
    ...rest.map((hint) => el("details", {}, el("summary", {}, hintHeadline(hint, reading)), hintBody(hint, "h3"))),
  );
}

/** The caution as it came, and in another language first what holds of every change at the table. */
function caution(words: string): HTMLElement {
  const foreign = currentLanguage() !== "en";
  return el("div", { class: "caution" }, foreign && el("p", {}, say("safety.drive")), el("p", inEnglish(), words));
}

/** @param heading  The level below what it stands under. */
function hintBody(hint: Hint, heading: "h2" | "h3"): HTMLElement {
  return el(
    "div",
    { class: "hint" },
    el(heading, {}, say("next.why")),
    el("ul", {}, ...hint.because.map((b) => el("li", inEnglish(), b))),
    hint.caution && caution(hint.caution),
    el(heading, {}, say("next.expect")),
    el("p", inEnglish(), hint.expect),
    el("p", {}, say("next.lookAgain", { minutes: hint.lookAgainMinutes, sure: sureness(hint.confidence) })),
    el(
      "details",
      { class: "basis" },
      el("summary", {}, say("next.basis")),
      el("ul", {}, ...hint.basis.map((b) => el("li", inEnglish(), `${b.source} (${b.kind})`))),
    ),
  );
}
