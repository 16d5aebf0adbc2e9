import { el } from "./element.ts";
import { PRACTICE_CONTROLS, type PracticeControl } from "./practice-sums.ts";
import { controlName } from "./practice-words.ts";
import { number } from "./words.ts";

export interface ControlNeeds {
  readonly now: (name: PracticeControl) => number;
  readonly isFree: (name: PracticeControl) => boolean;
  readonly move: (name: PracticeControl, value: number) => void;
  /** A control was let go. */
  readonly settled: () => void;
}

/** Water, slope and feed of the practice deck as sliders, each with what it stands at. */
export function practiceControls({ now, isFree, move, settled }: ControlNeeds) {
  const fields = (Object.keys(PRACTICE_CONTROLS) as PracticeControl[]).map((name) => {
    const { least, most, step, unit } = PRACTICE_CONTROLS[name];
    const at = el("output", { for: `practice-${name}` });
    const slider = el("input", {
      type: "range",
      id: `practice-${name}`,
      min: least,
      max: most,
      step,
      oninput: () => move(name, slider.valueAsNumber),
      onchange: settled,
    });
    const label = el("label", { for: slider.id }, controlName(name));
    const update = () => {
      slider.value = String(now(name));
      at.textContent = `${number(now(name))}\u00a0${unit}`;
      slider.setAttribute("aria-valuetext", `${number(now(name))} ${unit}`);
      slider.disabled = !isFree(name);
    };
    return { element: el("div", { class: "lesson-slider" }, label, slider, at), update };
  });
  return {
    elements: fields.map(({ element }) => element),
    update: () => {
      for (const field of fields) field.update();
    },
  };
}
