import type { Drift } from "../../vision/contract/index.ts";
import { button, el, fill } from "../element.ts";
import { KIND_WORDS, timeOf } from "../run-words.ts";
import { inEnglish, say } from "../words.ts";

/** Photos since an alarm after which it is old. */
const NEW_PHOTOS = 20;

/** What moved lately, in one line, with its likely cause; nothing while all is quiet. */
export function runAlarm(open: () => void) {
  const element = el("section", { class: "card", role: "status", hidden: true });
  const update = (drift: Drift | null) => {
    const event = drift?.events.findLast(({ at }) => drift.photos.length - at <= NEW_PHOTOS);
    element.hidden = !event;
    if (!drift || !event) return fill(element);
    const values = { kind: say(KIND_WORDS[event.kind ?? "open"]), when: timeOf(drift.photos[event.since]?.at) };
    fill(
      element,
      el(
        "div",
        { class: "caution" },
        el("h2", {}, say("run.charts.event", values)),
        el("p", inEnglish(), event.cause.say),
        button(say("run.charts"), open, { class: "quiet" }),
      ),
    );
  };
  return { element, update };
}
