import type { SettingsFile } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import type { State } from "../state.ts";

/** The controls that hints use: [name, words, least, most]. */
const FIELDS = [
  ["washWaterLitresPerMinute", "Wash water, litres a minute", 0, 1000],
  ["feedWaterLitresPerMinute", "Feed water, litres a minute", 0, 1000],
  ["crossSlopeMmPerM", "Cross slope, mm a metre", -200, 200],
  ["endSlopeMmPerM", "End slope, mm a metre (product end up: more)", -200, 200],
] as const satisfies readonly (readonly [keyof SettingsFile, string, number, number])[];

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
    return { name, words, field, range: `${words.split(",")[0]}: a number from ${least} to ${most}, or nothing.` };
  });
  const element = el(
    "details",
    { class: "card settings" },
    el("summary", {}, "What the controls stand at (optional)"),
    el("p", { class: "hint-line" }, "With set points in the deck file, hints can then say by how much."),
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
