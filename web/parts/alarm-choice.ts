import type { AlarmWay } from "../alarm-push.ts";
import { button, el, fill } from "../element.ts";
import { say } from "../words.ts";

export interface AlarmChoices {
  readonly want: () => void;
  readonly withdraw: () => void;
}
/** Whether this device is told of alarms: asked for here, and withdrawn here. */
export function alarmChoice(choices: AlarmChoices) {
  const said = el("p", { role: "status" });
  const press = el("div", { class: "choices" });
  const element = el("div", { id: "alarm-choice" }, el("p", {}, say("alarm.what")), said, press);
  const update = (way: AlarmWay) => {
    said.textContent = way === "none" ? "" : say(way === "push" ? "alarm.told" : `alarm.${way}`);
    fill(
      press,
      way === "none"
        ? button(say("alarm.wanted"), choices.want, { class: "quiet", id: "want-alarms" })
        : button(say("alarm.notWanted"), choices.withdraw, { class: "quiet", id: "withdraw-alarms" }),
    );
  };
  update("none");
  return { element, update };
}
