import { button, el, labelled } from "./element.ts";
import { say } from "./words.ts";

/** Fields of the deck editor, each by its id. */

/** A field of the deck file. */
export function field(
  id: string,
  type: "text" | "number",
  first: string,
  change: (value: string) => void,
): HTMLInputElement {
  const made = el("input", {
    id,
    type,
    ...(type === "number" && { inputmode: "decimal", step: "any" }),
    oninput: () => change(made.value),
  });
  made.value = first;
  return made;
}
export const numberField = (id: string, first: number, change: (value: number) => void) =>
  // nothing typed is no number: the check then names the field
  field(id, "number", String(first), (value) => change(value === "" ? Number.NaN : Number(value)));
export const optionalField = (id: string, first: number | undefined, change: (value: number | null) => void) =>
  field(id, "number", String(first ?? ""), (value) => change(value === "" ? null : Number(value)));

/** One of some names, chosen from a list. */
export function picker<Name extends string>(
  id: string,
  names: readonly Name[],
  chosen: Name,
  words: (name: Name) => string,
  choose: (name: Name) => void,
): HTMLSelectElement {
  const select = el(
    "select",
    { id, onchange: () => choose(select.value as Name) },
    ...names.map((name) => el("option", { value: name, selected: name === chosen }, words(name))),
  );
  return select;
}

/** Yes or no. */
export function tick(id: string, words: string, first: boolean, change: (yes: boolean) => void): HTMLElement {
  const box = el("input", { id, type: "checkbox", checked: first, onchange: () => change(box.checked) });
  return el("div", { class: "check" }, box, el("label", { for: id }, words));
}

let rows = 0;
/** Numbers of one thing, side by side. @param drop  Null where it must stay. */
export function row(
  title: string,
  numbers: readonly (readonly [words: string, value: number, change: (value: number) => void])[],
  drop: (() => void) | null,
): HTMLElement {
  const id = `editor-row-${++rows}`;
  return el(
    "fieldset",
    { class: "editor-row" },
    el("legend", {}, title),
    ...numbers.map(([words, value, change], i) => labelled(words, numberField(`${id}-${i}`, value, change))),
    drop && button("×", drop, { class: "quiet remove", "aria-label": say("editor.drop", { name: title }) }),
  );
}
