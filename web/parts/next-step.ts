import type { Hint, Reading } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import { hintHeadline, hintWords, issueWords } from "../reading-words.ts";
import type { SaidWords } from "../said.ts";
import { say, sureness } from "../words.ts";

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
      el("ul", {}, ...reading.quality.issues.map((issue) => told("li", issueWords(issue)))),
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

const told = (tag: "li" | "p", { words, attributes }: SaidWords) => el(tag, attributes, words);

/** The caution; where it can be said in English only, first what holds of every change at the table. */
const cautionBox = (caution: SaidWords) =>
  el("div", { class: "caution" }, caution.foreign && el("p", {}, say("safety.drive")), told("p", caution));

/** @param heading  The level below what it stands under. */
function hintBody(hint: Hint, heading: "h2" | "h3"): HTMLElement {
  const { because, expect, caution, basis } = hintWords(hint);
  return el(
    "div",
    { class: "hint" },
    el(heading, {}, say("next.why")),
    el("ul", {}, ...because.map((words) => told("li", words))),
    caution && cautionBox(caution),
    el(heading, {}, say("next.expect")),
    told("p", expect),
    el("p", {}, say("next.lookAgain", { minutes: hint.lookAgainMinutes, sure: sureness(hint.confidence) })),
    el(
      "details",
      { class: "basis" },
      el("summary", {}, say("next.basis")),
      el("ul", {}, ...basis.map((words) => told("li", words))),
    ),
  );
}
