import { button, el, fill, plainFolded } from "../element.ts";
import { hintHeadline } from "../reading-words.ts";
import type { KeptLine, State } from "../state.ts";
import { say, when } from "../words.ts";

export interface KeptActions {
  readonly open: (id: string) => void;
  readonly remove: (id: string) => void;
}

/** Photos that this device keeps, the newest first, each with what came of it. One that still waits cannot be removed. */
export function keptList(actions: KeptActions) {
  const list = el("div");
  const element = el("section", { class: "card", hidden: true }, el("h2", {}, say("kept.title")), list);
  let shown: readonly KeptLine[] = [];
  const update = ({ device: { kept }, busy }: State) => {
    for (const b of list.querySelectorAll("button")) b.disabled = busy !== null;
    if (kept === shown) return;
    shown = kept;
    element.hidden = kept.length === 0;
    const items = kept.map((line) => item(line, actions));
    const older = items.slice(SHOWN_FIRST);
    fill(
      list,
      el("ul", { class: "kept" }, ...items.slice(0, SHOWN_FIRST)),
      older.length > 0 && plainFolded(say("kept.older"), el("ul", { class: "kept" }, ...older)),
    );
  };
  return { element, update };
}

/** How many photos are in sight. */
const SHOWN_FIRST = 3;

function item(line: KeptLine, { open, remove }: KeptActions): HTMLElement {
  const { id, name, keptAt, thumbUrl, state } = line;
  const picture = thumbUrl
    ? el("img", { src: thumbUrl, alt: "", class: "thumb" })
    : el("span", { class: "thumb", "aria-hidden": "true" });
  return el(
    "li",
    {},
    el(
      "button",
      { type: "button", class: "quiet kept-photo", onclick: () => open(id) },
      picture,
      el(
        "span",
        {},
        el("b", {}, whatCame(line)),
        el("small", {}, `${say("kept.open", { name, when: when(new Date(keptAt)) })} · ${say(STATE_KEYS[state])}`),
      ),
    ),
    state !== "waits" &&
      button("×", () => remove(id), { class: "quiet remove", "aria-label": say("kept.drop", { name }) }),
  );
}
const STATE_KEYS = { waits: "kept.waiting", sent: "kept.sent", refused: "kept.refused" } as const;

function whatCame({ reading }: KeptLine): string {
  if (!reading) return say("kept.noReading");
  if (!reading.quality.usable) return say("kept.unusable");
  return reading.advice[0] ? hintHeadline(reading.advice[0], reading) : say("next.nothing");
}
