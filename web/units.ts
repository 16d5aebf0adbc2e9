import { keepEntry, keptEntries } from "./set-up-kept.ts";
import { number, say } from "./words.ts";

/** Quantities with their units: metric, with US units beside where the person wants them. */

export type Unit = "mm" | "mm/m" | "L/min" | "°" | "s" | "%" | "kg/h" | "m³" | "°C" | "1/min" | "cm²" | "";

interface US {
  readonly unit: string;
  readonly digits: number;
  readonly from: (value: number) => number;
  /** Where a difference is not turned over as a value is. */
  readonly difference?: (value: number) => number;
}
/** By definition: inch 25.4 mm, US gallon 3.785411784 L, pound 0.45359237 kg (NIST Handbook 44, appendix C). */
const US_UNITS: Readonly<Record<string, US>> = {
  mm: { unit: "in", digits: 2, from: (mm) => mm / 25.4 },
  "mm/m": { unit: "in/ft", digits: 3, from: (mmPerM) => (mmPerM * 0.3048) / 25.4 },
  "L/min": { unit: "US gal/min", digits: 2, from: (litres) => litres / 3.785411784 },
  "cm²": { unit: "sq in", digits: 1, from: (cm2) => cm2 / 2.54 ** 2 },
  "kg/h": { unit: "lb/h", digits: 0, from: (kg) => kg / 0.45359237 },
  "m³": { unit: "US gal", digits: 0, from: (m3) => (1000 * m3) / 3.785411784 },
  "°C": { unit: "°F", digits: 0, from: (celsius) => 1.8 * celsius + 32, difference: (by) => 1.8 * by },
};
const DIGITS: Record<Unit, number> = {
  mm: 1,
  "mm/m": 1,
  "L/min": 1,
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
  const one = (name: string, figures: (v: number) => string, of: US = { unit, digits: 0, from: (v) => v }) => {
    const doubt =
      error !== null && Number.isFinite(error) ? ` ±\u00a0${figures((of.difference ?? of.from)(error))}` : "";
    const told = `${figures(of.from(value))}${doubt}`;
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
  return us ? say("setup.beside", { metric, us: number(us.from(value), us.digits) }) : metric;
}
export function bareUnit(unit: string): string {
  const us = showsUs() ? US_UNITS[unit] : undefined;
  return us ? say("setup.beside", { metric: unit, us: us.unit }) : unit;
}
