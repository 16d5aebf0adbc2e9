import { keepEntry, keptEntries } from "./set-up-kept.ts";
import { number, say } from "./words.ts";

/** Quantities with their units: metric, with US units beside where the person wants them. */

export type Unit = "mm" | "mm/m" | "L/min" | "L" | "°" | "s" | "%" | "kg/h" | "m³" | "°C" | "1/min" | "cm²" | "";

interface US {
  readonly unit: string;
  readonly digits: number;
  /** How much of the metric unit is one of these. */
  readonly per: number;
  /** What stands here where the metric unit stands at 0. */
  readonly zero?: number;
}
/** By definition: inch 25.4 mm, US gallon 3.785411784 L, pound 0.45359237 kg (NIST Handbook 44, appendix C). */
const GALLON_L = 3.785411784;
const US_UNITS: Readonly<Record<string, US>> = {
  mm: { unit: "in", digits: 2, per: 25.4 },
  "mm/m": { unit: "in/ft", digits: 3, per: 25.4 / 0.3048 },
  "L/min": { unit: "US gal/min", digits: 2, per: GALLON_L },
  L: { unit: "US gal", digits: 2, per: GALLON_L },
  "cm²": { unit: "sq in", digits: 1, per: 2.54 ** 2 },
  "kg/h": { unit: "lb/h", digits: 0, per: 0.45359237 },
  "m³": { unit: "US gal", digits: 0, per: GALLON_L / 1000 },
  "°C": { unit: "°F", digits: 0, per: 1 / 1.8, zero: 32 },
};
const toUs = ({ per, zero = 0 }: US, metric: number) => metric / per + zero;
const DIGITS: Record<Unit, number> = {
  mm: 1,
  "mm/m": 1,
  "L/min": 1,
  L: 1,
  "°": 2,
  s: 1,
  "%": 1,
  "kg/h": 0,
  "m³": 1,
  "°C": 0,
  "1/min": 0,
  "cm²": 0,
  "": 1,
};

const CHOICE = "us-units";
export const showsUs = (): boolean => keptEntries()[CHOICE] === "yes";
export const chooseUs = (wanted: boolean): boolean => keepEntry(CHOICE, wanted ? "yes" : "no");

interface Quantity {
  readonly value: number;
  /** One standard error; null where there is none. */
  readonly error: number | null;
}
/** A quantity in words: at least so many decimals in metric units, more where `most` allows and they say something. */
function written({ value, error }: Quantity, unit: string, least: number, most: number): string {
  const one = (name: string, figures: (v: number) => string, of: US = { unit, digits: 0, per: 1 }) => {
    const doubt = error !== null && Number.isFinite(error) ? ` ±\u00a0${figures(error / of.per)}` : "";
    const told = `${figures(toUs(of, value))}${doubt}`;
    return name === "1/min" ? say("said.unit.strokes", { value: told }) : `${told}${name && `\u00a0${name}`}`;
  };
  const metric = one(unit, (v) => number(v, least, most));
  const us = showsUs() ? US_UNITS[unit] : undefined;
  return us ? say("setup.beside", { metric, us: one(us.unit, (v) => number(v, us.digits), us) }) : metric;
}

/** A measured quantity, with the decimals that its unit usually has. */
export const measured = (quantity: Quantity, unit: Unit): string => written(quantity, unit, DIGITS[unit], DIGITS[unit]);
export const exact = (value: number, unit: Unit) => measured({ value, error: null }, unit);
/** A quantity with the decimals it was given with, two at the most. */
export const given = (value: number, unit: string, error: number | null = null) =>
  written({ value, error }, unit, 0, 2);
/** The same without its unit, for tables whose heads have it. @param digits  At the most. */
export function bare(value: number, unit: string, digits = 2): string {
  const us = showsUs() ? US_UNITS[unit] : undefined;
  const metric = number(value, 0, digits);
  return us ? say("setup.beside", { metric, us: number(toUs(us, value), us.digits) }) : metric;
}
export function bareUnit(unit: string): string {
  const us = showsUs() ? US_UNITS[unit] : undefined;
  return us ? say("setup.beside", { metric: unit, us: us.unit }) : unit;
}

/** How a quantity is typed: in US units where the person wants them. */
export interface TypedUnit {
  readonly unit: string;
  /** As it stands in a field, with one decimal more than is shown elsewhere. */
  readonly shown: (metric: number) => number;
  readonly metric: (typed: number) => number;
}
export function typedUnit(unit: Unit): TypedUnit {
  const us = showsUs() ? US_UNITS[unit] : undefined;
  if (!us) return { unit, shown: (metric) => metric, metric: (typed) => typed };
  return {
    unit: us.unit,
    shown: (metric) => Number(toUs(us, metric).toFixed(us.digits + 1)),
    metric: (typed) => Number(((typed - (us.zero ?? 0)) * us.per).toPrecision(9)),
  };
}
