import { type DeckFile, type DeckFileInput, Product } from "../vision/contract/index.ts";
import {
  checkDraft,
  LEAST_POINTS,
  LINES,
  type Line,
  type Pair,
  pointsOf,
  withFirstRiffles,
  withoutPoints,
  withPointMore,
  withPoints,
  withSplitters,
} from "./deck-draft.ts";
import { button, el, fill, folded, labelled } from "./element.ts";
import { deckDrawing } from "./parts/deck-drawing.ts";
import { saveJson } from "./save-file.ts";
import { type Key, number, say } from "./words.ts";

export interface EditorActions {
  readonly save: (file: DeckFile) => void;
  readonly close: () => void;
}
type Splitters = NonNullable<DeckFileInput["splitters"]>;
type Marks = NonNullable<DeckFileInput["marks"]>["items"];
/** The marks that this program prints and finds. */
const DICTIONARY = "ARUCO_MIP_36h12";

/**
 * A deck file written by drawing and typing: whatever is changed is checked and drawn at once. What stands in the file and has no
 * entry here stays as it is. Loaded when it is first opened.
 */
export function deckEditor(first: DeckFileInput, { save, close }: EditorActions): HTMLElement {
  let draft = first;
  let line: Line = "outline";
  const drawing = deckDrawing((index, to) => {
    change(
      withPoints(
        draft,
        line,
        pointsOf(draft, line).map((point, i) => (i === index ? to : point)),
      ),
    );
    layPoints();
  });
  const faults = el("ul", { class: "fault" });
  const good = el("p", {}, say("editor.good"));
  const check = el("div", { role: "status", class: "editor-check" }, good, faults);
  const keep = button(say("editor.save"), () => {
    const { file } = checkDraft(draft);
    if (file) save(file);
  });
  const download = button(say("editor.download"), () => downloadJson(draft), { class: "quiet" });

  function change(next: DeckFileInput) {
    draft = next;
    show();
  }
  function show() {
    drawing.update(draft, line);
    const { file, faults: wrong } = checkDraft(draft);
    good.hidden = file === null;
    keep.disabled = file === null;
    download.disabled = file === null;
    fill(faults, ...wrong.map((fault) => el("li", {}, fault)));
    const drawn = draft.outline !== undefined;
    for (const [field, value] of [
      [length, draft.lengthMm],
      [width, draft.widthMm],
    ] as const) {
      field.readOnly = drawn;
      if (document.activeElement !== field) field.value = String(value);
    }
    sizeNote.hidden = !drawn;
  }

  const name = field("editor-name", "text", draft.name ?? "", (value) => change({ ...draft, name: value }));
  const length = numberField("editor-length", draft.lengthMm, (lengthMm) => change({ ...draft, lengthMm }));
  const width = numberField("editor-width", draft.widthMm, (widthMm) => change({ ...draft, widthMm }));
  const sizeNote = el("p", { class: "hint-line" }, say("editor.sizeDrawn"));
  const hand = picker(
    "editor-hand",
    ["right", "left"],
    draft.hand ?? "right",
    (value) => say(`deck.${value}`),
    (value) => change({ ...draft, hand: value }),
  );

  const whichLine = picker(
    "editor-line",
    LINES,
    line,
    (of) => say(`editor.${of}`),
    (of) => {
      line = of;
      layPoints();
      show();
    },
  );
  const points = el("div", { class: "editor-rows" });
  function layPoints() {
    if (points.contains(document.activeElement)) return; // what is being typed stays
    const all = pointsOf(draft, line);
    const set = (next: readonly Pair[]) => {
      change(withPoints(draft, line, next));
    };
    const anew = (next: DeckFileInput) => {
      (document.activeElement as HTMLElement | null)?.blur();
      change(next);
      layPoints();
    };
    const rows = all.map(([x, y], i) =>
      row(
        number(i + 1),
        [
          [
            say("editor.x", { nth: i + 1 }),
            x,
            (mm) => set(pointsOf(draft, line).map((p, k) => (k === i ? [mm, p[1]] : p))),
          ],
          [
            say("editor.y", { nth: i + 1 }),
            y,
            (mm) => set(pointsOf(draft, line).map((p, k) => (k === i ? [p[0], mm] : p))),
          ],
        ],
        all.length > LEAST_POINTS[line]
          ? () =>
              anew(
                withPoints(
                  draft,
                  line,
                  all.filter((_, k) => k !== i),
                ),
              )
          : null,
      ),
    );
    const isTold = draft[line] !== undefined;
    fill(
      points,
      ...rows,
      el(
        "div",
        { class: "choices" },
        all.length > 0
          ? button(
              say("editor.pointMore"),
              () => anew(withPoints(draft, line, withPointMore(all, line !== "outletPath"))),
              { class: "quiet" },
            )
          : button(say("editor.riffles"), () => anew(withFirstRiffles(draft)), { class: "quiet" }),
        isTold && button(say(`editor.without.${line}`), () => anew(withoutPoints(draft, line)), { class: "quiet" }),
      ),
    );
  }

  const splitters = el("div", { class: "editor-rows" });
  function laySplitters() {
    const all: Splitters = draft.splitters ?? [];
    const set = (i: number, part: Partial<Splitters[number]>) =>
      change(
        withSplitters(
          draft,
          (draft.splitters ?? []).map((one, k) => (k === i ? { ...one, ...part } : one)),
        ),
      );
    const anew = (next: Splitters) => {
      change(withSplitters(draft, next));
      laySplitters();
    };
    const rows = all.map((one, i) => {
      const id = `editor-splitter-${i}`;
      const optional = (part: "minMm" | "maxMm" | "stepMm") => (mm: number | null) =>
        set(i, { [part]: mm ?? undefined });
      return el(
        "fieldset",
        {},
        el("legend", {}, one.name),
        labelled(
          say("editor.name"),
          field(`${id}-name`, "text", one.name, (value) => set(i, { name: value })),
        ),
        labelled(
          say("editor.at"),
          numberField(`${id}-at`, one.atMm, (atMm) => set(i, { atMm })),
        ),
        labelled(
          say("editor.above"),
          picker(
            `${id}-above`,
            Product.options,
            one.between[0],
            (p) => say(`class.${p}`),
            (p) => set(i, { between: [p, (draft.splitters ?? [])[i]!.between[1]] }),
          ),
        ),
        labelled(
          say("editor.below"),
          picker(
            `${id}-below`,
            Product.options,
            one.between[1],
            (p) => say(`class.${p}`),
            (p) => set(i, { between: [(draft.splitters ?? [])[i]!.between[0], p] }),
          ),
        ),
        labelled(say("editor.min"), optionalField(`${id}-min`, one.minMm, optional("minMm"))),
        labelled(say("editor.max"), optionalField(`${id}-max`, one.maxMm, optional("maxMm"))),
        labelled(say("editor.step"), optionalField(`${id}-step`, one.stepMm, optional("stepMm"))),
        button(say("editor.drop", { name: one.name }), () => anew(all.filter((_, k) => k !== i)), { class: "quiet" }),
      );
    });
    const more = () =>
      anew([
        ...all,
        {
          name: say("editor.newSplitter", { nth: all.length + 1 }),
          between: ["middling", "light"],
          atMm: Math.round(draft.lengthMm / 2),
        },
      ]);
    fill(splitters, ...rows, button(say("editor.splitterMore"), more, { class: "quiet" }));
  }

  const marks = el("div", { class: "editor-rows" });
  function layMarks() {
    const all: Marks = draft.marks?.items ?? [];
    const put = (items: Marks) => {
      const { marks: was, ...rest } = draft;
      change(items.length > 0 ? { ...rest, marks: { dictionary: was?.dictionary ?? DICTIONARY, items } } : rest);
    };
    const anew = (items: Marks) => {
      put(items);
      layMarks();
    };
    const set = (i: number, part: Partial<Marks[number]>) =>
      put((draft.marks?.items ?? []).map((one, k) => (k === i ? { ...one, ...part } : one)));
    const now = (i: number) => draft.marks!.items[i]!;
    const rows = all.map((one, i) =>
      row(
        say("editor.mark", { id: one.id }),
        [
          [say("editor.markId"), one.id, (id) => set(i, { id })],
          [say("editor.markX"), one.centre[0], (mm) => set(i, { centre: [mm, now(i).centre[1]] })],
          [say("editor.markY"), one.centre[1], (mm) => set(i, { centre: [now(i).centre[0], mm] })],
          [say("editor.markSize"), one.sizeMm, (sizeMm) => set(i, { sizeMm })],
          [say("editor.markTurn"), one.turnDegrees ?? 0, (turnDegrees) => set(i, { turnDegrees })],
        ],
        () => anew(all.filter((_, k) => k !== i)),
      ),
    );
    const more = () =>
      anew([
        ...all,
        { id: Math.max(-1, ...all.map(({ id }) => id)) + 1, centre: [-40, -40], sizeMm: 60, turnDegrees: 0 },
      ]);
    fill(marks, ...rows, button(say("editor.markMore"), more, { class: "quiet" }));
  }

  const part = (title: Key, open: boolean, ...content: HTMLElement[]) =>
    folded(say(title), { class: "card", open }, ...content);
  const element = el(
    "div",
    { class: "step deck-editor" },
    el(
      "div",
      { class: "editor-left" },
      el(
        "section",
        { class: "card" },
        el("h1", { tabindex: -1 }, say("editor.title")),
        el("p", { class: "hint-line" }, say("editor.how")),
        labelled(say("editor.drag"), whichLine),
        drawing.element,
        check,
        el("div", { class: "choices" }, keep, download, button(say("editor.close"), close, { class: "quiet" })),
      ),
    ),
    el(
      "div",
      {},
      part(
        "editor.size",
        true,
        labelled(say("editor.name"), name),
        labelled(say("deck.hand"), hand),
        labelled(say("deck.length"), length),
        labelled(say("deck.width"), width),
        sizeNote,
      ),
      part("editor.points", true, el("p", { class: "hint-line" }, say("editor.coordinates")), points),
      part("numbers.splitters", false, el("p", { class: "hint-line" }, say("editor.splittersHow")), splitters),
      part("editor.marks", false, el("p", { class: "hint-line" }, say("editor.marksHow")), marks),
    ),
  );
  layPoints();
  laySplitters();
  layMarks();
  show();
  return element;
}

function field(id: string, type: "text" | "number", first: string, change: (value: string) => void): HTMLInputElement {
  const made = el("input", {
    id,
    type,
    ...(type === "number" && { inputmode: "decimal", step: "any" }),
    oninput: () => change(made.value),
  });
  made.value = first;
  return made;
}
const numberField = (id: string, first: number, change: (value: number) => void) =>
  // nothing typed is no number: the check then names the field
  field(id, "number", String(first), (value) => change(value === "" ? Number.NaN : Number(value)));
const optionalField = (id: string, first: number | undefined, change: (value: number | null) => void) =>
  field(id, "number", String(first ?? ""), (value) => change(value === "" ? null : Number(value)));

function picker<Name extends string>(
  id: string,
  names: readonly Name[],
  chosen: Name,
  words: (name: Name) => string,
  choose: (name: Name) => void,
): HTMLSelectElement {
  const select = el(
    "select",
    { id, onchange: () => choose(select.value as Name) },
    ...names.map((name) => el("option", { value: name, selected: name === chosen }, words(name))),
  );
  return select;
}

let rows = 0;
/** Numbers of one thing, side by side. @param drop  Null where it must stay. */
function row(
  title: string,
  numbers: readonly (readonly [words: string, value: number, change: (value: number) => void])[],
  drop: (() => void) | null,
): HTMLElement {
  const id = `editor-row-${++rows}`;
  return el(
    "fieldset",
    { class: "editor-row" },
    el("legend", {}, title),
    ...numbers.map(([words, value, change], i) => labelled(words, numberField(`${id}-${i}`, value, change))),
    drop && button("×", drop, { class: "quiet remove", "aria-label": say("editor.drop", { name: title }) }),
  );
}

function downloadJson(draft: DeckFileInput): void {
  const { file } = checkDraft(draft);
  if (file) saveJson(file, `${file.name.replace(/[^\p{L}\p{N}]+/gu, "-") || "deck"}.deck.json`);
}
