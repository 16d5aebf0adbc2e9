import { button, el, fill } from "./element.ts";
import { changesBefore, choicesOf, dayOf, found, type Look, type Wanted } from "./history.ts";
import { changeLetter, historyPlot } from "./parts/history-plot.ts";
import { historyTable } from "./parts/history-table.ts";
import { dayWords, say, when } from "./words.ts";

export interface HistoryActions {
  readonly open: (photo: string) => void;
  readonly close: () => void;
}

/**
 * A deck in time. Loaded when it is first opened.
 *
 * @param here  Readings on this device.
 * @param there  Those of the server; it rejects where the server cannot tell.
 */
export function historyScreen(here: readonly Look[], there: Promise<readonly Look[]>, actions: HistoryActions) {
  let looks = here;
  let wanted: Wanted = { deck: choicesOf(here).decks[0] ?? null, material: null, day: null };
  const filters = el("div", { class: "fields" });
  const status = el("p", { class: "hint-line", role: "status" }, say("history.asking"));
  const body = el("div");

  function choose(change: Partial<Wanted>) {
    wanted = { ...wanted, ...change };
    showFound();
  }
  function showFilters() {
    const { decks, materials, days } = choicesOf(looks);
    wanted = { ...wanted, deck: wanted.deck ?? decks[0] ?? null };
    const dayNames = new Map(looks.map((look) => [dayOf(look), dayWords(new Date(look.at))]));
    fill(
      filters,
      ...picker("deck", decks, wanted.deck, false, (deck) => choose({ deck })),
      ...(materials.length > 0
        ? picker("material", materials, wanted.material, true, (material) => choose({ material }))
        : []),
      ...picker(
        "day",
        days,
        wanted.day,
        true,
        (day) => choose({ day }),
        (day) => dayNames.get(day) ?? day,
      ),
    );
  }
  function showFound() {
    const all = wanted.deck === null ? [] : found(looks, wanted);
    if (all.length === 0)
      return fill(body, el("p", { class: "card" }, say(looks.length > 0 ? "history.noneFound" : "history.none")));
    const changes = changesBefore(all);
    fill(
      body,
      el("section", { class: "card" }, historyPlot(all, changes), changeList(all, changes)),
      el("section", { class: "card numbers" }, historyTable(all, changes, actions.open)),
    );
  }
  function show() {
    showFilters();
    showFound();
  }
  show();
  there.then(
    (more) => {
      const known = new Set(here.map(({ id }) => id));
      looks = [...here, ...more.filter(({ id }) => !known.has(id))];
      status.textContent = say("history.asked", { count: looks.length - here.length });
      show();
    },
    () => {
      status.textContent = say("history.onlyHere");
    },
  );
  return el(
    "div",
    { class: "step history" },
    el(
      "section",
      { class: "card" },
      el("h1", { tabindex: -1 }, say("history.title")),
      el("p", { class: "hint-line" }, say("history.how")),
      filters,
      status,
      el("div", { class: "choices" }, button(say("setup.close"), actions.close, { class: "quiet" })),
    ),
    body,
  );
}

function picker(
  of: "deck" | "material" | "day",
  names: readonly string[],
  chosen: string | null,
  orAll: boolean,
  choose: (name: string | null) => void,
  words: (name: string) => string = (name) => name,
): HTMLElement[] {
  const id = `history-${of}`;
  const select = el(
    "select",
    { id, onchange: () => choose(select.value || null) },
    orAll && el("option", { value: "" }, say("history.all")),
    ...names.map((name) => el("option", { value: name, selected: name === chosen }, words(name))),
  );
  return [el("label", { for: id }, say(`history.${of}`)), select];
}

/** What was changed, by the letters that the plots mark it with. */
function changeList(looks: readonly Look[], changes: readonly (readonly string[])[]): HTMLElement {
  const told = changes.flatMap((change, i) => (change.length > 0 ? [{ change, at: looks[i]!.at, photo: i + 1 }] : []));
  if (told.length === 0) return el("p", {}, say("history.noChange"));
  const items = told.map(({ change, at, photo }, i) =>
    el(
      "li",
      {},
      el("b", {}, changeLetter(i + 1)),
      ` ${say("history.before", { photo, when: when(new Date(at)) })} ${change.join("; ")}`,
    ),
  );
  return el("div", {}, el("h2", {}, say("history.changes")), el("ul", { class: "history-changes" }, ...items));
}
