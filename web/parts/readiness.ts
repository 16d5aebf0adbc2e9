import { button, el, fill } from "../element.ts";
import type { State } from "../state.ts";
import { number, progressOf, say } from "../words.ts";

export interface ReadinessActions {
  readonly getReady: () => void;
  readonly wait: () => void;
  readonly renew: () => void;
}

/** How far this device is from working without a network; and a newer version of the program, when there is one. */
export function readiness(actions: ReadinessActions) {
  const bar = el("progress", { max: 1, value: 0, "aria-label": say("offline.bar") });
  const words = el("p");
  const wait = button(say("offline.wait"), actions.wait, { class: "quiet" });
  const get = button("", actions.getReady, { class: "quiet" });
  const files = el("section", { class: "card readiness" }, words, bar, get, wait);
  const renewed = el(
    "section",
    { class: "card readiness", role: "status" },
    el("p", {}, say("update.here")),
    button(say("update.use"), actions.renew),
  );
  const element = el("div", {}, renewed, files);

  const update = ({ device }: State) => {
    renewed.hidden = !device.renewed;
    const now = device.readiness;
    files.hidden = now.state === "impossible";
    bar.hidden = now.state !== "getting";
    wait.hidden = now.state !== "getting";
    get.hidden = now.state !== "offered" && now.state !== "broken";
    if (now.state === "getting") {
      bar.value = now.share;
      words.textContent = say("offline.getting", { share: progressOf(now.share) });
    } else if (now.state === "offered" || now.state === "broken") {
      const size = number(Math.max(0.1, now.sentBytes / 1e6), 1);
      fill(get, say(now.state === "broken" ? "offline.again" : "offline.offer", { size }));
      words.textContent = now.state === "broken" ? say("offline.broken") : "";
    } else words.textContent = say("offline.ready");
  };
  return { element, update };
}
