import { el } from "../element.ts";
import { showsUs } from "../units.ts";
import { say } from "../words.ts";

/** Which units quantities are told in: metric, or metric with US units beside. */
export function unitPicker(choose: (us: boolean) => void): HTMLElement {
  const picker = el(
    "select",
    {
      class: "language",
      id: "units",
      "aria-label": say("units.choose"),
      onchange: () => choose(picker.value === "us"),
    },
    el("option", { value: "metric", selected: !showsUs() }, say("units.metric")),
    el("option", { value: "us", selected: showsUs() }, say("units.us")),
  );
  return picker;
}
