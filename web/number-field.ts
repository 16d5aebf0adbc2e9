import { labelled } from "./element.ts";
import { typedNumber } from "./typed-number.ts";
import { typedUnit, type Unit } from "./units.ts";
import { say } from "./words.ts";

/**
 * A number to be typed, or nothing; what stands out of its limits is not put.
 *
 * @param words   What it is, in the unit it is given.
 * @param whole   What the field is called where it stands alone, without its unit; left out: the words before the first comma.
 * @param limits  Metric, as what is put and heard.
 * @param put     Hears each number, and null for nothing.
 */
export function numberField(
  id: string,
  unit: Unit,
  words: (unit: string) => string,
  whole: string | null,
  limits: readonly [number, number],
  put: (value: number | null) => void,
) {
  const label = words(typedUnit(unit).unit);
  const heard = () => {
    if (field.validity.valid) put(value());
  };
  const typed = typedNumber(id, unit, limits, heard, { "aria-label": whole === label ? null : whole });
  const { field, value } = typed;
  /** What it takes, in words. */
  const range = say("settings.fault", { field: whole ?? label.split(/[,،]/)[0]!, ...typed.range });
  return { field, value, put: typed.put, range, row: labelled(label, field) };
}
