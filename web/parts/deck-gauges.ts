import type { DeckFileInput } from "../../vision/contract/index.ts";
import { bothOf, withSetPoints, withSupports } from "../deck-draft.ts";
import { optionalField, tick } from "../editor-fields.ts";
import { el } from "../element.ts";
import type { Unit } from "../units.ts";
import { type Key, say } from "../words.ts";

/** What of a deck can be set, as the contract takes it where a file says nothing, and by which word it goes. */
const CONTROLS = [
  ["splitters", true, "numbers.splitters"],
  ["washWater", true, "run.control.washWater"],
  ["feedWater", true, "run.control.feedWater"],
  ["feedRate", true, "run.control.feedRate"],
  ["crossSlope", true, "run.control.crossSlope"],
  ["endSlope", false, "run.control.endSlope"],
  ["stroke", false, "run.control.stroke"],
  ["speed", false, "run.control.speed"],
] as const satisfies readonly (readonly [keyof NonNullable<DeckFileInput["controls"]>, boolean, Key])[];

/** What is set on a deck and where it should stand: controls, set points, stroke, legs. */
export function deckGauges(
  first: DeckFileInput,
  now: () => DeckFileInput,
  change: (next: DeckFileInput) => void,
): HTMLElement {
  const controls = CONTROLS.map(([name, usual, words]) =>
    tick(`editor-control-${name}`, say(words), first.controls?.[name] ?? usual, (can) =>
      change({ ...now(), controls: { ...now().controls, [name]: can } }),
    ),
  );
  const { setPoints = {}, supports, strokeMm } = first;
  const one = (id: string, unit: Unit, words: Key, value: number | undefined, put: (value: number | null) => void) =>
    optionalField(`editor-${id}`, unit, (typed) => say(words, { unit: typed }), value, put).element;
  const slope = (name: "crossSlopeMmPerM" | "endSlopeMmPerM") => (value: number | null) =>
    change(withSetPoints(now(), { [name]: value ?? undefined }));
  /** Two numbers that are told together or not at all. */
  const two = (
    id: string,
    unit: Unit,
    words: readonly [Key, Key],
    values: readonly (number | undefined)[] | undefined,
    put: (a: number | null, b: number | null) => void,
  ) => {
    const typed = [values?.[0] ?? null, values?.[1] ?? null];
    return [0, 1].map((k) =>
      one(`${id}-${k}`, unit, words[k]!, values?.[k], (value) => {
        typed[k] = value;
        put(typed[0]!, typed[1]!);
      }),
    );
  };
  return el(
    "div",
    { class: "editor-rows" },
    el("fieldset", {}, el("legend", {}, say("editor.controls")), ...controls),
    el(
      "fieldset",
      {},
      el("legend", {}, say("editor.setPoints")),
      one("cross", "mm/m", "settings.crossSlope", setPoints.crossSlopeMmPerM, slope("crossSlopeMmPerM")),
      one("end", "mm/m", "settings.endSlope", setPoints.endSlopeMmPerM, slope("endSlopeMmPerM")),
      ...two("water", "L/min", ["editor.waterLeast", "editor.waterMost"], setPoints.waterLitresPerMinute, (a, b) =>
        change(withSetPoints(now(), { waterLitresPerMinute: bothOf(a, b) })),
      ),
      ...two("float", "s", ["editor.floatLeast", "editor.floatMost"], setPoints.floatSeconds, (a, b) =>
        change(withSetPoints(now(), { floatSeconds: bothOf(a, b) })),
      ),
    ),
    el(
      "fieldset",
      {},
      el("legend", {}, say("editor.drive")),
      one("stroke", "mm", "settings.stroke", strokeMm, (value) => {
        const { strokeMm: _, ...rest } = now();
        change(value === null ? rest : { ...rest, strokeMm: value });
      }),
      ...two(
        "legs",
        "mm",
        ["setup.shims.along", "setup.shims.across"],
        [supports?.alongMm, supports?.acrossMm],
        (along, across) => change(withSupports(now(), along, across)),
      ),
    ),
  );
}
