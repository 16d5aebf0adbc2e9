import { el } from "./element.ts";

export interface SliderNeeds {
  readonly number: string;
  readonly label: string;
  readonly minMm: number;
  readonly maxMm: number;
  readonly movable: boolean;
  /** Where it stands, outlet mm. */
  readonly now: () => number;
  /** The outlet mm nearest to a pointer. */
  readonly mmAt: (event: PointerEvent) => number;
  readonly move: (mm: number) => void;
  readonly nudge: (steps: number) => void;
}

const KEY_STEPS: Readonly<Record<string, number>> = {
  ArrowUp: -1,
  ArrowLeft: -1,
  ArrowDown: 1,
  ArrowRight: 1,
  PageUp: -10,
  PageDown: 10,
};
/** How many times further with Shift. */
const FAR = 10;

/** A handle to move along the outlet by finger, mouse or keys; whoever makes it puts it in its place. */
export function outletSlider({
  number,
  label,
  minMm,
  maxMm,
  movable,
  now,
  mmAt,
  move,
  nudge,
}: SliderNeeds): HTMLElement {
  const element = el(
    "div",
    {
      class: "handle flat-handle",
      hidden: !movable,
      role: "slider",
      tabindex: 0,
      "aria-label": label,
      "aria-valuemin": Math.round(minMm),
      "aria-valuemax": Math.round(maxMm),
      onpointerdown: (event: PointerEvent) => press(event),
      onkeydown: (event: KeyboardEvent) => key(event),
    },
    el("span", { "aria-hidden": "true" }, number),
  );
  function press(event: PointerEvent) {
    if (!event.isPrimary || event.button !== 0) return;
    event.preventDefault();
    element.focus();
    element.setPointerCapture(event.pointerId);
    const offset = now() - mmAt(event); // it does not jump when it is taken beside its middle
    const over = new AbortController();
    element.addEventListener("pointermove", (moved) => move(mmAt(moved) + offset), { signal: over.signal });
    for (const end of ["pointerup", "pointercancel"] as const)
      element.addEventListener(end, () => over.abort(), { signal: over.signal });
  }
  function key(event: KeyboardEvent) {
    const steps = KEY_STEPS[event.key];
    if (steps) nudge(steps * (event.shiftKey ? FAR : 1));
    else if (event.key === "Home") move(minMm);
    else if (event.key === "End") move(maxMm);
    else return;
    event.preventDefault();
  }
  return element;
}
