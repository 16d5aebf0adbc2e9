import { button, el } from "./element.ts";
import type { outletUnits } from "./reading-words.ts";
import { number, say, splitterName } from "./words.ts";

/** Splitters as a list: number, name, place in words, and buttons that move each by its step. */
export function splitterList(
  splitters: readonly { readonly name: string; readonly stepMm: number; readonly movable: boolean }[],
  units: ReturnType<typeof outletUnits>,
  nudge: (i: number, steps: number) => void,
) {
  const lines = splitters.map(({ name: own, stepMm, movable }, i) => {
    const name = splitterName(own);
    const at = el("output", {});
    const step = units.say(stepMm);
    const buttons = movable && [
      button("−", () => nudge(i, -1), { class: "quiet flat-step", "aria-label": say("flat.less", { name, step }) }),
      button("+", () => nudge(i, 1), { class: "quiet flat-step", "aria-label": say("flat.more", { name, step }) }),
    ];
    const line = el(
      "li",
      {},
      el("span", { class: "flat-number", "aria-hidden": "true" }, number(i + 1)),
      el("span", { class: "flat-name" }, el("b", {}, name), at),
      ...(buttons || []),
    );
    return { line, at };
  });
  /** @param places  In words, one a splitter. */
  const update = (places: readonly string[]) => {
    for (const [i, { at }] of lines.entries()) at.textContent = places[i]!;
  };
  return { element: el("ul", { class: "flat-splitters" }, ...lines.map(({ line }) => line)), update };
}
