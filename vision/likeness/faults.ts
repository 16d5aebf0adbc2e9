import { SYMPTOMS } from "../advice/symptoms.ts";
import type { DeckFault, LessonChange } from "../contract/index.ts";
import { type Basis, SOURCES } from "../sources.ts";

/** What the remedy of each fault leans on: the page has the remedies' words, the advice's symptoms their sources. */
const SYMPTOM_OF: Readonly<Record<DeckFault, string | readonly Basis[]>> = {
  none: [SOURCES.order],
  starved: "F9 dense launder not filled",
  overloaded: "S4 bed stands",
  streaks: "S3 water in streaks",
  dry: "S2 dry elsewhere",
  surging: "S7 told",
  heaps: "F6 dense heaps up",
  noMiddling: [SOURCES.overlap],
  noDense: "S11 dense band gone",
  empty: "F2 little or no feed",
  tooHigh: "S5 light on the dense end",
  tooLow: "S6 dense past its launder",
};

/** @throws {RangeError} when a symptom has been renamed. */
export function faultBasis(fault: DeckFault): Basis[] {
  const from = SYMPTOM_OF[fault];
  return typeof from === "string" ? [...symptomOf(from).basis] : [...from];
}

/** Every change that mends a fault, the best first; `none` where nothing is to be changed. @throws {RangeError} as `faultBasis`. */
export function faultChanges(fault: DeckFault): LessonChange[] {
  const from = SYMPTOM_OF[fault];
  if (typeof from !== "string") return [{ control: "none", direction: "hold" }];
  return symptomOf(from).remedies.map(({ control, direction }) => ({ control, direction: direction ?? "hold" }));
}

function symptomOf(wanted: string) {
  const symptom = SYMPTOMS.find(({ id }) => id === wanted);
  if (!symptom) throw new RangeError(`no symptom ${wanted}`);
  return symptom;
}
