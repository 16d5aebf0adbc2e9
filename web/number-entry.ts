import { el, labelled } from "./element.ts";
import { keepEntry, keptEntries } from "./set-up-kept.ts";
import { typedNumber } from "./typed-number.ts";
import { typedUnit, type Unit } from "./units.ts";
import { say } from "./words.ts";

/** A number to be typed. */
export interface NumberEntry {
  readonly element: HTMLElement;
  /** Null where nothing is typed, or no number within the limits. */
  readonly value: () => number | null;
  /** Put a number there, as if it had been typed, rounded to hundredths. */
  readonly put: (value: number) => void;
}

/**
 * @param name     Its own among all entries; by it what was typed last is kept on this device, in the metric unit.
 * @param words    What it is, in the unit it is given.
 * @param limits   Metric, as `first` is and all that is put and read.
 * @param changed  Called after each change.
 * @param first    What stands there at first.
 * @param isKept   Whether it stands there again; a reading of the table must be taken anew.
 */
export function numberEntry(
  name: string,
  unit: Unit,
  words: (unit: string) => string,
  limits: readonly [number, number],
  changed: () => void,
  first: number | null = null,
  isKept = true,
): NumberEntry {
  const id = `set-up-${name}`;
  const fault = el("p", { class: "fault", id: `${id}-fault`, role: "status" });
  const typed = () => {
    if (isKept) keepEntry(name, String(number.anyValue() ?? ""));
    check();
    changed();
  };
  const number = typedNumber(id, unit, limits, typed, { "aria-describedby": `${id}-fault` });
  const check = () => {
    fault.textContent = number.field.validity.valid ? "" : say("setup.range", number.range);
  };
  const stored = isKept ? keptEntries()[name] : undefined;
  number.put(stored === undefined ? first : stored === "" ? null : Number(stored));
  check();
  const element = labelled(words(typedUnit(unit).unit), number.field, fault);
  const put = (to: number) => {
    number.put(Math.round(to * 100) / 100);
    number.field.dispatchEvent(new Event("input"));
  };
  return { element, value: number.value, put };
}
