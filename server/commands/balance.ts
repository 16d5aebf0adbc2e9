import { mkdir, writeFile } from "node:fs/promises";
import { basename, join } from "node:path";
import {
  AccountsError,
  accountFor,
  balanceLines,
  type HandCheck,
  type ProductAccount,
  type RunAccounts,
  sayMeasured,
  writeBalance,
} from "../../vision/accounts/index.ts";
import type { BalanceLine } from "../../vision/contract/index.ts";
import { readBytes } from "../json-file.ts";
import { RequestError } from "../problems.ts";
import { isWorkbook, readSheetText, readSheetWorkbook } from "../sheet-bytes.ts";
import { UsageError } from "../usage.ts";
import { SAFETY_LINES } from "../words.ts";

export interface BalanceOptions {
  /** A folder for NAME.balance.csv. */
  readonly out?: string;
  readonly json?: boolean;
}

/** Rows at fault that are told; the rest is counted. */
const MOST_FAULTS = 40;

/**
 * Balance a run sheet and print what it adds up to, with its errors, verdicts and the middling decision.
 *
 * @returns exit code 0, or 1 when a figure does not fit or nothing agrees.
 * @throws {UsageError} naming every row that cannot be used.
 */
export async function balance(path: string, options: BalanceOptions): Promise<number> {
  const accounts = await account(path, await readBytes(path, "run sheet"));
  if (options.out !== undefined) {
    await mkdir(options.out, { recursive: true });
    const name = basename(path).replace(/(\.run)?\.[^.]*$/, "");
    await writeFile(join(options.out, `${name}.balance.csv`), writeBalance(accounts));
  }
  process.stdout.write(options.json ? `${JSON.stringify(asData(accounts))}\n` : sayAccounts(accounts));
  return accounts.judged.fits && accounts.judged.misfits.length === 0 ? 0 : 1;
}

async function account(path: string, bytes: Uint8Array): Promise<RunAccounts> {
  try {
    const { run, faults } = isWorkbook(bytes) ? await readSheetWorkbook(bytes) : readSheetText(bytes);
    if (run) return accountFor(run);
    const told = faults.slice(0, MOST_FAULTS).map(({ line, say }) => `  line ${line}: ${say}`);
    const more = faults.length > MOST_FAULTS ? [`  And ${faults.length - MOST_FAULTS} more.`] : [];
    throw new UsageError([`The run sheet ${path} cannot be used.`, ...told, ...more].join("\n"));
  } catch (error) {
    if (error instanceof AccountsError)
      throw new UsageError(`The run sheet ${path} cannot be balanced. ${error.message}`);
    if (error instanceof RequestError) throw new UsageError(`The run sheet ${path} cannot be used. ${error.message}`);
    throw error;
  }
}

function asData(accounts: RunAccounts) {
  const { judged, water, ...rest } = accounts;
  const test = ({ misfits, fits, after, chiSquareLimit }: RunAccounts["judged"]) => ({
    fits,
    misfits,
    chiSquare: after.chiSquare,
    freedom: after.freedom,
    chiSquareLimit,
  });
  return {
    ...rest,
    balance: test(judged),
    water: water && { ...test(water.judged), verdict: water.verdict, unit: water.unit },
    lines: balanceLines(accounts),
  };
}

function sayAccounts(accounts: RunAccounts): string {
  const { run, products, verdict, water, middling, checks, notes } = accounts;
  const place = [run.site, run.material].filter((said) => said !== "").join(", ");
  const figures = balanceLines(accounts).filter(({ item }) => FIGURE.test(item) || isAssay(accounts, item));
  const section = (title: string, lines: readonly string[]) =>
    lines.length === 0 ? [] : ["", title, ...lines.map((line) => `  ${line}`)];
  return `${[
    place ? `${run.name} (${place})` : run.name,
    ...section("Verdict", verdict),
    ...section("Figures, given and balanced (± one standard error)", figureTable(figures)),
    ...section("What leaves", products.flatMap(sayProduct)),
    ...section("Water", water?.verdict ?? []),
    ...section("Middling", middling ? sayMiddling(middling) : []),
    ...section("Hand checks (19 times of 20 between)", checks.map(sayCheck)),
    ...section("To know", notes),
    ...section("Take care", SAFETY_LINES),
  ].join("\n")}\n`;
}

const FIGURE = /^(dry mass|water)$/;
const isAssay = ({ judged }: RunAccounts, item: string) => Object.hasOwn(judged.before.streams[0]?.assays ?? {}, item);

function figureTable(lines: readonly BalanceLine[]): string[] {
  const show = (value: number | null, error: number | null) =>
    value === null ? "not known" : sayMeasured({ value, error: error ?? 0 });
  const rows = lines
    .filter(({ given, balanced }) => given !== null || balanced !== null)
    .map(({ stream, item, unit, given, givenError, balanced, balancedError, off, misfit }) => [
      stream,
      `${item}, ${unit}`,
      given === null ? "not measured" : show(given, givenError),
      show(balanced, balancedError),
      misfit ? "left out" : given === null ? "" : off === null ? "unchecked" : `${Math.abs(off).toFixed(1)} errors off`,
    ]);
  const all = [["stream", "figure", "given", "balanced", ""], ...rows];
  const widths = all[0]!.map((_, i) => Math.max(...all.map((row) => row[i]!.length)));
  return all.map((row) =>
    row
      .map((cell, i) => cell.padEnd(widths[i]!))
      .join("  ")
      .trimEnd(),
  );
}

function sayProduct({ stream, share, metals }: ProductAccount): string[] {
  const percent = (found: ProductAccount["share"]) =>
    found ? `${sayMeasured({ value: 100 * found.value, error: 100 * found.error })} %` : "not known";
  return [
    `${stream}: ${percent(share)} of the feed`,
    ...metals.map(({ metal, gradePercent, recovery, enrichment, separation }) => {
      const parts = [
        `${gradePercent ? sayMeasured(gradePercent) : "?"} % ${metal}`,
        `${percent(recovery)} of it recovered`,
        ...(enrichment ? [`${sayMeasured(enrichment)} times the feed's grade`] : []),
        ...(separation ? [`separation efficiency ${percent(separation)}`] : []),
      ];
      return `  ${parts.join("; ")}`;
    }),
  ];
}

function sayMiddling({ decision }: NonNullable<RunAccounts["middling"]>): string[] {
  const words = {
    rerun: "Run it again.",
    regrind: "Grind it finer and run it again.",
    discard: "Discard it.",
    "look closer": "Look closer before you decide.",
  };
  return [
    words[decision.choice],
    ...decision.because.map((why) => `Why: ${why}`),
    ...Object.entries(decision.worth ?? {}).map(
      ([way, { value, error }]) => `To ${way} it: ${Math.round(value)} ± ${Math.max(1, Math.round(error))} a tonne`,
    ),
    ...(decision.caution ? [`Caution: ${decision.caution}`] : []),
    `Rests on: ${decision.basis.map(({ source, kind }) => `${source} (${kind})`).join("; ")}.`,
  ];
}

function sayCheck({ stream, what, found, from, to, unit }: HandCheck): string {
  const between = from === null || to === null ? "" : ` (${short(from)} to ${short(to)})`;
  return `${stream}, ${what}: ${sayMeasured(found)} ${unit}${between}`;
}
const short = (value: number) => String(Number(value.toPrecision(2)));
