import type { Speech } from "./speech.ts";

/** A weight to be taken at least, rounded up to two digits. @param grams  Above 0. */
export function weightUp(speech: Speech, grams: number): string {
  const step = 10 ** (Math.floor(Math.log10(grams)) - 1);
  const up = Math.ceil(grams / step - 1e-9) * step;
  const [value, unit] = up >= 1000 ? [up / 1000, "kg"] : [up, "g"];
  return `${speech.number(Number(value.toPrecision(3)), 0, 6)} ${unit}`;
}
