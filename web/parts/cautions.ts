import type { Reading } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import { SAFETY } from "../words.ts";

/** What limits this reading. */
export function qualityNotes(reading: Reading): HTMLElement | null {
  const { usable, issues } = reading.quality;
  const notes = usable ? issues.map((issue) => issue.say) : [];
  if (reading.deckState === "stopped") notes.unshift("The table looks stopped: bands may not be where they run.");
  if (notes.length === 0) return null;
  return el(
    "section",
    { class: "card caution-card" },
    el("h2", {}, "Mind when using this reading"),
    el("ul", {}, ...notes.map((n) => el("li", {}, n))),
  );
}

export function safetyNotes(): HTMLElement {
  return el("section", { class: "card" }, el("h2", {}, "Safety"), el("ul", {}, ...SAFETY.map((s) => el("li", {}, s))));
}
