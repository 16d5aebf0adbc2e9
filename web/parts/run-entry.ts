import type { ControlName, Figure, RunEntry } from "../../vision/contract/index.ts";
import { CONTROL_WORDS, STREAM_WORDS } from "../../vision/telling/index.ts";
import { button, el, fill, folded, labelled } from "../element.ts";
import { type NumberEntry, numberEntry } from "../number-entry.ts";
import { clockTime, ITEM_WORDS, SAMPLE_WORDS, type SampleItem, type SampleKind, sayEntry } from "../run-words.ts";
import { keepEntry, keptEntries } from "../set-up-kept.ts";
import type { Unit } from "../units.ts";
import { type Key, say } from "../words.ts";

type Write = (entry: RunEntry) => void;
const LIMITS: Readonly<Record<ControlName, readonly [number, number]>> = {
  "wash water": [0, 10_000],
  "feed water": [0, 10_000],
  "feed rate": [0, 100_000],
  "feed solids": [0, 100],
  "cross slope": [-200, 200],
  "end slope": [-200, 200],
  splitter: [0, 20_000],
  stroke: [0, 200],
  speed: [0, 2000],
};
const choice = (id: string, options: readonly (readonly [value: string, words: string])[], changed: () => void) =>
  el("select", { id, onchange: changed }, ...options.map(([value, words]) => el("option", { value }, words)));

/** A reading of the table or of a sample, which is taken anew each time and so never kept. */
const readingEntry = (
  name: string,
  words: (unit: string) => string,
  limits: readonly [number, number] = [0, 1_000_000],
  unit: Unit = "",
) => numberEntry(name, unit, words, limits, () => {}, null, false);

/** Settings, changes, samples and notes, each written down with who and when. `next` names the next sample of a kind and stream. */
export function runEntry(write: Write, next: (kind: SampleKind, stream: string) => string) {
  const who = el("input", {
    id: "run-who",
    type: "text",
    maxlength: 120,
    autocomplete: "name",
    value: keptEntries()["run-who"] ?? "",
    oninput: () => keepEntry("run-who", who.value),
  });
  const said = el("p", { class: "said", role: "status" });
  const keep = (entry: RunEntry) => {
    write(entry);
    said.textContent = say("run.kept", { what: sayEntry(entry) });
  };
  const writer = () => who.value.trim();
  const element = el(
    "section",
    { class: "card" },
    labelled(say("run.who"), who),
    said,
    folded(say("run.settings"), { id: "run-settings", open: true }, ...settingFields(keep, writer)),
    folded(say("run.sample"), { id: "run-samples" }, ...sampleFields(keep, writer, next)),
    folded(say("run.note"), { id: "run-notes" }, ...noteFields(keep, writer)),
  );
  return { element };
}

function settingFields(keep: Write, who: () => string): HTMLElement[] {
  const controls = Object.entries(CONTROL_WORDS) as [ControlName, { words: Key; unit: string }][];
  const control = choice(
    "run-control",
    controls.map(([name, { words }]) => [name, say(words)]),
    () => show(),
  );
  const target = el("input", { id: "run-target", type: "text", maxlength: 60, autocomplete: "off" });
  const targetField = labelled(say("run.splitterName"), target);
  const note = el("input", { id: "run-setting-note", type: "text", maxlength: 400, autocomplete: "off" });
  const numbers = el("div");
  const fault = el("p", { class: "fault", role: "status" });
  let value: NumberEntry;
  let doubt: NumberEntry;
  const name = () => control.value as ControlName;
  function show(): void {
    const unit = CONTROL_WORDS[name()].unit as Unit;
    const [least, most] = LIMITS[name()];
    const words = (key: Key) => (unit: string) => say(key, { unit });
    value = readingEntry("run-value", words("run.value"), [least, most], unit);
    doubt = readingEntry("run-doubt", words("run.doubt"), [0, most], unit);
    targetField.hidden = name() !== "splitter";
    fill(numbers, value.element, doubt.element);
  }
  const put = (kind: "setting" | "change") => {
    const found = value.value();
    fault.textContent = found === null ? say("run.need") : "";
    if (found === null) return;
    const told = {
      control: name(),
      target: name() === "splitter" ? target.value.trim() : "",
      figure: { value: found, error: doubt.value() },
      at: clockTime(),
      who: who(),
      note: note.value.trim(),
    };
    keep(kind === "setting" ? { kind, setting: told } : { kind, change: told });
    note.value = "";
    show();
  };
  show();
  return [
    labelled(say("run.control"), control),
    targetField,
    numbers,
    labelled(say("run.noteOn"), note),
    fault,
    el(
      "div",
      { class: "choices" },
      button(say("run.stands"), () => put("setting")),
      button(say("run.changed"), () => put("change"), { class: "quiet" }),
    ),
  ];
}

/** The units that weights are typed in, and kg in one. */
const WEIGHTS = { kg: 1, g: 1e-3 } as const;
type Weight = keyof typeof WEIGHTS;

function sampleFields(
  keep: Write,
  who: () => string,
  next: (kind: SampleKind, stream: string) => string,
): HTMLElement[] {
  const kinds = Object.entries(SAMPLE_WORDS) as [SampleKind, (typeof SAMPLE_WORDS)[SampleKind]][];
  const kind = choice(
    "run-kind",
    kinds.map(([name, { words }]) => [name, say(words)]),
    () => show(),
  );
  const streams = Object.entries(STREAM_WORDS).map(([name, words]) => [name, say(words)] as const);
  const stream = choice("run-stream", [...streams, ["", say("run.stream.other")]], () => showStream());
  const streamOther = el("input", { id: "run-stream-other", type: "text", maxlength: 120, autocomplete: "off" });
  const otherField = labelled(say("run.streamName"), streamOther);
  const weight = choice(
    "run-weight",
    [
      ["kg", "kg"],
      ["g", "g"],
    ],
    () => show(),
  );
  const weightField = labelled(say("run.weights"), weight);
  const numbers = el("div");
  const fault = el("p", { class: "fault", role: "status" });
  let fields: readonly SampleField[] = [];
  let openings: ReturnType<typeof openingFields> | null = null;
  const kindNow = () => kind.value as SampleKind;
  function showStream(): void {
    otherField.hidden = stream.value !== "";
  }
  function show(): void {
    const unit = weight.value as Weight;
    const graded = kindNow() === "assay" || kindNow() === "fraction";
    fields = [...SAMPLE_WORDS[kindNow()].items.map((item) => itemField(item, unit)), ...(graded ? [assayField()] : [])];
    openings = kindNow() === "fraction" ? openingFields() : null;
    weightField.hidden = !fields.some((field) => field.weighed);
    fill(numbers, openings?.element, ...fields.map(({ element }) => element));
  }
  const put = () => {
    const name = stream.value || streamOther.value.trim();
    const figures = Object.fromEntries(fields.flatMap((field) => field.figures()));
    const sizeMm = openings?.value() ?? null;
    const needs =
      name === ""
        ? "run.needStream"
        : openings && !sizeMm
          ? "run.needOpenings"
          : Object.keys(figures).length === 0
            ? "run.need"
            : null;
    fault.textContent = needs ? say(needs) : "";
    if (needs) return;
    // a fraction is named by its openings
    const sample = sizeMm ? sizeMm.join("-") : next(kindNow(), name);
    keep({
      kind: "sample",
      sample: { kind: kindNow(), stream: name, sample, sizeMm, figures, at: clockTime(), who: who(), note: "" },
    });
    show();
  };
  show();
  showStream();
  return [
    labelled(say("run.kind"), kind),
    labelled(say("run.stream"), stream),
    otherField,
    weightField,
    numbers,
    fault,
    el("div", { class: "choices" }, button(say("run.keep"), put, { id: "keep-sample" })),
  ];
}

interface SampleField {
  readonly element: HTMLElement;
  readonly weighed: boolean;
  /** By name, in kept units; none where nothing is typed. */
  readonly figures: () => readonly (readonly [string, Figure])[];
}

function itemField(item: SampleItem, weight: Weight): SampleField {
  const { words, unit } = ITEM_WORDS[item];
  const weighed = unit === "kg";
  const label = unit ? say("run.inUnit", { name: say(words), unit: weighed ? weight : unit }) : say(words);
  const entry = readingEntry(`run-${item.replace(" ", "-")}`, () => label);
  const kept = (value: number) => (weighed ? Number((value * WEIGHTS[weight]).toPrecision(12)) : value);
  return {
    element: item === "time" ? el("div", {}, entry.element, stopwatch(entry)) : entry.element,
    weighed,
    figures: () => {
      const value = entry.value();
      return value === null ? [] : [[item, { value: kept(value), error: null }]];
    },
  };
}

/** The screens that a fraction lies between, mm. */
function openingFields() {
  const from = readingEntry("run-opening-from", () => say("run.item.openingFrom"), [0, 300]);
  const to = readingEntry("run-opening-to", () => say("run.item.openingTo"), [0, 300]);
  const value = (): [number, number] | null => {
    const [finer, coarser] = [from.value(), to.value()];
    return finer !== null && coarser !== null && finer < coarser ? [finer, coarser] : null;
  };
  return { element: el("div", {}, from.element, to.element), value };
}

/** Times a cut: the first press starts, the second stops and puts the seconds there. */
function stopwatch(entry: NumberEntry): HTMLElement {
  let since: number | null = null;
  const press = button(
    say("run.watch.start"),
    () => {
      const now = performance.now();
      if (since !== null) entry.put((now - since) / 1000);
      since = since === null ? now : null;
      press.textContent = say(since === null ? "run.watch.start" : "run.watch.stop");
      press.setAttribute("aria-pressed", String(since !== null));
    },
    { class: "quiet", id: "run-watch", "aria-pressed": "false" },
  );
  return el("div", { class: "choices" }, press);
}

function assayField(): SampleField {
  const metal = el("input", { id: "run-metal", type: "text", maxlength: 40, autocomplete: "off" });
  metal.value = keptEntries()["run-metal"] ?? "";
  metal.addEventListener("input", () => keepEntry("run-metal", metal.value));
  const unit = choice(
    "run-grade-unit",
    [
      ["1", "%"],
      ["0.0001", "g/t"],
    ],
    () => {},
  );
  const grade = readingEntry("run-grade", () => say("run.item.grade"));
  const doubt = readingEntry("run-grade-doubt", () => say("run.item.gradeDoubt"));
  return {
    element: el(
      "div",
      {},
      labelled(say("run.item.metal"), metal),
      grade.element,
      doubt.element,
      labelled(say("run.item.gradeUnit"), unit),
    ),
    weighed: false,
    figures: () => {
      const value = grade.value();
      const name = metal.value.trim();
      if (value === null || name === "") return [];
      const times = (v: number) => Number((v * Number(unit.value)).toPrecision(12));
      const error = doubt.value();
      return [[name, { value: times(value), error: error === null ? null : times(error) }]];
    },
  };
}

function noteFields(keep: Write, who: () => string): HTMLElement[] {
  const note = el("textarea", { id: "run-note", rows: 3, maxlength: 2000 });
  const put = () => {
    if (note.value.trim() === "") return note.focus();
    keep({ kind: "note", note: { text: note.value.trim(), at: clockTime(), who: who() } });
    note.value = "";
  };
  return [
    labelled(say("run.note"), note),
    el("div", { class: "choices" }, button(say("run.keep"), put, { id: "keep-note" })),
  ];
}
