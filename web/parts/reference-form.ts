import { DECK_FAULTS, type DeckFault, type NewReference } from "../../vision/contract/index.ts";
import { button, el, labelled } from "../element.ts";
import { faultName } from "../review-words.ts";
import { say } from "../words.ts";

export type ReferenceSaid = Pick<NewReference, "title" | "material" | "fault" | "note" | "authors" | "licence">;

/** A reading with its newest correction, to be taken into the gallery. @param add  @returns what to say. */
export function referenceForm(add: (said: ReferenceSaid) => Promise<string>): HTMLElement {
  const text = (id: string, words: string, value = "") => {
    const field = el("input", { id: `reference-${id}`, type: "text", maxlength: 200, autocomplete: "off", value });
    return { field, row: labelled(words, field) };
  };
  const title = text("title", say("reference.title"));
  const dense = text("dense", say("reference.of", { band: say("class.dense") }));
  const middling = text("middling", say("reference.ofMiddling"));
  const light = text("light", say("reference.of", { band: say("class.light") }));
  const authors = text("authors", say("reference.authors"));
  const licence = text("licence", say("reference.licence"), "CC-BY-4.0");
  const fault = el(
    "select",
    { id: "reference-fault" },
    ...DECK_FAULTS.map((name) => el("option", { value: name }, faultName(name))),
  );
  const note = el("textarea", { id: "reference-note", rows: 3, maxlength: 2000 });
  const told = el("p", { role: "status" });
  const needed = [title, dense, light, authors, licence];
  const send = button(say("reference.add"), async () => {
    const empty = needed.find(({ field }) => field.value.trim() === "");
    if (empty) {
      told.textContent = say("reference.need");
      return empty.field.focus();
    }
    const of = ({ field }: (typeof needed)[number]) => field.value.trim();
    send.disabled = true;
    told.textContent = await add({
      title: of(title),
      material: { dense: of(dense), middling: of(middling) || null, light: of(light) },
      fault: fault.value as DeckFault,
      note: note.value.trim(),
      authors: of(authors),
      licence: of(licence),
    });
    send.disabled = false;
  });
  return el(
    "div",
    {},
    el("p", {}, say("reference.what")),
    ...[title, dense, middling, light].map(({ row }) => row),
    labelled(say("gallery.fault"), fault),
    labelled(say("review.note"), note),
    authors.row,
    licence.row,
    told,
    send,
  );
}
