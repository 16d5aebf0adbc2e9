import type { Reading } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import { inEnglish, safetyLines, say } from "../words.ts";

/** What limits this reading. */
export function qualityNotes(reading: Reading): HTMLElement | null {
  const { usable, issues } = reading.quality;
  const notes = usable ? issues.map((issue) => el("li", inEnglish(), issue.say)) : [];
  if (reading.deckState === "stopped") notes.unshift(el("li", {}, say("mind.stopped")));
  if (notes.length === 0) return null;
  return el("section", { class: "card caution-card" }, el("h2", {}, say("mind.title")), el("ul", {}, ...notes));
}

export function safetyNotes(): HTMLElement {
  const lines = safetyLines().map((line) => el("li", {}, line));
  return el("section", { class: "card" }, el("h2", {}, say("safety.title")), el("ul", {}, ...lines));
}
