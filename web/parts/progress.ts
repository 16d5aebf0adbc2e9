import { STAGE_NAMES, type StageEvent } from "../../vision/contract/index.ts";
import { button, el } from "../element.ts";
import type { State } from "../state.ts";
import { say } from "../words.ts";

/** How far the reading is, stage by stage, with a way to stop it. */
export function progress(actions: { readonly stop: () => void }) {
  const items = new Map<StageEvent["stage"], HTMLLIElement>(
    STAGE_NAMES.map((s) => [s, el("li", {}, say(`stage.${s}`))]),
  );
  const bar = el("progress", { max: STAGE_NAMES.length, value: 0, "aria-label": say("reading.title") });
  const spoken = el("p", { class: "spoken", "aria-live": "polite" });
  const element = el(
    "section",
    { class: "card step" },
    el("h1", { tabindex: -1 }, say("reading.title")),
    bar,
    spoken,
    el("ol", { class: "stages" }, ...items.values()),
    button(say("reading.stop"), actions.stop, { class: "quiet" }),
  );
  const update = ({ stage }: State) => {
    if (!stage) return;
    const now = STAGE_NAMES.indexOf(stage);
    bar.value = now;
    const words = say(`stage.${stage}`);
    if (spoken.textContent !== words) spoken.textContent = words;
    for (const [name, item] of items) {
      const place = STAGE_NAMES.indexOf(name);
      item.className = place < now ? "over" : place === now ? "now" : "";
      if (place === now) item.setAttribute("aria-current", "step");
      else item.removeAttribute("aria-current");
    }
  };
  return { element, update };
}
