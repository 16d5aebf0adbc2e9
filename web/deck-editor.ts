import { type DeckFile, type DeckFileInput, Product } from "../vision/contract/index.ts";
import {
  checkDraft,
  kindOf,
  type Line,
  linesBeyond,
  linesOf,
  MANY,
  type Pair,
  POINTS,
  pointsOf,
  tells,
  withFirstRiffles,
  withOneMore,
  withoutPoints,
  withPointMore,
  withPoints,
  withSplitters,
} from "./deck-draft.ts";
import { lineName } from "./deck-words.ts";
import { numberField, optionalField, picker, row, textField, tick } from "./editor-fields.ts";
import { button, el, fill, folded, labelled } from "./element.ts";
import { deckDrawing } from "./parts/deck-drawing.ts";
import { deckGauges } from "./parts/deck-gauges.ts";
import { saveJson } from "./save-file.ts";
import { type Key, number, say } from "./words.ts";

export interface EditorActions {
  readonly save: (file: DeckFile) => void;
  readonly close: () => void;
}
type Splitters = NonNullable<DeckFileInput["splitters"]>;
type Marks = NonNullable<DeckFileInput["marks"]>["items"];
const inUnit = (words: Key) => (unit: string) => say(words, { unit });
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
  const mind = el("p", { class: "hint-line" });
  const check = el("div", { role: "status", class: "editor-check" }, good, faults, mind);
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
    const beyond = linesBeyond(draft).map(lineName);
    mind.textContent = beyond.length > 0 ? say("editor.beyond", { lines: beyond.join(", ") }) : "";
    const drawn = draft.outline !== undefined;
    for (const [size, value] of [
      [length, draft.lengthMm],
      [width, draft.widthMm],
    ] as const) {
      size.field.readOnly = drawn;
      if (document.activeElement !== size.field) size.put(value);
    }
    sizeNote.hidden = !drawn;
  }

  const name = textField("editor-name", draft.name ?? "", (value) => change({ ...draft, name: value }));
  const length = numberField("editor-length", "mm", inUnit("deck.length"), draft.lengthMm, (lengthMm) =>
    change({ ...draft, lengthMm }),
  );
  const width = numberField("editor-width", "mm", inUnit("deck.width"), draft.widthMm, (widthMm) =>
    change({ ...draft, widthMm }),
  );
  const sizeNote = el("p", { class: "hint-line" }, say("editor.sizeDrawn"));
  const hand = picker(
    "editor-hand",
    ["right", "left"],
    draft.hand ?? "right",
    (value) => say(`deck.${value}`),
    (value) => change({ ...draft, hand: value }),
  );

  const whichLine = el("select", { id: "editor-line", onchange: () => take(whichLine.value as Line) });
  function layLines() {
    fill(whichLine, ...linesOf(draft).map((of) => el("option", { value: of, selected: of === line }, lineName(of))));
  }
  /** This line is dragged and typed from now on. */
  function take(of: Line) {
    line = of;
    layLines();
    layPoints();
    show();
  }
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
    const [kind] = kindOf(line);
    const { least, most, closed } = POINTS[kind];
    const rows = all.map(([x, y], i) =>
      row(
        number(i + 1),
        [
          ["editor.x", "mm", x, (mm) => set(pointsOf(draft, line).map((p, k) => (k === i ? [mm, p[1]] : p)))],
          ["editor.y", "mm", y, (mm) => set(pointsOf(draft, line).map((p, k) => (k === i ? [p[0], mm] : p)))],
        ],
        all.length > least
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
    fill(
      points,
      ...rows,
      el(
        "div",
        { class: "choices" },
        all.length === 0 && button(say("editor.riffles"), () => anew(withFirstRiffles(draft)), { class: "quiet" }),
        all.length > 0 &&
          all.length < most &&
          button(say("editor.pointMore"), () => anew(withPoints(draft, line, withPointMore(all, closed))), {
            class: "quiet",
          }),
        tells(draft, line) && button(say(`editor.without.${kind}`), () => drop(), { class: "quiet" }),
        ...MANY.map((more) => button(say(`editor.more.${more}`), () => addLine(more), { class: "quiet" })),
      ),
    );
  }

  /** The line follows from the rest again; of several it goes, and the outline is taken up. */
  function drop() {
    const [kind] = kindOf(line);
    change(withoutPoints(draft, line));
    (document.activeElement as HTMLElement | null)?.blur();
    take((MANY as readonly string[]).includes(kind) ? "outline" : line);
  }
  function addLine(kind: (typeof MANY)[number]) {
    change(withOneMore(draft, kind));
    (document.activeElement as HTMLElement | null)?.blur();
    take(`${kind}.${(draft[kind] ?? []).length - 1}`);
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
          textField(`${id}-name`, one.name, (value) => set(i, { name: value })),
        ),
        numberField(`${id}-at`, "mm", inUnit("editor.at"), one.atMm, (atMm) => set(i, { atMm })).element,
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
        optionalField(`${id}-min`, "mm", inUnit("editor.min"), one.minMm, optional("minMm")).element,
        optionalField(`${id}-max`, "mm", inUnit("editor.max"), one.maxMm, optional("maxMm")).element,
        optionalField(`${id}-step`, "mm", inUnit("editor.step"), one.stepMm, optional("stepMm")).element,
        tick(`${id}-movable`, say("editor.movable"), one.movable ?? true, (movable) => set(i, { movable })),
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
          ["editor.markId", "", one.id, (id) => set(i, { id })],
          ["editor.markX", "mm", one.centre[0], (mm) => set(i, { centre: [mm, now(i).centre[1]] })],
          ["editor.markY", "mm", one.centre[1], (mm) => set(i, { centre: [now(i).centre[0], mm] })],
          ["editor.markSize", "mm", one.sizeMm, (sizeMm) => set(i, { sizeMm })],
          ["editor.markTurn", "°", one.turnDegrees ?? 0, (turnDegrees) => set(i, { turnDegrees })],
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
        length.element,
        width.element,
        sizeNote,
      ),
      part("editor.points", true, el("p", { class: "hint-line" }, say("editor.coordinates")), points),
      part("numbers.splitters", false, el("p", { class: "hint-line" }, say("editor.splittersHow")), splitters),
      part(
        "editor.gauges",
        false,
        deckGauges(first, () => draft, change),
      ),
      part("editor.marks", false, el("p", { class: "hint-line" }, say("editor.marksHow")), marks),
    ),
  );
  layLines();
  layPoints();
  laySplitters();
  layMarks();
  show();
  return element;
}

function downloadJson(draft: DeckFileInput): void {
  const { file } = checkDraft(draft);
  if (file) saveJson(file, `${file.name.replace(/[^\p{L}\p{N}]+/gu, "-") || "deck"}.deck.json`);
}
