import { button, el, fill, labelled } from "../element.ts";
import { say, when } from "../words.ts";

/** A run, as the list shows it. */
export interface RunLine {
  readonly id: string;
  readonly name: string;
  readonly startedAt: string;
  readonly endedAt: string | null;
  /** Entries of it that wait to be sent. */
  readonly waits: number;
}
export interface RunChoice {
  readonly start: (run: { name: string; material: string; deck: string | null }) => void;
  readonly show: (id: string) => void;
  readonly end: () => void;
}
type Deck = { readonly id: string; readonly name: string };

/** Which run is worked on: the one that is open, others, or a new one. */
export function runChooser(actions: RunChoice) {
  const name = el("input", { id: "run-name", type: "text", maxlength: 120, autocomplete: "off" });
  const material = el("input", { id: "run-material", type: "text", maxlength: 120, autocomplete: "off" });
  const deck = el("select", { id: "run-deck" });
  const fault = el("p", { class: "fault", role: "status" });
  const start = () => {
    fault.textContent = name.value.trim() === "" ? say("run.needName") : "";
    if (name.value.trim() === "") return name.focus();
    actions.start({ name: name.value.trim(), material: material.value.trim(), deck: deck.value || null });
    name.value = "";
  };
  const beginning = el(
    "details",
    {},
    el("summary", {}, say("run.new")),
    labelled(say("run.name"), name),
    labelled(say("run.material"), material),
    labelled(say("run.deck"), deck),
    fault,
    el("div", { class: "choices" }, button(say("run.start"), start, { id: "start-run" })),
  );
  const now = el("div", { role: "status" });
  const list = el("ul", { class: "kept" });
  const others = el("details", {}, el("summary", {}, say("run.list")), list);
  const element = el("section", { class: "card" }, now, beginning, others);

  function update(runs: readonly RunLine[], current: RunLine | null, decks: readonly Deck[]): void {
    const told = current && { name: current.name, when: when(new Date(current.startedAt)) };
    fill(
      now,
      el("h2", {}, told ? say(current?.endedAt ? "run.ended" : "run.running", told) : say("run.none")),
      current && current.waits > 0 && el("p", {}, say("run.waits", { count: current.waits })),
      current && !current.endedAt && el("p", { class: "hint-line" }, say("run.photos")),
      current && !current.endedAt && button(say("run.end"), actions.end, { class: "quiet" }),
    );
    if (runs.length === 0) beginning.open = true;
    others.hidden = runs.every(({ id }) => id === current?.id);
    fill(
      list,
      ...runs
        .filter(({ id }) => id !== current?.id)
        .map((run) => {
          const words = say("run.choose", { name: run.name, when: when(new Date(run.startedAt)) });
          return el(
            "li",
            {},
            button(words, () => actions.show(run.id), { class: "quiet" }),
          );
        }),
    );
    const chosen = deck.value;
    fill(
      deck,
      el("option", { value: "" }, say("run.deck.none")),
      ...decks.map(({ id, name: words }) => el("option", { value: id }, words)),
    );
    deck.value = decks.some(({ id }) => id === chosen) ? chosen : "";
    others.open = others.open && !others.hidden;
  }
  return {
    element,
    update,
    /** The new run is there: the form folds. */
    began: () => {
      beginning.open = false;
    },
  };
}
