import type { BalanceLine, RunBalance } from "../contract/index.ts";
import { writeCsv } from "./csv.ts";
import { figureOf, type Judged } from "./gross-errors.ts";
import type { ProductAccount, RunAccounts } from "./run-accounts.ts";

/** The columns of a balance as CSV. */
export const BALANCE_COLUMNS = [
  "stream",
  "item",
  "unit",
  "given",
  "given error",
  "balanced",
  "balanced error",
  "errors off",
  "misfit",
] as const;

/** Masses and assays of every stream, then water, then what follows for each product. */
export function balanceLines({ judged, unit, water, products }: RunAccounts): BalanceLine[] {
  return [
    ...figureLines(judged, "dry mass", unit),
    ...(water ? figureLines(water.judged, "water", water.unit) : []),
    ...products.flatMap(productLines),
  ];
}

/** All that a run adds up to, as it is exchanged: plain data, and no formula left in it. */
export function tellBalance(accounts: RunAccounts): RunBalance {
  const { run, unit, verdict, judged, products, water, middling, checks, notes } = accounts;
  const { stream, decision } = middling ?? { stream: "", decision: null };
  return {
    run,
    unit,
    verdict: [...verdict],
    fits: judged.fits && judged.misfits.length === 0,
    chiSquare: judged.after.chiSquare,
    freedom: judged.after.freedom,
    chiSquareLimit: judged.chiSquareLimit,
    lines: balanceLines(accounts),
    products: products.map((product) => ({ ...product, metals: [...product.metals] })),
    water: water && {
      unit: water.unit,
      verdict: [...water.verdict],
      fits: water.judged.fits && water.judged.misfits.length === 0,
    },
    middling: decision && {
      stream,
      choice: decision.choice,
      sure: decision.sure,
      because: [...decision.because],
      worth: decision.worth && { ...decision.worth },
      caution: decision.caution,
      basis: decision.basis.map(({ source, kind }) => ({ source, kind })),
    },
    checks: [...checks],
    notes: [...notes],
  };
}

/**
 * A balance's figures as CSV; numbers with a point, as many digits as they have.
 *
 * @param heads  What the columns are called, in the order of `BALANCE_COLUMNS`.
 */
export function writeBalance(accounts: RunAccounts, heads: readonly string[] = BALANCE_COLUMNS): string {
  const rows = balanceLines(accounts).map(({ misfit, ...line }) => [
    ...[
      line.stream,
      line.item,
      line.unit,
      line.given,
      line.givenError,
      line.balanced,
      line.balancedError,
      line.off,
    ].map((cell) => cell ?? ""),
    misfit ? "yes" : "no",
  ]);
  return writeCsv(heads, rows);
}

function figureLines({ before, after, misfits }: Judged, mass: string, unit: string): BalanceLine[] {
  return before.streams.flatMap(({ name: stream, mass: given, assays }) =>
    [null, ...Object.keys(assays)].map((assay): BalanceLine => {
      const { measured } = assay === null ? given : assays[assay]!;
      const balanced = figureOf(after, stream, assay);
      return {
        stream,
        item: assay ?? mass,
        unit: assay === null ? unit : "%",
        given: measured?.value ?? null,
        givenError: measured?.error ?? null,
        balanced: balanced.value,
        balancedError: balanced.error,
        off: balanced.off,
        misfit: misfits.some((one) => one.stream === stream && one.assay === assay),
      };
    }),
  );
}

function productLines({ stream, share, ratio, metals }: ProductAccount): BalanceLine[] {
  const told = (item: string, unit: string, found: ProductAccount["share"], times = 1): BalanceLine[] =>
    found === null
      ? []
      : [
          {
            stream,
            item,
            unit,
            given: null,
            givenError: null,
            balanced: times * found.value,
            balancedError: times * found.error,
            off: null,
            misfit: false,
          },
        ];
  return [
    ...told("share of feed", "%", share, 100),
    ...told("ratio of concentration", "kg/kg", ratio),
    ...metals.flatMap(({ metal, recovery, enrichment, separation }) => [
      ...told(`${metal} recovery`, "%", recovery, 100),
      ...told(`${metal} enrichment`, "times", enrichment),
      ...told(`${metal} separation efficiency`, "%", separation, 100),
    ]),
  ];
}
