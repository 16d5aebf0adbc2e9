import type { SetupRecord } from "../../vision/contract/index.ts";
import { button, el, fill, labelled } from "../element.ts";
import { type NumberEntry, numberEntry } from "../number-entry.ts";
import { sourceWords } from "../said.ts";
import { saveJson } from "../save-file.ts";
import { keepEntry, keepRecord, keptEntries, keptRecord } from "../set-up-kept.ts";
import { type Check, type SetupFault, type StepFor, setupFaults, setupFor } from "../set-up-sums.ts";
import { exact, type Unit } from "../units.ts";
import { isKey, type Key, number, say, splitterName, when } from "../words.ts";

type Deck = Parameters<typeof setupFor>[0];
type StepId =
  | "hold-down"
  | "level-along"
  | "slope-across"
  | "recheck"
  | "wash-pipe"
  | "film"
  | "float"
  | "feed"
  | "splitters"
  | "stop";

/** Names of checks in the language spoken, by their names in the guide. */
const CHECKS: Readonly<Record<string, Key>> = {
  "frame walked": "guide.check.walked",
  "end slope": "guide.check.endSlope",
  "cross slope": "guide.check.crossSlope",
  "twist, one diagonal less the other": "guide.check.twist",
  "holes blocked": "guide.check.holes",
  "water, wash and feed": "guide.check.water",
  "float across the deck": "guide.check.float",
  "feed solids by weight": "guide.check.solids",
};

/** The order of setting up, one step after the other; who did each, when, and what was read is kept on this device. */
export function setupWalk(deck: Deck) {
  const steps = setupFor(deck);
  let record = keptRecord(deck.file.name ?? "");
  const named = deck.scale === "deck file" && deck.file.name ? deck.file.name : say("setup.thisDeck");
  let kept = true;
  let at = Math.max(
    0,
    steps.findIndex(({ id }) => !entryOf(record, id)),
  );

  const card = el("div", { class: "guide-step" });
  const list = el("ol", { class: "guide-list" });
  const file = el("div", { class: "choices" });
  const element = el("div", {}, card, el("h3", {}, say("guide.all")), list, file);

  const go = (to: number) => {
    at = to;
    update();
    card.querySelector<HTMLElement>("h3")?.focus();
  };
  const done = (step: StepFor, who: string, values: Record<string, number[]>) => {
    const entry = { step: step.id, done: true, who, at: withOffset(new Date()), values };
    record = { ...record, entries: [...record.entries, entry] };
    kept = keepRecord(record);
    go(Math.min(steps.length - 1, at + 1));
  };
  const update = () => {
    fill(card, ...stepCard(steps, at, { record, go, done }));
    fill(list, ...steps.map((step, i) => stepLine(step, i, at, record, () => go(i))));
    const faults = faultsOf(deck, record);
    fill(
      file,
      faults && el("div", { class: "caution" }, el("p", {}, el("b", {}, say("guide.faults"))), faults),
      el("p", { class: "hint-line" }, say(kept ? "guide.keptHere" : "guide.notKept", { deck: named })),
      record.entries.length > 0 &&
        button(say("guide.save"), () => saveJson(record, "table.setup.json"), { class: "quiet" }),
    );
  };
  return { element, update };
}

const entryOf = ({ entries }: SetupRecord, id: string) => entries.findLast(({ step, done }) => step === id && done);

function faultsOf(deck: Deck, record: SetupRecord): HTMLElement | null {
  if (record.entries.length === 0) return null;
  const faults = setupFaults(deck, record);
  return faults.length === 0 ? null : el("ul", {}, ...faults.map((fault) => el("li", {}, faultWords(fault))));
}

function faultWords(fault: SetupFault): string {
  const title = isStep(fault.step) ? say(`guide.${fault.step}.title`) : fault.step;
  if (fault.kind === "unknown" || fault.kind === "skipped") return say(`guide.fault.${fault.kind}`, { title });
  const { check } = fault;
  if (fault.kind === "unread") return say("guide.fault.unread", { title, check: checkName(check) });
  const value = exact(fault.value, unitOf(check));
  return say("guide.fault.outside", { title, value, check: checkWords(check, "") });
}
const isStep = (id: string): id is StepId => isKey(`guide.${id}.title`);

interface Walk {
  readonly record: SetupRecord;
  readonly go: (to: number) => void;
  readonly done: (step: StepFor, who: string, values: Record<string, number[]>) => void;
}
/** One step: what can hurt first, then what to do, what to read, and who did it. */
function stepCard(steps: readonly StepFor[], at: number, { record, go, done }: Walk): HTMLElement[] {
  const step = steps[at]!;
  const id = step.id as StepId;
  const how = step.how.map((_, i) => el("li", {}, say(`guide.${id}.how${i + 1}` as Key)));
  const entries = step.checks.map((check): [Check, NumberEntry] => [
    check,
    numberEntry(
      `guide-${step.id}-${check.name}`,
      unitOf(check),
      (unit) => checkWords(check, unit),
      [-100_000, 100_000],
      () => {},
      null,
      false,
    ),
  ]);
  const who = el("input", { id: "set-up-who", type: "text", maxlength: 60, autocomplete: "name", required: true });
  who.value = keptEntries().who ?? "";
  const missing = el("p", { class: "fault", role: "alert" });
  const keep = () => {
    const unread = entries.find(([, entry]) => entry.value() === null);
    const name = who.value.trim();
    if (name) keepEntry("who", name);
    if (unread) unread[1].element.querySelector("input")!.focus();
    else if (!name) who.focus();
    else {
      const values = entries.map(([check, entry]) => [check.name, [entry.value()!]]);
      return done(step, name, Object.fromEntries(values));
    }
    fill(missing, unread ? say("guide.unread", { check: checkName(unread[0]) }) : say("guide.noName"));
  };
  const before = entryOf(record, step.id);
  return [
    el("p", { class: "eyebrow" }, say("guide.place", { at: number(at + 1), of: number(steps.length) })),
    el("h3", { tabindex: -1 }, say(`guide.${id}.title` as Key)),
    el("div", { class: "caution" }, el("p", {}, say(`guide.${id}.caution` as Key))),
    el("ul", {}, ...how),
    ...entries.map(([, entry]) => entry.element),
    labelled(say("guide.who"), who),
    missing,
    ...(before ? [el("p", { class: "hint-line" }, doneWords(before))] : []),
    el(
      "div",
      { class: "choices" },
      button(say("guide.done"), keep, { class: "main-button" }),
      ...(at > 0 ? [button(say("guide.back"), () => go(at - 1), { class: "quiet" })] : []),
      ...(at < steps.length - 1 ? [button(say("guide.next"), () => go(at + 1), { class: "quiet" })] : []),
    ),
    el(
      "details",
      { class: "basis" },
      el("summary", {}, say("next.basis")),
      el("p", sourceWords(step.basis).attributes, sourceWords(step.basis).words),
    ),
  ];
}

function stepLine(step: StepFor, index: number, at: number, record: SetupRecord, go: () => void): HTMLElement {
  const entry = entryOf(record, step.id);
  const words = `${number(index + 1)}. ${say(`guide.${step.id as StepId}.title` as Key)}`;
  const current = index === at && { "aria-current": "step" };
  return el(
    "li",
    {},
    el(
      "button",
      { type: "button", class: "quiet", onclick: go, ...current },
      el("b", {}, words),
      el("small", {}, entry ? `✓ ${doneWords(entry)}` : say("guide.open")),
    ),
  );
}

const doneWords = ({ who, at }: SetupRecord["entries"][number]) =>
  say("guide.doneBy", { who, when: when(new Date(at)) });

function checkName({ name }: Check): string {
  const key = CHECKS[name];
  return key ? say(key) : say("guide.check.splitter", { name: splitterName(name.replace(/^splitter /, "")) });
}
const UNITS: readonly string[] = ["mm", "mm/m", "L/min", "s", "%"] satisfies Unit[];
const unitOf = ({ unit }: Check) => (UNITS.includes(unit) ? unit : "") as Unit;
/** What is to be read, in which unit, and which range is right. */
function checkWords(check: Check, typed: string): string {
  const { least, most } = check;
  const write = (value: number) => exact(value, unitOf(check));
  const name = typed ? `${checkName(check)}, ${typed}` : checkName(check);
  if (least !== null && most !== null)
    return say("guide.between", { check: name, least: write(least), most: write(most) });
  if (most === 0) return say("guide.none", { check: name });
  if (most !== null) return say("guide.atMost", { check: name, most: write(most) });
  return least !== null ? say("guide.atLeast", { check: name, least: write(least) }) : name;
}

/** ISO 8601 with this place's offset from UTC. */
function withOffset(time: Date): string {
  const minutes = -time.getTimezoneOffset();
  const two = (value: number) => String(Math.floor(Math.abs(value))).padStart(2, "0");
  const local = new Date(time.getTime() + minutes * 60_000).toISOString().slice(0, 19);
  return `${local}${minutes < 0 ? "-" : "+"}${two(minutes / 60)}:${two(minutes % 60)}`;
}
