import { el, labelled } from "./element.ts";
import { keepEntry, keptEntries } from "./set-up-kept.ts";
import { number, say } from "./words.ts";

/** A number to be typed. */
export interface NumberEntry {
  readonly element: HTMLElement;
  /** Null where nothing is typed, or no number within the limits. */
  readonly value: () => number | null;
  /** Put a number there, as if it had been typed, rounded to hundredths. */
  readonly put: (value: number) => void;
}

/**
 * @param name     Its own among all entries; by it what was typed last is kept on this device.
 * @param words    What it is, with its unit.
 * @param changed  Called after each change.
 * @param first    What stands there at first.
 * @param isKept   Whether it stands there again; a reading of the table must be taken anew.
 */
export function numberEntry(
  name: string,
  words: string,
  [least, most]: readonly [number, number],
  changed: () => void,
  first: number | null = null,
  isKept = true,
): NumberEntry {
  const id = `set-up-${name}`;
  const fault = el("p", { class: "fault", id: `${id}-fault`, role: "status" });
  const field = el("input", {
    id,
    type: "number",
    inputmode: "decimal",
    min: least,
    max: most,
    step: "any",
    "aria-describedby": `${id}-fault`,
    oninput: () => {
      if (isKept) keepEntry(name, field.value);
      check();
      changed();
    },
  });
  const check = () => {
    const range = { least: number(least, 0, 3), most: number(most, 0, 3) };
    fault.textContent = field.validity.valid ? "" : say("setup.range", range);
  };
  field.value = (isKept ? keptEntries()[name] : null) ?? String(first ?? "");
  check();
  const element = labelled(words, field, fault);
  const value = () => (field.validity.valid && field.value !== "" ? field.valueAsNumber : null);
  const put = (to: number) => {
    field.value = String(Math.round(to * 100) / 100);
    field.dispatchEvent(new Event("input"));
  };
  return { element, value, put };
}
