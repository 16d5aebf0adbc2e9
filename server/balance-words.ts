import { sayMeasured } from "../vision/accounts/index.ts";
import type { RunBalance } from "../vision/contract/index.ts";

/** A balance in words and rows, as the command and reports show it. */

type Product = RunBalance["products"][number];

export const FIGURE_HEADS = ["stream", "figure", "given", "balanced", ""];

/** Masses, water and assays, given and balanced, ± one standard error. */
export function figureRows({ lines, products }: RunBalance): string[][] {
  const metals = new Set(products.flatMap(({ metals }) => metals.map(({ metal }) => metal)));
  const show = (value: number | null, error: number | null) =>
    value === null ? "not known" : sayMeasured({ value, error: error ?? 0 });
  return lines
    .filter(({ item }) => item === "dry mass" || item === "water" || metals.has(item))
    .filter(({ given, balanced }) => given !== null || balanced !== null)
    .map(({ stream, item, unit, given, givenError, balanced, balancedError, off, misfit }) => [
      stream,
      `${item}, ${unit}`,
      given === null ? "not measured" : show(given, givenError),
      show(balanced, balancedError),
      misfit ? "left out" : given === null ? "" : off === null ? "unchecked" : `${Math.abs(off).toFixed(1)} errors off`,
    ]);
}

export const percentOf = (found: Product["share"]) =>
  found ? `${sayMeasured({ value: 100 * found.value, error: 100 * (found.error ?? 0) })} %` : "not known";

export function sayProduct({ stream, share, metals }: Product): string[] {
  return [
    `${stream}: ${percentOf(share)} of the feed`,
    ...metals.map(({ metal, gradePercent, recovery, enrichment, separation }) => {
      const parts = [
        `${gradePercent ? measured(gradePercent) : "?"} % ${metal}`,
        `${percentOf(recovery)} of it recovered`,
        ...(enrichment ? [`${measured(enrichment)} times the feed's grade`] : []),
        ...(separation ? [`separation efficiency ${percentOf(separation)}`] : []),
      ];
      return `  ${parts.join("; ")}`;
    }),
  ];
}

export function sayMiddling({ choice, because, worth, caution, basis }: NonNullable<RunBalance["middling"]>): string[] {
  const words = {
    rerun: "Run it again.",
    regrind: "Grind it finer and run it again.",
    discard: "Discard it.",
    "look closer": "Look closer before you decide.",
  };
  return [
    words[choice],
    ...because.map((why) => `Why: ${why}`),
    ...Object.entries(worth ?? {}).map(
      ([way, { value, error }]) =>
        `To ${way} it: ${Math.round(value)} ± ${Math.max(1, Math.round(error ?? 0))} a tonne`,
    ),
    ...(caution ? [`Caution: ${caution}`] : []),
    `Rests on: ${basis.map(({ source, kind }) => `${source} (${kind})`).join("; ")}.`,
  ];
}

export function sayCheck({ stream, what, found, from, to, unit }: RunBalance["checks"][number]): string {
  const between = from === null || to === null ? "" : ` (${short(from)} to ${short(to)})`;
  return `${stream}, ${what}: ${measured(found)} ${unit}${between}`;
}

/** A figure ± one standard error. */
export const measured = ({ value, error }: { value: number; error: number | null }) =>
  sayMeasured({ value, error: error ?? 0 });
const short = (value: number) => String(Number(value.toPrecision(2)));
