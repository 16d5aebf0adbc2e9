import type { Reading } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import { issueWords } from "../reading-words.ts";
import { safetyLines, say } from "../words.ts";

const issueItem = (issue: Reading["quality"]["issues"][number]) => {
  const { words, attributes } = issueWords(issue);
  return el("li", attributes, words);
};

/** What limits this reading. */
export function qualityNotes(reading: Reading): HTMLElement | null {
  const { usable, issues } = reading.quality;
  const notes = usable ? issues.map(issueItem) : [];
  if (reading.deckState === "stopped") notes.unshift(el("li", {}, say("mind.stopped")));
  if (notes.length === 0) return null;
  return el("section", { class: "card caution-card" }, el("h2", {}, say("mind.title")), el("ul", {}, ...notes));
}

export function safetyNotes(): HTMLElement {
  const lines = safetyLines().map((line) => el("li", {}, line));
  return el("section", { class: "card" }, el("h2", {}, say("safety.title")), el("ul", {}, ...lines));
}
