import { type SamplingAim, type SamplingPlans, TABLE_MINERALS } from "../../vision/contract/index.ts";
import { STREAM_WORDS, tell, weightUp } from "../../vision/telling/index.ts";
import { button, el, fill, labelled } from "../element.ts";
import { MATERIALS } from "../known-materials.ts";
import { numberEntry } from "../number-entry.ts";
import { newsOf, type Said, streamName } from "../run-words.ts";
import { keepEntry, keptEntries } from "../set-up-kept.ts";
import { table } from "../table.ts";
import { inEnglish, number, say, speech } from "../words.ts";

export interface RunPlanActions {
  readonly plan: (aim: SamplingAim) => Promise<SamplingPlans>;
  /** Save labels of the plan for this aim. */
  readonly labels: (aim: SamplingAim) => Promise<void>;
  /** The run's name, for its labels. */
  readonly run: () => string;
}

type Mineral = SamplingAim["mineral"];
const [GRADE, KG_PER_M3, MM] = [
  [1e-7, 99.9],
  [1000, 23_000],
  [0.001, 300],
] as const;
const SHAPES = { grains: 0.5, flakes: 0.2, cubes: 1 } as const;
/** Native metals go by shorter names among the materials. */
const densityOf = (mineral: Mineral) =>
  MATERIALS.find(({ name }) => name === mineral.replace(/^native /, ""))?.densityKgPerM3 ?? null;

/** How much to take of each stream for a stated error, in how many cuts, with labels to print. */
export function runPlan({ plan, labels, run }: RunPlanActions): HTMLElement {
  const told = el("div", { role: "status" });
  const changed = () => fill(told); // what was told is of other figures
  const entry = (name: string, words: string, limits: readonly [number, number], first: number | null = null) =>
    numberEntry(`plan-${name}`, "", () => words, limits, changed, first);
  const chosen = <Name extends string>(id: string, names: readonly Name[], words: (name: Name) => string) => {
    const field = el(
      "select",
      { id, onchange: () => keepEntry(id, field.value) },
      ...names.map((name) => el("option", { value: name }, words(name))),
    );
    const kept = names.find((name) => name === keptEntries()[id]);
    if (kept) field.value = kept;
    return { field, value: () => names.find((name) => name === field.value)! };
  };
  const mineral = chosen("plan-mineral", TABLE_MINERALS, (name) => say(`run.plan.of.${name}`));
  const shape = chosen("plan-shape", Object.keys(SHAPES) as (keyof typeof SHAPES)[], (name) =>
    say(`run.plan.shape.${name}`),
  );
  const grades = Object.keys(STREAM_WORDS).map((name) => ({
    name,
    entry: entry(`grade-${name}`, streamName(name), GRADE),
  }));
  const density = entry("density", say("run.plan.density"), KG_PER_M3, densityOf(mineral.value()));
  const top = entry("top", say("run.plan.top"), MM);
  const free = entry("free", say("run.plan.free"), MM);
  const error = entry("error", say("run.plan.error"), [0.01, 100], 5);
  const minutes = entry("minutes", say("run.plan.minutes"), [1, 100_000]);
  const spread = entry("spread", say("run.plan.spread"), [0, 1000]);
  const gangue = entry("gangue", say("run.plan.gangue"), KG_PER_M3, 2650);
  const ratio = entry("ratio", say("run.plan.ratio"), [1, 10_000], 5);
  const surely = entry("surely", say("run.plan.surely"), [50, 99.99], 95);
  const stages = entry("stages", say("run.plan.stages"), [1, 20], 1);
  mineral.field.addEventListener("change", () => {
    const usual = densityOf(mineral.value());
    if (usual !== null) density.put(usual);
  });
  shape.field.addEventListener("change", changed);

  /** Null while something is wanting. */
  const aim = (): SamplingAim | null => {
    const streams = grades.flatMap(({ name, entry: { value } }) => {
      const gradePercent = value();
      return gradePercent === null ? [] : [{ name, gradePercent }];
    });
    const given = {
      mineralKgPerM3: density.value(),
      gangueKgPerM3: gangue.value(),
      topSizeMm: top.value(),
      liberationMm: free.value(),
      sizeRatio: ratio.value(),
      errorPercent: error.value(),
      surelyPercent: surely.value(),
      stages: stages.value() === null ? null : Math.round(stages.value()!),
    };
    if (streams.length === 0 || !allGiven(given)) return null;
    const [runMinutes, spreadOfCutsPercent] = [minutes.value(), spread.value()];
    return {
      schemaVersion: 1,
      run: run(),
      streams,
      mineral: mineral.value(),
      shape: SHAPES[shape.value()],
      ...given,
      ...(runMinutes !== null && { runMinutes }),
      ...(spreadOfCutsPercent !== null && { spreadOfCutsPercent }),
    };
  };
  const news = (said: Said) => el("p", said.foreign ? inEnglish() : {}, said.say);
  const make = async () => {
    const asked = aim();
    if (!asked) return fill(told, news({ say: say("run.plan.need"), foreign: false }));
    try {
      const found = await plan(asked);
      const save = () => void labels(asked).catch((fault) => fill(told, news(newsOf(fault))));
      fill(
        told,
        ...tellPlans(asked, found),
        button(say("run.plan.labels"), save, { class: "quiet", id: "plan-labels" }),
      );
    } catch (fault) {
      fill(told, news(newsOf(fault)));
    }
  };
  return el(
    "div",
    { class: "run-plan" },
    el("p", {}, say("run.plan.what")),
    el(
      "fieldset",
      {},
      el("legend", {}, say("run.plan.grades")),
      el("div", { class: "plan-fields" }, ...grades.map(({ entry: { element } }) => element)),
    ),
    el(
      "div",
      { class: "plan-fields" },
      labelled(say("run.plan.mineral"), mineral.field),
      ...[density, top, free, error, minutes, spread].map(({ element }) => element),
    ),
    el(
      "details",
      { id: "plan-more" },
      el("summary", {}, say("run.plan.more")),
      el(
        "div",
        { class: "plan-fields" },
        labelled(say("run.plan.shape"), shape.field),
        ...[gangue, ratio, surely, stages].map(({ element }) => element),
      ),
    ),
    el(
      "div",
      { class: "choices" },
      button(say("run.plan.make"), () => void make(), { id: "make-plan" }),
    ),
    told,
  );
}

type Given<T> = { readonly [Name in keyof T]: NonNullable<T[Name]> };
const allGiven = <T extends object>(all: T): all is T & Given<T> => Object.values(all).every((one) => one !== null);

function tellPlans({ errorPercent, surelyPercent }: SamplingAim, { plans, basis }: SamplingPlans): HTMLElement[] {
  const { leastOpeningMm, mostSpeedMPerS, minutesBetweenCuts: every } = plans[0]!; // of one run and material: alike for all
  const rows = plans.map(({ stream, grams, cuts, gramsPerCut }) => [
    streamName(stream),
    weightUp(speech, grams),
    String(cuts),
    weightUp(speech, gramsPerCut),
  ]);
  const head = (["stream", "dry", "cuts", "each"] as const).map((name) => say(`run.plan.${name}`));
  const cutter = { opening: number(leastOpeningMm, 0, 1), speed: number(mostSpeedMPerS, 1) };
  const aimed = { error: number(errorPercent, 0, 2), surely: number(surelyPercent, 0, 2) };
  return [
    el("p", {}, say("run.plan.for", aimed)),
    table(say("run.plan.title"), head, rows),
    ...(every === null
      ? []
      : [el("p", {}, say("run.plan.every", { minutes: number(Number(every.toPrecision(2)), 0, 2) }))]),
    el("p", {}, say("run.plan.cutter", cutter)),
    el("p", {}, say("run.plan.hose")),
    el("p", { class: "caution" }, say("said.caution.handsClear")),
    el("ul", { class: "hint-line" }, ...basis.map((line) => el("li", {}, tell(speech, line)))),
  ];
}
