import { Alarm } from "../vision/contract/index.ts";
import { causeWords, eventTitle, movedWords } from "../vision/telling/index.ts";
import { button, el, fill } from "./element.ts";
import { say, speech } from "./words.ts";

/** Alarms on whatever screen is open, as the server tells them. Loaded where a device is to be told. */

/** @param look  Opens the charts. @returns stops listening, and takes the notice away. */
export function noticeAlarms(look: () => void): () => void {
  const element = el("section", { class: "card alarm-notice", "aria-label": say("alarm.title"), hidden: true });
  document.querySelector("#page")!.before(element);
  const events = new EventSource("api/alarms/events");
  const close = () => {
    element.hidden = true;
    fill(element);
  };
  events.addEventListener("alarm", ({ data }) => {
    const told = Alarm.safeParse(JSON.parse(data));
    if (!told.success) return;
    const { deckName, since, event } = told.data;
    element.hidden = false;
    fill(
      element,
      el(
        "div",
        { class: "caution", role: "alert" },
        el("h2", {}, `${deckName}: ${eventTitle(speech, event, since)}`),
        el("p", {}, movedWords(speech, event)),
        el("p", {}, causeWords(speech, event)),
      ),
      el(
        "div",
        { class: "choices" },
        button(say("alarm.look"), () => {
          close();
          look();
        }),
        button(say("alarm.close"), close, { class: "quiet" }),
      ),
    );
  });
  return () => {
    events.close();
    element.remove();
  };
}
