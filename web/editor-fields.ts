import { button, el, labelled } from "./element.ts";
import { type TypedNumber, typedNumber } from "./typed-number.ts";
import { typedUnit, type Unit } from "./units.ts";
import { type Key, say } from "./words.ts";

/** Fields of the deck editor, each by its id. */

/** A text of the deck file. */
export function textField(id: string, first: string, change: (value: string) => void): HTMLInputElement {
  const made = el("input", { id, type: "text", oninput: () => change(made.value) });
  made.value = first;
  return made;
}

type Numbered = Pick<TypedNumber, "field" | "put"> & { readonly element: HTMLElement };
/** A number of the deck file, with its words. */
export const numberField = (id: string, unit: Unit, words: Words, first: number, change: (value: number) => void) =>
  // nothing typed is no number: the check then names the field
  optionalField(id, unit, words, first, (value) => change(value ?? Number.NaN));
export function optionalField(
  id: string,
  unit: Unit,
  words: Words,
  first: number | undefined,
  change: (value: number | null) => void,
): Numbered {
  const typed = typedNumber(id, unit, null, () => change(typed.anyValue()));
  typed.put(first ?? null);
  return { ...typed, element: labelled(words(typedUnit(unit).unit), typed.field) };
}
/** What a field is, in the unit it is given. */
type Words = (unit: string) => string;

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
  numbers: readonly (readonly [words: Key, unit: Unit, value: number, change: (value: number) => void])[],
  drop: (() => void) | null,
): HTMLElement {
  const id = `editor-row-${++rows}`;
  return el(
    "fieldset",
    { class: "editor-row" },
    el("legend", {}, title),
    ...numbers.map(
      ([words, unit, value, change], i) =>
        numberField(`${id}-${i}`, unit, (typed) => say(words, { nth: title, unit: typed }), value, change).element,
    ),
    drop && button("×", drop, { class: "quiet remove", "aria-label": say("editor.drop", { name: title }) }),
  );
}
