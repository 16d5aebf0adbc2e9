import type { SamplingAim, SamplingPlans } from "../contract/index.ts";
import { said } from "../said.ts";
import { AccountsError } from "./fault.ts";
import { gradationOf } from "./gy.ts";
import { samplingPlan } from "./sampling-plan.ts";
import { metalPercent } from "./separation.ts";

/** What a plan rests on: Gy's formula, common practice, and where they hold. */
const BASIS = ["plan.mass", "plan.cuts", "plan.ore"].map((code) => ({ code, values: {} }));

/** What to take of each stream of a run, in how many cuts, and how. @throws {AccountsError} `out-of-range`. */
export function samplingOfRun(aim: SamplingAim): SamplingPlans {
  const pure = metalPercent(aim.mineral);
  const plans = aim.streams.map(({ name, gradePercent }) => {
    if (gradePercent >= pure) {
      const values = { grade: gradePercent, mineral: aim.mineral, pure: pure.toFixed(1) };
      throw new AccountsError("out-of-range", said("said.runs.gradeAbovePure", values));
    }
    const material = {
      topSizeCm: aim.topSizeMm / 10,
      liberationCm: aim.liberationMm / 10,
      mineralShare: gradePercent / pure,
      mineralGPerCm3: aim.mineralKgPerM3 / 1000,
      gangueGPerCm3: aim.gangueKgPerM3 / 1000,
      shape: aim.shape,
      gradation: gradationOf(aim.sizeRatio),
    };
    const plan = samplingPlan({
      material,
      relativeError: aim.errorPercent / 100,
      confidence: aim.surelyPercent / 100,
      stages: aim.stages,
      ...(aim.runMinutes !== undefined && { runMinutes: aim.runMinutes }),
      ...(aim.spreadOfCutsPercent !== undefined && { spreadOfCuts: aim.spreadOfCutsPercent / 100 }),
    });
    return { stream: name, ...plan };
  });
  return { plans, basis: BASIS };
}
