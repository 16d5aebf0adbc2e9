import { el } from "./element.ts";
import { typedUnit, type Unit } from "./units.ts";
import { number } from "./words.ts";

/** A field for a number, typed in the unit that the person wants, put and read in the metric one. */
export interface TypedNumber {
  readonly field: HTMLInputElement;
  /** Null where nothing is typed, or no number within the limits. What was put and not typed over is read as it was put. */
  readonly value: () => number | null;
  /** Whatever number stands there, even out of the limits; null for none. */
  readonly anyValue: () => number | null;
  readonly put: (metric: number | null) => void;
  /** The limits in words, in the unit that is typed. */
  readonly range: { readonly least: string; readonly most: string };
}

/** @param limits  Metric; null for none. @param typed  Called after each change by hand. */
export function typedNumber(
  id: string,
  unit: Unit,
  limits: readonly [least: number, most: number] | null,
  typed: () => void,
  attributes: Record<string, string | boolean | null> = {},
): TypedNumber {
  const { shown, metric } = typedUnit(unit);
  // what is kept must lie within, so that a limit that was rounded outward moves in
  const bound = (limit: number, inward: number) => {
    const at = shown(limit);
    return inward * (metric(at) - limit) < 0 ? Number((at + inward / 1000).toFixed(3)) : at;
  };
  const [least, most] = limits ? [bound(limits[0], 1), bound(limits[1], -1)] : [null, null];
  const field = el("input", {
    id,
    type: "number",
    inputmode: "decimal",
    min: least,
    max: most,
    step: "any",
    oninput: typed,
    ...attributes,
  });
  let stood: { readonly text: string; readonly value: number } | null = null;
  const anyValue = () => {
    if (field.value === "") return null;
    return stood?.text === field.value ? stood.value : metric(field.valueAsNumber);
  };
  return {
    field,
    anyValue,
    value: () => (field.validity.valid ? anyValue() : null),
    put: (value) => {
      field.value = value === null ? "" : String(shown(value));
      stood = value === null ? null : { text: field.value, value };
    },
    range: { least: number(least ?? 0, 0, 3), most: number(most ?? 0, 0, 3) },
  };
}
