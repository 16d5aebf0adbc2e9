import type { Drift } from "../../vision/contract/index.ts";
import { causeWords, eventTitle } from "../../vision/telling/index.ts";
import { button, el, fill } from "../element.ts";
import { say, speech } from "../words.ts";

/** Photos since an alarm after which it is old. */
const NEW_PHOTOS = 20;

/** What moved lately, in one line, with its likely cause; nothing while all is quiet. */
export function runAlarm(open: () => void) {
  const element = el("section", { class: "card", role: "status", hidden: true });
  const update = (drift: Drift | null) => {
    const event = drift?.events.findLast(({ at }) => drift.photos.length - at <= NEW_PHOTOS);
    element.hidden = !event;
    if (!drift || !event) return fill(element);
    fill(
      element,
      el(
        "div",
        { class: "caution" },
        el("h2", {}, eventTitle(speech, event, drift.photos[event.since]?.at)),
        el("p", {}, causeWords(speech, event)),
        button(say("run.charts"), open, { class: "quiet" }),
      ),
    );
  };
  return { element, update };
}
