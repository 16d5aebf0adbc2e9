import type { Product } from "../contract/index.ts";

/**
 * How each class is drawn: a colour and a hatch, so that neither alone has to carry the meaning. Dark to pale as
 * dense to light; blue-violet, orange and pale cyan stay apart with every common kind of colour blindness.
 */
export interface ClassLook {
  readonly kind: Product;
  readonly number: number;
  readonly colour: string;
  /** Colour of words on or beside it, and of the halo behind them. */
  readonly words: string;
  readonly halo: string;
  readonly fillOpacity: number;
}
export const CLASS_LOOKS: readonly ClassLook[] = [
  { kind: "dense", number: 2, colour: "#3a1fd6", words: "#ffffff", halo: "#2411a0", fillOpacity: 0.42 },
  { kind: "middling", number: 3, colour: "#ff9500", words: "#1c1000", halo: "#ffb340", fillOpacity: 0.34 },
  { kind: "light", number: 4, colour: "#bdf6ff", words: "#00252e", halo: "#d4faff", fillOpacity: 0.34 },
];
export const DRY_COLOUR = "#e6007a";

/** Hatch patterns, each in two tones; `unit` is about the line spacing in picture pixels. */
export function hatchPatterns(unit: number): string {
  const line = (id: string, step: number, turn: number, colour: string, edge: string, width: number) =>
    `<pattern id="${id}" width="${step}" height="${step}" patternUnits="userSpaceOnUse" patternTransform="rotate(${turn})">` +
    `<rect x="0" y="0" width="${width * 1.7}" height="${step}" fill="${edge}" fill-opacity="0.45"/>` +
    `<rect x="0" y="0" width="${width}" height="${step}" fill="${colour}" fill-opacity="0.95"/></pattern>`;
  const round = (n: number) => Math.round(n * 10) / 10;
  const [dense, middling, light] = CLASS_LOOKS as [ClassLook, ClassLook, ClassLook];
  const dot = round(unit * 0.16);
  return (
    line("db-dense", round(unit * 0.85), 45, dense.colour, "#ffffff", round(unit * 0.2)) +
    line("db-middling", round(unit * 1.3), -45, middling.colour, "#000000", round(unit * 0.2)) +
    line("db-light", round(unit * 1.7), 0, light.colour, "#000000", round(unit * 0.18)) +
    `<pattern id="db-unseen" width="${round(unit * 1.1)}" height="${round(unit * 1.1)}" patternUnits="userSpaceOnUse">` +
    `<circle cx="${round(unit * 0.5)}" cy="${round(unit * 0.5)}" r="${round(dot * 1.5)}" fill="#101418"/>` +
    `<circle cx="${round(unit * 0.5)}" cy="${round(unit * 0.5)}" r="${dot}" fill="#e4e4e4"/></pattern>`
  );
}
