import { type NewReviewAnswer, REVIEW_PHRASES } from "../../vision/contract/index.ts";
import { CONTROL_WORDS } from "../../vision/telling/index.ts";
import { button, el, fill, labelled } from "../element.ts";
import { whyNot } from "../review-words.ts";
import { typedUnit } from "../units.ts";
import { number, say, splitterName } from "../words.ts";

/** Controls that a reviewer can have changed, with their unit. */
const CONTROLS = {
  washWater: ["wash water", "L/min"],
  feedWater: ["feed water", "L/min"],
  feedRate: ["feed rate", "kg/h"],
  crossSlope: ["cross slope", "mm/m"],
  splitter: ["splitter", "mm"],
} as const;
type Control = keyof typeof CONTROLS;
const VERDICTS = ["confirmed", "changed", "refused"] as const;
type Verdict = (typeof VERDICTS)[number];

/** A splitter that was set on the desk, outlet mm. */
interface SplitterSet {
  readonly name: string;
  readonly fromMm: number;
  readonly toMm: number;
}

/**
 * The answer to a reading's hint: confirmed, changed or refused, with sentences that the operator reads in their own language.
 *
 * @param hint  Which hint it is about; null: the reading has none.
 * @param send  Resolves to what is to be read first, null once it is sent. @throws {Trouble}
 */
export function answerForm(hint: number | null, send: (answer: NewReviewAnswer) => Promise<string | null>) {
  const controls = (Object.keys(CONTROLS) as Control[]).map((name) =>
    el(
      "option",
      { value: name },
      `${say(CONTROL_WORDS[CONTROLS[name][0]].words)}, ${typedUnit(CONTROLS[name][1]).unit}`,
    ),
  );
  const control = el("select", { id: "review-control", onchange: () => update() }, ...controls);
  const direction = el(
    "select",
    { id: "review-direction" },
    el("option", { value: "raise" }, say("review.raise")),
    el("option", { value: "lower" }, say("review.lower")),
  );
  const amount = el("input", { id: "review-amount", type: "number", min: 0, step: "any", inputmode: "decimal" });
  const howFar = el("div", {}, labelled(say("review.direction"), direction), labelled(say("review.amount"), amount));
  const changing = el("div", {}, labelled(say("review.control"), control), howFar);
  let verdict: Verdict = "confirmed";
  let splitters: readonly SplitterSet[] = [];
  // where the reading has no hint, nothing can be refused
  const verdicts = VERDICTS.filter((name) => hint !== null || name !== "refused").map((name) => {
    const words = say(hint === null && name === "confirmed" ? "review.verdict.right" : `review.verdict.${name}`);
    const box = el("input", { type: "radio", name: "review-verdict", value: name, onchange: () => choose(name) });
    return { name, box, element: el("label", { class: "gallery-pick" }, box, words) };
  });
  function choose(next: Verdict) {
    verdict = next;
    update();
  }
  const chosenSplitter = () => splitters.find(({ name }) => control.value === `splitter ${name}`);
  function update() {
    for (const { name, box } of verdicts) box.checked = name === verdict;
    changing.hidden = verdict !== "changed";
    howFar.hidden = chosenSplitter() !== undefined;
  }
  const phrases = REVIEW_PHRASES.map((name) => {
    const box = el("input", { type: "checkbox", value: name });
    return { name, box, element: el("label", { class: "gallery-pick" }, box, say(`review.phrase.${name}`)) };
  });
  const note = el("textarea", { id: "review-note", rows: 3, maxlength: 4000 });
  const told = el("p", { role: "status" });
  const sendIt = button(say("review.send"), () => void go(), { class: "main-button" });
  async function go() {
    sendIt.disabled = true;
    try {
      const said = phrases.filter(({ box }) => box.checked).map((phrase) => phrase.name);
      const change = verdict === "changed" ? changeSaid() : null;
      told.textContent = await send({ verdict, hint, change, phrases: said, note: note.value.trim() || null });
    } catch (error) {
      told.textContent = whyNot(error);
    }
    sendIt.disabled = false;
  }
  function changeSaid(): NonNullable<NewReviewAnswer["change"]> {
    const set = chosenSplitter();
    if (set) {
      const by = set.toMm - set.fromMm;
      return {
        control: "splitter",
        target: set.name,
        direction: by > 0 ? "raise" : "lower",
        amount: { value: Math.abs(by), unit: "mm" },
        toMm: set.toMm,
      };
    }
    const name = control.value as Control;
    const value = typedUnit(CONTROLS[name][1]).metric(Number(amount.value));
    return {
      control: name,
      target: null,
      direction: direction.value as "raise" | "lower",
      amount: value > 0 ? { value, unit: CONTROLS[name][1] } : null,
      toMm: null,
    };
  }
  /** Splitters stand elsewhere on the desk: each can be what the answer changes. */
  function setSplitters(next: readonly SplitterSet[]) {
    const was = control.value;
    splitters = next;
    const options = next.map(({ name, toMm }) =>
      el(
        "option",
        { value: `splitter ${name}` },
        say("desk.splitterTo", { name: splitterName(name), mm: number(toMm) }),
      ),
    );
    fill(control, ...options, ...controls);
    const isThere = [...control.options].some(({ value }) => value === was);
    control.value = isThere ? was : (control.options[0]?.value ?? "");
    const [first] = next;
    if (first && !was.startsWith("splitter ")) {
      control.value = `splitter ${first.name}`;
      verdict = "changed";
    }
    update();
  }
  update();
  const element = el(
    "div",
    {},
    el("fieldset", {}, el("legend", {}, say("review.verdict")), ...verdicts.map((one) => one.element)),
    changing,
    el(
      "fieldset",
      { class: "review-phrases" },
      el("legend", {}, say("review.phrases")),
      ...phrases.map((one) => one.element),
    ),
    labelled(say("review.note"), note),
    told,
    sendIt,
  );
  return { element, setSplitters };
}
