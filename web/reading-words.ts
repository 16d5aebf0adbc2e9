import type { Hint, Reading } from "../vision/contract/index.ts";
import { type ChangeSaid, hintOrder } from "../vision/telling/index.ts";
import { own, type SaidWords, saidWords, sourceWords } from "./said.ts";
import { bare, bareUnit, given } from "./units.ts";
import { currentLanguage, number, say, speech } from "./words.ts";

/** What a reading says, in the language and the units of whoever reads it. */

/**
 * Places along the outlet as people are shown them: mm, or per cent of the outlet when the deck's size is assumed.
 * An assumed deck is a rectangle whose outlet runs along its end and its low side, so the grid gives its length.
 */
export function outletUnits(reading: Pick<Reading, "scale" | "grid">) {
  const grid = reading.grid ?? { mmPerCell: 1, columns: 1, rows: 1 };
  const assumed = reading.scale === "assumed";
  const totalMm = (grid.columns + grid.rows) * grid.mmPerCell;
  const place = (mm: number) => (assumed ? number((100 * mm) / totalMm, 1) : number(mm));
  const beside = (mm: number) => (assumed ? place(mm) : bare(Math.round(mm), "mm"));
  return {
    assumed,
    unit: assumed ? "%" : bareUnit("mm"),
    number: beside,
    say: (mm: number) => (assumed ? `${place(mm)} %` : given(Math.round(mm), "mm")),
    error: (mm: number | null) =>
      mm === null ? "" : ` ±\u00a0${assumed ? place(mm) : bare(Math.max(1, mm), "mm", 0)}`,
    /** For scales, where there is room for one unit only. */
    scaleUnit: assumed ? "%" : "mm",
    scale: place,
  };
}

/** What may be wrong with a photo, what matters most first; what to do is said by its name. */
export const ISSUES = [
  "dark",
  "burnt",
  "no-deck",
  "corners-hand",
  "turn-unsure",
  "cut-off",
  "far",
  "flat",
  "glare",
  "shake-blur",
  "blurred",
  "coarse",
  "place",
] as const;

/** What limits a photo; of an older reading, which has no names, what the page says of the kind where it is not English. */
export function issueWords({ kind, say: stored, said }: Reading["quality"]["issues"][number]): SaidWords {
  const known = said || currentLanguage() === "en" ? undefined : ISSUES.find((name) => name === kind);
  return known ? own(say(`issue.${known}`)) : saidWords(stored, said);
}

/** The texts of a hint. */
export const hintWords = ({ because, expect, caution, basis, said }: Hint) => ({
  because: because.map((text, i) => saidWords(text, said?.because[i])),
  expect: saidWords(expect, said?.expect),
  caution: caution === null ? null : saidWords(caution, said?.caution),
  basis: basis.map(sourceWords),
});

/** A hint's change, as one order. */
export const hintHeadline = (hint: ChangeSaid, reading: Reading): string => {
  const { say: place, assumed } = outletUnits(reading);
  return hintOrder(speech, hint, { amount: given, place, assumed });
};
