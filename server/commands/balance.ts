import { mkdir, writeFile } from "node:fs/promises";
import { basename, join } from "node:path";
import {
  AccountsError,
  accountFor,
  balanceLines,
  type RunAccounts,
  tellBalance,
  writeBalance,
} from "../../vision/accounts/index.ts";
import type { RunBalance, Told } from "../../vision/contract/index.ts";
import { checkWords, tell } from "../../vision/telling/index.ts";
import { figureHeads, figureRows, middlingLines, sayProduct } from "../balance-words.ts";
import { readBytes } from "../json-file.ts";
import { RequestError } from "../problems.ts";
import { isWorkbook, readSheetText, readSheetWorkbook } from "../sheet-bytes.ts";
import { speechIn } from "../speech.ts";
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
  process.stdout.write(options.json ? `${JSON.stringify(asData(accounts))}\n` : sayBalance(tellBalance(accounts)));
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

function sayBalance(balance: RunBalance): string {
  const { run, products, verdict, water, middling, checks, notes } = balance;
  const place = [run.site, run.material].filter((said) => said !== "").join(", ");
  const section = (title: string, lines: readonly string[]) =>
    lines.length === 0 ? [] : ["", title, ...lines.map((line) => `  ${line}`)];
  return `${[
    place ? `${run.name} (${place})` : run.name,
    ...section("Verdict", told(verdict)),
    ...section(
      "Figures, given and balanced (± one standard error)",
      aligned([figureHeads(ENGLISH), ...figureRows(ENGLISH, balance)]),
    ),
    ...section("What leaves", products.flatMap(sayProduct)),
    ...section("Water", told(water?.verdict ?? [])),
    ...section("Middling", middling ? middlingLines(ENGLISH, middling) : []),
    ...section(
      "Hand checks (19 times of 20 between)",
      checks.map((check) => checkWords(ENGLISH, check)),
    ),
    ...section("To know", told(notes)),
    ...section("Take care", SAFETY_LINES),
  ]
    .join("\n")
    .replaceAll("\u00a0", " ")}\n`;
}
const ENGLISH = speechIn("en");
const told = (lines: readonly Told[]) => lines.map((line) => tell(ENGLISH, line));

function aligned(all: readonly (readonly string[])[]): string[] {
  const widths = all[0]!.map((_, i) => Math.max(...all.map((row) => row[i]!.length)));
  return all.map((row) =>
    row
      .map((cell, i) => cell.padEnd(widths[i]!))
      .join("  ")
      .trimEnd(),
  );
}
