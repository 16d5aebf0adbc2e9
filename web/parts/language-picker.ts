import { el } from "../element.ts";
import { currentLanguage, LANGUAGES, languageName, say } from "../words.ts";

/** Which language the page speaks, each by its own name. */
export function languagePicker(choose: (code: string) => void): HTMLElement {
  const options = LANGUAGES.map((code) =>
    el("option", { value: code, lang: code, selected: code === currentLanguage() }, languageName(code)),
  );
  const picker = el(
    "select",
    { class: "language", "aria-label": say("language.choose"), onchange: () => choose(picker.value) },
    ...options,
  );
  return picker;
}
