import { el, labelled } from "./element.ts";
import { number, say } from "./words.ts";

/**
 * A number to be typed, or nothing; what stands out of its limits is not put.
 *
 * @param whole  What the field is called where it stands alone, without its unit.
 * @param put    Hears each number, and null for nothing.
 */
export function numberField(
  id: string,
  words: string,
  whole: string,
  [least, most]: readonly [number, number],
  put: (value: number | null) => void,
) {
  const value = () => (field.validity.valid && field.value !== "" ? field.valueAsNumber : null);
  const field = el("input", {
    id,
    type: "number",
    inputmode: "decimal",
    min: least,
    max: most,
    step: "any",
    "aria-label": whole === words ? null : whole,
    oninput: () => {
      if (field.validity.valid) put(value());
    },
  });
  /** What it takes, in words. */
  const range = say("settings.fault", { field: whole, least: number(least), most: number(most) });
  return { field, value, range, row: labelled(words, field) };
}
