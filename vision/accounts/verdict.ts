import type { Told } from "../contract/index.ts";
import type { Measured } from "../process/range.ts";
import type { Item } from "./balances.ts";
import type { Judged, Misfit } from "./gross-errors.ts";

/** What was balanced, for the words: solids by weight with assays, or water. */
export type Balanced = "mass" | "water";

/**
 * A balance judged: what does not fit and what to do about it, sentence by sentence.
 *
 * @param unit  Of the masses, such as "kg".
 */
export function verdictOf(judged: Judged, unit: string, what: Balanced = "mass"): Told[] {
  const { after, misfits, chiSquareLimit } = judged;
  const figures = after.streams.flatMap(({ name, mass, assays }) =>
    [[null, mass] as const, ...Object.entries(assays)].map(([assay, { value }]) => ({
      item: itemOf({ stream: name, assay }, what),
      value,
    })),
  );
  const untold = figures.filter(({ value }) => value === null).map(({ item }) => item);
  const negative = figures.filter(({ value }) => value !== null && value < 0).map(({ item }) => item);
  return [
    ...misfits.flatMap((misfit) => tellMisfit(misfit, unit, what, judged)),
    chiSquareLimit === null
      ? { code: misfits.length > 0 ? "fit.unchecked" : "fit.nothingChecks", values: {} }
      : tellWhole(judged, chiSquareLimit),
    ...(untold.length > 0 ? [{ code: "fit.untold", values: { items: untold } }] : []),
    ...(negative.length > 0 ? [{ code: "fit.negative", values: { items: negative } }] : []),
  ];
}

function tellWhole({ after, misfits, fits }: Judged, limit: number): Told {
  const code = fits
    ? misfits.length > 0
      ? "fit.others"
      : "fit.all"
    : misfits.length > 0
      ? "fit.othersNot"
      : "fit.none";
  const figures = { chiSquare: oneDigit(after.chiSquare), limit: oneDigit(limit) };
  return { code, values: { ...figures, checks: after.freedom } };
}
const oneDigit = (value: number) => ({ value: Math.round(value * 10) / 10, error: null, unit: "" });

function tellMisfit(
  { stream, assay, measured, expected, off, orElse }: Misfit,
  unit: string,
  what: Balanced,
  judged: Judged,
): Told[] {
  const figure = (m: Measured) => ({ value: m.value, error: m.error, unit: assay === null ? unit : "" });
  const feed = judged.before.streams.find(({ name }) => name === stream);
  const short = assay === null && feed?.from === null && expected !== null && expected.value < measured.value;
  return [
    {
      code: `misfit.${assay === null ? what : "assay"}`,
      values: {
        item: itemOf({ stream, assay }, what),
        given: figure(measured),
        expected: figure(expected ?? measured),
        hasExpected: expected ? "yes" : "no",
        off: oneDigit(off),
      },
    },
    ...(orElse.length > 0
      ? [{ code: "misfit.orElse", values: { items: orElse.map((one) => itemOf(one, what)) } }]
      : []),
    ...(short ? [{ code: `misfit.left.${what}`, values: {} }] : []),
  ];
}

const itemOf = ({ stream, assay }: Item, what: Balanced) => ({
  stream,
  item: assay ?? (what === "water" ? "water" : "dry mass"),
});

/** A number with its standard error, to two digits of the error: "41.3 ± 2.4". */
export function sayMeasured({ value, error }: Measured): string {
  if (!(error > 0) || !Number.isFinite(error)) return `${Number(value.toPrecision(4))}`;
  const digits = Math.min(8, Math.max(0, 1 - Math.floor(Math.log10(error))));
  return `${value.toFixed(digits)} ± ${error.toFixed(digits)}`;
}
