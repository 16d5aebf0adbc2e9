import type { SettingsFile } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import type { State } from "../state.ts";
import { type Key, number, say } from "../words.ts";

/** The controls that hints use: [name, words, least, most]. */
const FIELDS = [
  ["washWaterLitresPerMinute", "settings.washWater", 0, 1000],
  ["feedWaterLitresPerMinute", "settings.feedWater", 0, 1000],
  ["crossSlopeMmPerM", "settings.crossSlope", -200, 200],
  ["endSlopeMmPerM", "settings.endSlope", -200, 200],
] as const satisfies readonly (readonly [keyof SettingsFile, Key, number, number])[];

/** What the controls stand at, where the person knows it; empty fields are left out. */
export function settingsForm(change: (settings: SettingsFile) => void) {
  let settings: SettingsFile = {};
  const fields = FIELDS.map(([name, words, least, most]) => {
    const field = el("input", {
      id: `setting-${name}`,
      type: "number",
      inputmode: "decimal",
      min: least,
      max: most,
      step: "any",
      oninput: () => {
        const { [name]: _, ...others } = settings;
        if (field.validity.valid) change(field.value === "" ? others : { ...others, [name]: field.valueAsNumber });
      },
    });
    const range = say("settings.fault", {
      field: say(words).split(/[,،]/)[0]!,
      least: number(least),
      most: number(most),
    });
    return { name, words: say(words), field, range };
  });
  const element = el(
    "details",
    { class: "card settings" },
    el("summary", {}, say("settings.title")),
    el("p", { class: "hint-line" }, say("settings.why")),
    ...fields.map(({ name, words, field }) =>
      el("div", { class: "fields" }, el("label", { for: `setting-${name}` }, words), field),
    ),
  );
  const update = (state: State) => {
    settings = state.settings;
    for (const { name, field } of fields) {
      if (document.activeElement !== field) field.value = String(settings[name] ?? "");
    }
  };
  /** Words for what is wrong with the entries, or null. */
  const fault = () => {
    const wrong = fields.find(({ field }) => !field.validity.valid);
    if (!wrong) return null;
    element.open = true;
    wrong.field.focus();
    return wrong.range;
  };
  return { element, update, fault };
}
