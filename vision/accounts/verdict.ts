import type { Measured } from "../process/range.ts";
import type { Item } from "./balances.ts";
import type { Judged, Misfit } from "./gross-errors.ts";

/** What was balanced, for the words: solids by weight with assays, or water. */
export type Balanced = "mass" | "water";

/**
 * A balance judged, in plain words: what does not fit and what to do about it.
 *
 * @param unit  Of the masses, such as "kg".
 */
export function sayVerdict(judged: Judged, unit: string, what: Balanced = "mass"): string[] {
  const { after, misfits, fits, chiSquareLimit } = judged;
  const untold = after.streams.flatMap(({ name, mass, assays }) =>
    [[null, mass] as const, ...Object.entries(assays)].flatMap(([assay, { value }]) =>
      value === null ? [nameOf({ stream: name, assay }, what)] : [],
    ),
  );
  const negative = after.streams.flatMap(({ name, mass, assays }) =>
    [[null, mass] as const, ...Object.entries(assays)].flatMap(([assay, { value }]) =>
      value !== null && value < 0 ? [nameOf({ stream: name, assay }, what)] : [],
    ),
  );
  return [
    ...misfits.flatMap((misfit) => sayMisfit(misfit, unit, what, judged)),
    ...(chiSquareLimit === null
      ? [
          misfits.length > 0
            ? "What is left cannot be checked any more."
            : "Nothing checks these figures: weigh or assay one more.",
        ]
      : [sayWhole(judged, chiSquareLimit, fits)]),
    ...(untold.length > 0 ? [`Cannot be told from these figures: ${untold.join(", ")}. Measure what you need.`] : []),
    ...(negative.length > 0 ? [`Comes out below nothing: ${negative.join(", ")}. Look for exchanged samples.`] : []),
  ];
}

function sayWhole({ after, misfits }: Judged, limit: number, fits: boolean): string {
  const told = `chi-square ${after.chiSquare.toFixed(1)}; up to ${limit.toFixed(1)} is usual with ${after.freedom} ${after.freedom === 1 ? "check" : "checks"}`;
  if (fits) return misfits.length > 0 ? `The others fit together (${told}).` : `All figures fit together (${told}).`;
  return misfits.length > 0
    ? `The others still do not fit together (${told}). Sample this run anew.`
    : `The figures differ by more than their errors (${told}), but none stands out. The errors may be set too small, or something was not weighed.`;
}

function sayMisfit(
  { stream, assay, measured, expected, off, orElse }: Misfit,
  unit: string,
  what: Balanced,
  judged: Judged,
) {
  const own = assay === null ? unit : "";
  const show = (m: Measured) => `${sayMeasured(m)}${own ? ` ${own}` : ""}`;
  const again = assay !== null ? "assay it again" : what === "water" ? "measure it again" : "weigh it again";
  const rest = expected ? `; the other figures say ${show(expected)}` : "";
  const others = orElse.map((item) => nameOf(item, what));
  const feed = judged.before.streams.find(({ name }) => name === stream);
  const short = assay === null && feed?.from === null && expected !== null && expected.value < measured.value;
  return [
    `The ${nameOf({ stream, assay }, what)} does not fit; ${again}. It was given as ${show(measured)}${rest} (${off.toFixed(1)} standard errors off).`,
    ...(others.length > 0 ? [`It may also be the ${listed(others)}: the figures cannot tell these apart.`] : []),
    ...(short
      ? [
          `Or ${what === "water" ? "water" : "solids"} left where nobody measured: floor, sump, what stayed on the deck.`,
        ]
      : []),
  ];
}

const nameOf = ({ stream, assay }: Item, what: Balanced) =>
  assay === null ? `${stream} ${what}` : `${assay} assay of the ${stream}`;

const listed = (names: readonly string[]) =>
  names.length < 2 ? (names[0] ?? "") : `${names.slice(0, -1).join(", the ")} or the ${names.at(-1)}`;

/** A number with its standard error, to two digits of the error: "41.3 ± 2.4". */
export function sayMeasured({ value, error }: Measured): string {
  if (!(error > 0) || !Number.isFinite(error)) return `${Number(value.toPrecision(4))}`;
  const digits = Math.min(8, Math.max(0, 1 - Math.floor(Math.log10(error))));
  return `${value.toFixed(digits)} ± ${error.toFixed(digits)}`;
}
