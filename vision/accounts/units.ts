import { litresFromUsGallons, mmPerMFromDegrees, mmPerMFromInPerFt } from "../process/slope-units.ts";

/** What a figure of a run is of; each is kept in the first unit of its list. */
export type Quantity =
  | "mass"
  | "time"
  | "hours"
  | "percent"
  | "grade"
  | "flow"
  | "rate"
  | "slope"
  | "length"
  | "frequency"
  | "count"
  | "money"
  | "price";

type Units = Readonly<Record<string, (value: number) => number>>;
const times = (factor: number) => (value: number) => value * factor;

/** Exact factors by definition (BIPM SI brochure; NIST Handbook 44, appendix C). */
const UNITS: Readonly<Record<Quantity, Units>> = {
  mass: { kg: times(1), g: times(1e-3), t: times(1000), lb: times(0.45359237) },
  time: { s: times(1), min: times(60), h: times(3600) },
  hours: { h: times(1), min: times(1 / 60), s: times(1 / 3600) },
  percent: { "%": times(1) },
  grade: { "%": times(1), "g/t": times(1e-4), ppm: times(1e-4), "kg/t": times(0.1) },
  flow: {
    "L/min": times(1),
    "L/s": times(60),
    "L/h": times(1 / 60),
    "m3/h": times(1000 / 60),
    "gal/min": litresFromUsGallons,
  },
  rate: {
    "kg/h": times(1),
    "kg/min": times(60),
    "t/h": times(1000),
    "t/d": times(1000 / 24),
    "lb/h": times(0.45359237),
  },
  slope: { "mm/m": times(1), "in/ft": mmPerMFromInPerFt, "°": mmPerMFromDegrees },
  length: { mm: times(1), cm: times(10), m: times(1000), in: times(25.4) },
  frequency: { "1/min": times(1), "strokes/min": times(1), Hz: times(60) },
  count: { grains: times(1) },
  money: { "per t": times(1) },
  price: { "per t": times(1), "per kg": times(1000), "per g": times(1e6) },
};

/** Other ways that people write a unit. */
const ALSO: Readonly<Record<string, string>> = {
  "m³/h": "m3/h",
  deg: "°",
  degrees: "°",
  rpm: "1/min",
  sec: "s",
  mins: "min",
  hours: "h",
  tonnes: "t",
  litres: "L",
};

/** The unit a quantity is kept and written in. */
export const keptUnit = (quantity: Quantity): string => Object.keys(UNITS[quantity])[0]!;
export const unitsOf = (quantity: Quantity): readonly string[] => Object.keys(UNITS[quantity]);

/** The way from a unit, as people write it, to the kept one; null when it is none of this quantity's. */
export function toKept(quantity: Quantity, unit: string): ((value: number) => number) | null {
  const written = ALSO[unit] ?? unit;
  const known = UNITS[quantity];
  const exact = Object.hasOwn(known, written) ? written : null;
  // capitals do not matter, except where they tell units apart, as they do nowhere within one quantity
  const name = exact ?? Object.keys(known).find((key) => key.toLowerCase() === written.toLowerCase());
  return name === undefined ? null : known[name]!;
}
