import type { ShownReference } from "../../vision/contract/index.ts";
import { button, el, labelled } from "../element.ts";
import { say } from "../words.ts";

export interface FreshDeckActions {
  /** @throws {Trouble} */
  readonly make: (seed: number | undefined) => Promise<ShownReference>;
  readonly made: (reference: ShownReference) => void;
  readonly whyNot: (error: unknown) => string;
}

/** A deck made by the server's scene maker, for a lesson: any, or that of a number. */
export function freshDeck({ make, made, whyNot }: FreshDeckActions): HTMLElement {
  const seed = el("input", {
    id: "fresh-seed",
    type: "text",
    inputmode: "numeric",
    maxlength: 10,
    autocomplete: "off",
    "aria-describedby": "fresh-told",
  });
  const told = el("p", { id: "fresh-told", role: "status" });
  const go = button(say("gallery.fresh.make"), () => void ask(), { class: "quiet", id: "fresh-make" });
  async function ask() {
    const typed = seed.value.trim();
    const wrong = typed !== "" && !(/^\d+$/.test(typed) && Number(typed) <= 0xff_ff_ff_ff);
    seed.setAttribute("aria-invalid", String(wrong));
    if (wrong) {
      told.textContent = say("gallery.fresh.wrongSeed");
      return seed.focus();
    }
    go.disabled = true;
    told.textContent = say("gallery.fresh.making");
    try {
      const reference = await make(typed === "" ? undefined : Number(typed));
      made(reference);
      told.textContent = say("gallery.fresh.made", { title: reference.title, seed: String(reference.seed) });
    } catch (error) {
      told.textContent = whyNot(error);
    }
    go.disabled = false;
  }
  return el(
    "section",
    { class: "card" },
    el("h2", {}, say("gallery.fresh.title")),
    el("p", {}, say("gallery.fresh.what")),
    labelled(say("gallery.fresh.seed"), seed),
    go,
    told,
  );
}
