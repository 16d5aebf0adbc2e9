import type { Tap } from "../../vision/contract/index.ts";
import { button, el, fill, svgEl } from "../element.ts";
import { quickLayer } from "../quick-layer.ts";
import { spotStage } from "../spot-stage.ts";
import type { State } from "../state.ts";
import { number, say, TAP_CLASSES, tapSummary } from "../words.ts";

export interface TapActions {
  readonly add: (tap: Tap) => void;
  readonly undo: () => void;
}
type TapClass = Tap["class"];

/**
 * The photo, and big buttons to say what a spot shows: choose a class, then tap the spot. By keyboard, beside the keys of the
 * stage: Backspace takes the last one back, 1 to 5 choose the class.
 */
export function tapEditor(actions: TapActions) {
  const stage = spotStage(
    say("taps.stage"),
    (at) => actions.add({ at: [at[0], at[1]], class: chosen }),
    (key) => {
      const name = TAP_CLASSES[Number(key) - 1];
      if (key === "Backspace" || key === "Delete") actions.undo();
      else if (name) choose(name);
      else return false;
      return true;
    },
  );
  const choices = TAP_CLASSES.map((name, i) =>
    el(
      "button",
      { type: "button", class: `tap-class tap-${name}`, onclick: () => choose(name), "data-class": name },
      el("span", { class: "swatch", "aria-hidden": "true" }),
      el("span", {}, el("b", {}, say(`taps.${name}`)), el("small", {}, say(`taps.${name}.looks`))),
      el("kbd", { class: "wide-only", "aria-hidden": "true" }, number(i + 1)),
    ),
  );
  const quick = quickLayer();
  stage.layer.append(quick.element);
  const bands = el("input", { type: "checkbox", id: "tap-bands", checked: true, onchange: () => showBands() });
  const bandsLine = el(
    "div",
    { class: "check", hidden: true },
    bands,
    el("label", { for: "tap-bands" }, say("taps.bands")),
  );
  const undo = button(say("taps.undo"), actions.undo, { class: "quiet" });
  const summary = el("p", { class: "tap-summary", role: "status" });
  const element = el(
    "div",
    { class: "tap-editor" },
    el("div", { class: "tap-classes", role: "group", "aria-label": say("taps.next") }, ...choices),
    stage.element,
    bandsLine,
    summary,
    undo,
  );

  let chosen: TapClass = "dense";
  function choose(name: TapClass) {
    chosen = name;
    for (const choice of choices) choice.setAttribute("aria-pressed", String(choice.dataset.class === chosen));
  }
  choose(chosen);

  const spot = ({ at: [cx, cy], class: name }: Tap, unit: number) =>
    svgEl(
      "g",
      { class: `tap-spot tap-${name}` },
      svgEl("circle", { cx, cy, r: 13 * unit, "stroke-width": 3 * unit }),
      svgEl(
        "text",
        { x: cx, y: cy, dy: "0.36em", "font-size": 15 * unit, "text-anchor": "middle" },
        say(`taps.${name}.letter`),
      ),
    );
  let state: State | null = null;
  const showBands = () => state && quick.update(state, bands.checked);
  const update = (next: State) => {
    state = next;
    const { photo, taps } = next;
    if (!photo) return;
    showBands();
    bandsLine.hidden = next.quick?.corners !== next.corners;
    stage.update(photo, (unit) => taps.map((tap) => spot(tap, unit)));
    undo.disabled = taps.length === 0;
    fill(summary, tapSummary(taps));
  };
  return { element, update };
}
