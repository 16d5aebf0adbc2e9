import type { ClassName, Reading } from "../../vision/contract/index.ts";
import { button, el, fill } from "../element.ts";
import { hintHeadline, outletUnits } from "../reading-words.ts";
import { saidWords } from "../said.ts";
import { type Comparison, comparable, type KeptLine, type State } from "../state.ts";
import { say, when } from "../words.ts";

export interface CompareActions {
  readonly choose: (choice: Partial<Pick<Comparison, "before" | "after" | "followed">>) => void;
  readonly close: () => void;
}

/** Two kept photos of one deck, laid flat one over the other, to be swiped; how far the bands moved, and whether a hint helped. */
export function comparison(actions: CompareActions) {
  const before = chooser("before", (id) => actions.choose({ before: id, followed: null }));
  const after = chooser("after", (id) => actions.choose({ after: id }));
  const followed = el("select", {
    id: "compare-followed",
    onchange: () => actions.choose({ followed: followed.value === "" ? null : Number(followed.value) }),
  });
  const swipe = swipePicture();
  const told = el("section", { class: "card", role: "status" });
  const element = el(
    "div",
    { class: "step taps-step" },
    el(
      "section",
      { class: "card" },
      el("h1", { tabindex: -1 }, say("compare.title")),
      before.element,
      after.element,
      el("label", { for: "compare-followed", class: "choice-name" }, say("compare.followed")),
      followed,
    ),
    swipe.element,
    told,
    el("div", { class: "choices" }, button(say("setup.close"), actions.close, { class: "quiet" })),
  );

  const update = ({ comparison: now, device, busy }: State) => {
    if (!now) return;
    const lines = comparable(device.kept);
    before.update(lines, now.before);
    after.update(lines, now.after);
    const first = lines.find(({ id }) => id === now.before)?.reading;
    const hints = first ? first.advice.map((hint) => hintHeadline(hint, first)) : [];
    fill(
      followed,
      el("option", { value: "" }, say("compare.noHint")),
      ...hints.map((words, i) => el("option", { value: i }, words)),
    );
    followed.value = now.followed === null ? "" : String(now.followed);
    swipe.update(now.seen?.flatUrls ?? null);
    fill(told, ...(busy ? [el("p", {}, busy)] : now.seen && first ? verdict(now, first) : []));
    told.hidden = !busy && !now.seen;
  };
  return { element, update };
}

function verdict({ seen, followed }: Comparison, first: Reading): HTMLElement[] {
  const { borders, next, say: stored, said } = seen!.helped;
  const { words, attributes } = saidWords(stored, said);
  const units = outletUnits(first);
  const title = borders.length === 0 ? say("compare.noBorder") : say(`compare.next.${next}`);
  const moves = borders.map(({ between: [upper, lower], movedMm, movedErrorMm }) => {
    const by = `${units.number(Math.abs(movedMm))}${units.error(movedErrorMm)} ${units.unit}`;
    const way = Math.abs(movedMm) < 2 * movedErrorMm ? "still" : movedMm > 0 ? "down" : "up";
    const names = { upper: say(className(upper)), lower: say(className(lower)) };
    return el("li", {}, say(`compare.moved.${way}`, { ...names, by }));
  });
  return [
    el("h2", {}, followed === null ? say("compare.moves") : title),
    el("ul", {}, ...moves),
    ...(borders.length === 0 && followed === null ? [el("p", {}, title)] : []),
    // vision/ speaks of mm, which are a guess where the deck's size is
    ...(followed !== null && !units.assumed ? [el("p", attributes, words)] : []),
    el("p", { class: "hint-line" }, say("compare.mind")),
  ];
}

const className = (name: string) => `class.${name as ClassName}` as const;

function chooser(name: "before" | "after", choose: (id: string) => void) {
  const list = el("select", { id: `compare-${name}`, onchange: () => choose(list.value) });
  const element = el(
    "div",
    {},
    el("label", { for: `compare-${name}`, class: "choice-name" }, say(`compare.${name}`)),
    list,
  );
  const update = (lines: readonly KeptLine[], chosen: string) => {
    fill(
      list,
      ...lines.map(({ id, name, keptAt }) =>
        el("option", { value: id }, say("kept.open", { name, when: when(new Date(keptAt)) })),
      ),
    );
    list.value = chosen;
  };
  return { element, update };
}

/** The flat decks one over the other; a slider, or a finger on them, says how much of the later one is seen. */
function swipePicture() {
  const early = el("img", { alt: say("compare.picture"), class: "swipe-early", draggable: "false" });
  const late = el("img", { alt: "", class: "swipe-late", draggable: "false" });
  const line = el("span", { class: "swipe-line", "aria-hidden": "true" });
  const stage = el(
    "div",
    { class: "swipe-stage", onpointerdown: (event: PointerEvent) => press(event) },
    early,
    late,
    line,
  );
  const range = el("input", {
    type: "range",
    min: 0,
    max: 100,
    value: 50,
    class: "swipe-range",
    "aria-label": say("compare.range"),
    oninput: () => show(),
  });
  const ends = el(
    "p",
    { class: "swipe-ends" },
    el("span", {}, say("compare.after")),
    el("span", {}, say("compare.before")),
  );
  const element = el("section", { class: "card swipe", dir: "ltr" }, stage, range, ends);
  const show = () => {
    late.style.clipPath = `inset(0 ${100 - range.valueAsNumber}% 0 0)`;
    line.style.left = `${range.value}%`;
  };
  function press(event: PointerEvent) {
    const move = (now: PointerEvent) => {
      const box = stage.getBoundingClientRect();
      range.value = String(Math.round((100 * (now.clientX - box.left)) / box.width));
      show();
    };
    stage.setPointerCapture(event.pointerId);
    const over = new AbortController();
    stage.addEventListener("pointermove", move, { signal: over.signal });
    for (const name of ["pointerup", "pointercancel"] as const)
      stage.addEventListener(name, () => over.abort(), { signal: over.signal });
    move(event);
  }
  const update = (urls: readonly [string, string] | null) => {
    element.hidden = !urls;
    if (!urls || early.getAttribute("src") === urls[0]) return;
    [early.src, late.src] = urls;
    show();
  };
  return { element, update };
}
