import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { AccountsError, samplingOfRun } from "../../vision/accounts/index.ts";
import { SamplingAim, type SamplingPlans } from "../../vision/contract/index.ts";
import { readJson } from "../json-file.ts";
import { labelPage } from "../labels.ts";
import { UsageError } from "../usage.ts";
import { SAFETY_LINES } from "../words.ts";

export interface SamplingOptions {
  /** A folder for labels.html. */
  readonly out?: string;
  readonly json?: boolean;
}

/**
 * Say how much to take of each stream for a stated error, in how many cuts and how; write labels to print.
 *
 * @returns exit code 0. @throws {UsageError} for an aim that cannot be used.
 */
export async function sampling(path: string, { out, json }: SamplingOptions): Promise<number> {
  const aim = await readJson(path, SamplingAim, "sampling aim");
  const told = plansOf(aim, path);
  if (out !== undefined) {
    await mkdir(out, { recursive: true });
    await writeFile(join(out, "labels.html"), labelPage(labelsOf(aim, told)));
  }
  process.stdout.write(json ? `${JSON.stringify(told)}\n` : sayPlans(aim, told));
  return 0;
}

function plansOf(aim: SamplingAim, path: string): SamplingPlans {
  try {
    return samplingOfRun(aim);
  } catch (error) {
    if (error instanceof AccountsError)
      throw new UsageError(`The sampling aim ${path} cannot be used. ${error.message}`);
    throw error;
  }
}

function sayPlans(aim: SamplingAim, { plans, basis }: SamplingPlans): string {
  const lines = plans.flatMap(
    ({ stream, grams, cuts, gramsPerCut, minutesBetweenCuts, leastOpeningMm, mostSpeedMPerS }) => [
      `${stream}: ${weight(grams)} dry in ${cuts} cuts of ${weight(gramsPerCut)}${minutesBetweenCuts === null ? "" : `, one every ${Number(minutesBetweenCuts.toPrecision(2))} min`}`,
      `  cutter at least ${leastOpeningMm} mm open, across the whole stream, at most ${mostSpeedMPerS} m/s`,
    ],
  );
  const error = `± ${aim.errorPercent} % of the grade, ${aim.surelyPercent} times of 100`;
  return `${[
    `${aim.run}: ${error}`,
    "",
    ...lines,
    "",
    ...basis.map((line) => `Rests on: ${line}.`),
    "",
    "Hose the deck off at the end and weigh that too: it is a stream of its own.",
    "",
    "Take care",
    ...SAFETY_LINES.map((line) => `  ${line}`),
  ].join("\n")}\n`;
}

const labelsOf = ({ run }: SamplingAim, { plans }: SamplingPlans) =>
  plans.flatMap(({ stream, cuts, gramsPerCut }) =>
    Array.from({ length: cuts }, (_, i) => ({ run, stream, cut: i + 1, cuts, grams: weight(gramsPerCut) })),
  );

/** Rounded up to two digits: less would not do. */
function weight(grams: number): string {
  const step = 10 ** (Math.floor(Math.log10(grams)) - 1);
  const up = Math.ceil(grams / step - 1e-9) * step;
  return up >= 1000 ? `${Number((up / 1000).toPrecision(3))} kg` : `${Number(up.toPrecision(3))} g`;
}
