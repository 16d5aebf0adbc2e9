import { button, el, fill, folded, labelled, svgEl } from "./element.ts";
import type { LaunderContent } from "./flat-deck.ts";
import { legendLine } from "./flat-legend.ts";
import { betweenNeighbours, flatStage, handleNumber } from "./flat-stage.ts";
import { launderTable } from "./launder-table.ts";
import { practiceControls } from "./practice-controls.ts";
import { practicePicture } from "./practice-picture.ts";
import {
  goalsMet,
  looksAt,
  PRACTICE_DECK,
  PRACTICE_FEEDS,
  PRACTICE_START,
  PRACTICE_TASKS,
  type PracticeFeed,
  type PracticeResult,
  type PracticeStand,
  type PracticeTask,
  practise,
} from "./practice-sums.ts";
import { changed, contentOf, sayGoal, sayLaunder, sayLook } from "./practice-words.ts";
import { outletUnits } from "./reading-words.ts";
import { keepEntry, keptEntries } from "./set-up-kept.ts";
import { splitterList } from "./splitter-list.ts";
import { percent, say, splitterName } from "./words.ts";

const UNITS = outletUnits({ scale: "deck file", grid: null });
const { lengthMm, widthMm } = PRACTICE_DECK;
const OUTLET: readonly (readonly [number, number])[] = [
  [lengthMm, 0],
  [lengthMm, widthMm],
  [0, widthMm],
];
const SPLITTER_STEP_MM = 10;
/** Tasks that this device has seen done. */
const DONE = "practice done";

/** A deck to practise on: controls and splitters are moved, the bands answer, and what launders carry is said. Loaded when it is first opened. */
export function practiceScreen(close: () => void): HTMLElement {
  let task: PracticeTask | null = null;
  let feed: PracticeFeed = PRACTICE_START.feed;
  let stand: PracticeStand = PRACTICE_START.stand;
  let changes = 0;
  let isDone = false;

  const splitters = (["upper", "lower"] as const).map((name) => ({
    name: splitterName(name),
    minMm: 40,
    maxMm: lengthMm + widthMm - 40,
    stepMm: SPLITTER_STEP_MM,
    movable: true,
  }));
  const picture = practicePicture(matchMedia("(prefers-reduced-motion: reduce)").matches);
  const stage = flatStage({
    lengthMm,
    widthMm,
    outletPath: OUTLET,
    mirrored: false,
    units: UNITS,
    handles: splitters.map((one, i) => ({
      ...one,
      mark: handleNumber(i),
      label: say("flat.handle", { name: one.name }),
    })),
    places: () => stand.splittersMm,
    move: (i, mm) => moveSplitter(i, mm),
    nudge: (i, steps) => moveSplitter(i, stand.splittersMm[i]! + steps * SPLITTER_STEP_MM),
    below: [picture.element],
    onDeck: () => [],
  });
  const isFree = (what: PracticeTask["free"][number]) => task === null || task.free.includes(what);
  function moveSplitter(i: number, mm: number) {
    if (!isFree("splitters")) return;
    const places = [...stand.splittersMm] as [number, number];
    places[i] = Math.round(betweenNeighbours(splitters[i]!, places, i, mm, stage.line.lengthMm));
    put({ ...stand, splittersMm: places });
  }
  const list = splitterList(splitters, UNITS, (i, steps) => {
    moveSplitter(i, stand.splittersMm[i]! + steps * SPLITTER_STEP_MM);
    settled();
  });
  stage.element.addEventListener("pointerup", () => settled());
  stage.element.addEventListener("keyup", () => settled());

  const controls = practiceControls({
    now: (name) => stand[name],
    isFree,
    move: (name, value) => put({ ...stand, [name]: value }),
    settled: () => settled(),
  });

  const feedPicker = el(
    "select",
    { id: "practice-feed", onchange: () => begin(null, feedPicker.value as PracticeFeed) },
    ...(Object.keys(PRACTICE_FEEDS) as PracticeFeed[]).map((name) =>
      el("option", { value: name }, say(`practice.feed.${name}`)),
    ),
  );
  const table = launderTable(UNITS);
  const carries = el("ul", {});
  const looks = el("ul", {});
  const taskCard = el("section", { class: "card practice-task" });
  const outcome = el("p", { role: "status", class: "flat-told" });
  const goals = el("ul", {});
  const tasks = el("ul", { class: "kept" });

  /** A control moves: the picture and the numbers follow; the outcome is told once it is let go. */
  function put(next: PracticeStand) {
    stand = next;
    update(false);
  }
  let told: PracticeStand = stand;
  function settled() {
    if (!changed(told, stand)) return;
    told = stand;
    changes++;
    if (task) tellOutcome(task, practise(feed, stand));
  }
  function update(atOnce: boolean) {
    picture.show(feed, stand, atOnce);
    stage.draw();
    controls.update();
    list.update(stand.splittersMm.map((mm) => say("flat.at", { place: UNITS.say(mm) })));
    const result = practise(feed, stand);
    const content: LaunderContent[] = contentOf(result, stand);
    table.update(content, null);
    fill(carries, ...content.map((one, i) => el("li", {}, sayLaunder(one, result.purity[i]!))));
    fill(looks, ...looksAt(result, stand).map((look) => el("li", {}, sayLook(look))));
    if (task) fill(goals, ...goalsMet(task.goals, result, stand).map((one) => el("li", {}, sayGoal(one))));
  }
  function tellOutcome({ name, goals: wanted }: PracticeTask, result: PracticeResult) {
    const all = goalsMet(wanted, result, stand);
    isDone = all.every(({ met }) => met);
    outcome.classList.toggle("is-done", isDone);
    const missing = all.filter(({ met }) => !met).length;
    outcome.textContent = isDone
      ? say("practice.done", {
          changes,
          recovery: percent(result.carried[0]!.dense),
          purity: percent(result.purity[0]!),
        })
      : say("practice.notYet", { changes, missing });
    if (!isDone) return;
    keepEntry(DONE, [...new Set([...doneTasks(), name])].join(" "));
    listTasks();
  }
  function begin(next: PracticeTask | null, nextFeed = next?.feed ?? feed) {
    task = next;
    feed = nextFeed;
    stand = next?.start ?? { ...PRACTICE_START.stand };
    told = stand;
    changes = 0;
    isDone = false;
    feedPicker.value = feed;
    for (const handle of stage.element.querySelectorAll<HTMLElement>(".flat-handle"))
      handle.hidden = !isFree("splitters");
    list.element.hidden = !isFree("splitters");
    outcome.textContent = "";
    outcome.classList.remove("is-done");
    taskCard.hidden = next === null;
    if (next) {
      fill(
        taskCard,
        el("h2", { tabindex: -1 }, say(`practice.task.${next.name as TaskName}`)),
        el("p", {}, say(`practice.task.${next.name as TaskName}.what`)),
        goals,
        outcome,
        el(
          "div",
          { class: "choices" },
          button(say("practice.again"), () => begin(next), { class: "quiet" }),
          button(say("practice.free"), () => begin(null), { class: "quiet" }),
        ),
      );
    }
    update(true);
    if (!next) return;
    choice.open = false;
    taskCard.querySelector("h2")!.focus();
  }
  type TaskName = (typeof PRACTICE_TASKS)[number]["name"];
  function listTasks() {
    const done = doneTasks();
    fill(
      tasks,
      ...PRACTICE_TASKS.map((one) => {
        const name = say(`practice.task.${one.name}`);
        const words = done.includes(one.name) ? say("practice.taskDone", { name }) : name;
        return el(
          "li",
          {},
          button(words, () => begin(one), { class: "quiet", id: `practice-${one.name}` }),
        );
      }),
    );
  }

  const choice = folded(
    say("practice.tasks"),
    { class: "card", open: true },
    tasks,
    labelled(say("practice.feed"), feedPicker),
  );
  listTasks();
  begin(null);
  const swatch = (name: "dense" | "middling" | "light") =>
    legendLine(
      [svgEl("rect", { x: 1, y: 1, width: 34, height: 20, class: `flat-swatch flat-${name}` })],
      say(`class.${name}`),
    );
  return el(
    "div",
    { class: "step practice" },
    el(
      "section",
      { class: "card" },
      el("h1", { tabindex: -1 }, say("practice.title")),
      el("p", {}, say("practice.what")),
      el("p", { class: "hint-line" }, say("practice.model")),
    ),
    choice,
    el(
      "div",
      { class: "practice-deck" },
      el(
        "section",
        { class: "card" },
        stage.element,
        el("ul", { class: "flat-legend" }, swatch("dense"), swatch("middling"), swatch("light")),
      ),
      el(
        "div",
        {},
        taskCard,
        el(
          "section",
          { class: "card" },
          ...controls.elements,
          el("p", { class: "hint-line" }, say("practice.feedWater")),
          list.element,
        ),
      ),
    ),
    el(
      "div",
      { class: "practice-told" },
      el("section", { class: "card flat-launders" }, el("h2", {}, say("practice.carries")), carries, table.element),
      el(
        "section",
        { class: "card" },
        el("h2", {}, say("practice.looks")),
        looks,
        el("p", { class: "hint-line" }, say("practice.basis")),
      ),
    ),
    el("div", { class: "choices" }, button(say("practice.back"), close, { class: "quiet" })),
  );
}

const doneTasks = () => (keptEntries()[DONE] ?? "").split(" ").filter(Boolean);
