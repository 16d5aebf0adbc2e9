import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { AccountsError, samplingOfRun } from "../../vision/accounts/index.ts";
import { SamplingAim, type SamplingPlans } from "../../vision/contract/index.ts";
import { tell, weightUp } from "../../vision/telling/index.ts";
import { readJson } from "../json-file.ts";
import { labelPage, labelsOf } from "../labels.ts";
import { speechIn } from "../speech.ts";
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
  const english = speechIn("en");
  const lines = plans.flatMap(
    ({ stream, grams, cuts, gramsPerCut, minutesBetweenCuts, leastOpeningMm, mostSpeedMPerS }) => [
      `${stream}: ${weightUp(english, grams)} dry in ${cuts} cuts of ${weightUp(english, gramsPerCut)}${minutesBetweenCuts === null ? "" : `, one every ${Number(minutesBetweenCuts.toPrecision(2))} min`}`,
      `  cutter at least ${leastOpeningMm} mm open, across the whole stream, at most ${mostSpeedMPerS} m/s`,
    ],
  );
  const error = `± ${aim.errorPercent} % of the grade, ${aim.surelyPercent} times of 100`;
  return `${[
    `${aim.run}: ${error}`,
    "",
    ...lines,
    "",
    ...basis.map((line) => `Rests on: ${tell(english, line)}`),
    "",
    english.say("run.plan.hose"),
    "",
    "Take care",
    ...SAFETY_LINES.map((line) => `  ${line}`),
  ].join("\n")}\n`;
}
