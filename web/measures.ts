import { keepEntry, keptEntries } from "./set-up-kept.ts";
import { inPerFtFromMmPerM, type Measured, usGallonsFromLitres } from "./set-up-sums.ts";
import { number, say } from "./words.ts";

/** Numbers of the set-up with their units: metric, with US units beside where the person wants them. */

export type Unit = "mm" | "mm/m" | "L/min" | "°" | "s" | "%" | "kg/h" | "m³" | "";

/** The inch, mm, by definition (NIST Handbook 44, appendix C). */
const MM_PER_INCH = 25.4;
interface US {
  readonly unit: string;
  readonly digits: number;
  readonly from: (value: number) => number;
}
const US_UNITS: Partial<Record<Unit, US>> = {
  mm: { unit: "in", digits: 2, from: (mm) => mm / MM_PER_INCH },
  "mm/m": { unit: "in/ft", digits: 3, from: inPerFtFromMmPerM },
  "L/min": { unit: "US gal/min", digits: 2, from: usGallonsFromLitres },
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
  "": 1,
};

const CHOICE = "us-units";
export const showsUs = (): boolean => keptEntries()[CHOICE] === "yes";
export const chooseUs = (wanted: boolean): boolean => keepEntry(CHOICE, wanted ? "yes" : "no");

/** A number with its standard error, where it has one, and its unit; in US units beside, where wanted. */
export function measured({ value, error }: Measured | { value: number; error: null }, unit: Unit): string {
  const written = (digits: number, name: string, of: (v: number) => number = (v) => v) => {
    const doubt = error !== null && Number.isFinite(error) ? ` ±\u00a0${number(of(error), digits)}` : "";
    return `${number(of(value), digits)}${doubt}${name && `\u00a0${name}`}`;
  };
  const metric = written(DIGITS[unit], unit);
  const us = showsUs() ? US_UNITS[unit] : undefined;
  return us ? say("setup.beside", { metric, us: written(us.digits, us.unit, us.from) }) : metric;
}
export const exact = (value: number, unit: Unit) => measured({ value, error: null }, unit);
