import { el, fill } from "../element.ts";
import type { State } from "../state.ts";
import { progressOf, say } from "../words.ts";

/** What waits on this device to be sent, in one line; nothing where nothing waits. */
export function waitingLine() {
  const words = el("span", { role: "status" });
  const sent = el("span", { class: "sent" });
  const element = el("p", { class: "strip waits", hidden: true }, words, sent);
  let shown = "";
  const update = ({ device: { waits, sending } }: State) => {
    element.hidden = waits.photos + waits.readings === 0;
    if (element.hidden) return;
    sent.textContent = sending.share === null ? "" : ` ${say("waits.sending", { share: progressOf(sending.share) })}`;
    const now = `${waitWords(waits)} ${hindranceWords(sending.hindrance)}`;
    if (now === shown) return; // a screen reader is not told the same twice
    shown = now;
    fill(words, now, sending.hindrance === "log-in" && el("a", { href: "log-in" }, say("waits.logInLink")));
  };
  return { element, update };
}

function waitWords({ photos, readings }: State["device"]["waits"]): string {
  if (readings === 0) return say("waits.photos", { photos });
  if (photos === 0) return say("waits.readings", { readings });
  return say("waits.both", { photos, readings });
}

function hindranceWords(code: string | null): string {
  switch (code) {
    case null:
      return "";
    case "no-answer":
      return say("waits.noServer");
    case "log-in":
      return say("waits.logIn");
    case "not-allowed":
      return say("waits.notAllowed");
    default:
      return say("waits.later");
  }
}
