import { CLASS_NAMES, type MarkedEdge, Product } from "../../vision/contract/index.ts";
import { CLASS_COLOURS } from "../class-colours.ts";
import { AS_READ, type DeskDraft } from "../desk-draft.ts";
import { type DeskTool, deskStage, type InHand, type StageDeck } from "../desk-stage.ts";
import { button, el, fill, labelled } from "../element.ts";
import type { outletUnits } from "../reading-words.ts";
import { splitterList } from "../splitter-list.ts";
import { number, say } from "../words.ts";

export interface DeskNeeds {
  readonly draft: DeskDraft;
  readonly deck: StageDeck;
  readonly outletMm: number;
  readonly units: ReturnType<typeof outletUnits>;
  /** The photo laid flat: small first; sharp when it is asked for. */
  readonly photo: (isSharp: boolean) => Promise<HTMLCanvasElement | null>;
  /** Each step: it is kept on this device. */
  readonly stepped: () => void;
  /** A splitter stands elsewhere than on the deck: what the answer will say. */
  readonly splitters: (places: readonly number[]) => void;
  /** @returns what to say. */
  readonly save: (note: string | null) => Promise<string>;
  /** Forget all steps: the reading as it was read. */
  readonly asRead: () => void;
}

const TOOLS = ["look", "edges", "paint", "dry", "splitters"] as const satisfies readonly DeskTool[];
const RADII_MM = [6, 10, 16, 25, 40, 60];
const TOOL_KEYS: Readonly<Record<string, DeskTool>> = { l: "look", e: "edges", p: "paint", d: "dry", s: "splitters" };

/** The review desk: one reading on the flat deck, corrected by hand. Keys do all that a pointer does. */
export function flatDesk({ draft, deck, units, outletMm, ...needs }: DeskNeeds): HTMLElement {
  let hand: InHand = { tool: "edges", paint: 2, radiusMm: 25 };
  const stage = deskStage(draft, deck, units, () => hand, changed);
  const told = el("p", { role: "status" });

  // tools

  const tools = TOOLS.filter((tool) => tool !== "splitters" || deck.splitters.length > 0).map((tool) => ({
    tool,
    element: button(say(`desk.tool.${tool}`), () => take(tool), { class: "quiet" }),
  }));
  function take(tool: DeskTool) {
    hand = { ...hand, tool };
    stage.relay();
    update();
  }
  const undo = button(say("review.undo"), () => go("undo"), { class: "quiet" });
  const redo = button(say("desk.redo"), () => go("redo"), { class: "quiet" });
  function go(way: "undo" | "redo") {
    if (!draft[way]()) return;
    stage.relay();
    stage.refresh();
    update();
  }
  const sharper = button(
    say("desk.grain"),
    async () => {
      sharper.disabled = true;
      told.textContent = say("desk.loading");
      const flat = await needs.photo(true).catch(() => null);
      if (flat) stage.showPhoto(flat);
      sharper.hidden = flat !== null;
      sharper.disabled = false;
      told.textContent = flat ? "" : say("desk.noPhoto");
    },
    { class: "quiet" },
  );
  const shown = el("input", {
    type: "checkbox",
    id: "desk-areas",
    checked: true,
    onchange: () => stage.showAreas(shown.checked),
  });
  const zooming = (words: string, label: string, steps: number) =>
    button(words, () => stage.zoomBy(steps), { class: "quiet flat-step", "aria-label": label });

  // what each tool needs

  const paints = [2, 3, 4, 1, 5, 0, AS_READ].map((paint) => {
    const name =
      paint === AS_READ ? say("desk.asRead") : paint === 1 ? say("desk.erase") : say(`class.${CLASS_NAMES[paint]!}`);
    const swatch = el("span", { class: "desk-swatch", "aria-hidden": "true" });
    const colour = CLASS_COLOURS[paint];
    if (colour) swatch.style.background = `rgb(${colour.join(" ")})`;
    const element = button(name, () => choosePaint(paint), { class: "quiet" });
    element.prepend(swatch);
    return { paint, element };
  });
  function choosePaint(paint: number) {
    hand = { ...hand, paint };
    update();
  }
  const size = el("input", {
    type: "range",
    id: "desk-size",
    min: 0,
    max: RADII_MM.length - 1,
    value: RADII_MM.indexOf(hand.radiusMm),
    oninput: () => setRadius(size.valueAsNumber),
  });
  const sizeSaid = el("output", { for: "desk-size" });
  function setRadius(at: number) {
    const index = Math.max(0, Math.min(RADII_MM.length - 1, at));
    hand = { ...hand, radiusMm: RADII_MM[index]! };
    size.value = String(index);
    stage.refresh();
    update();
  }
  const edges = el("ul", { class: "flat-splitters" });
  const patches = el("ul", { class: "flat-splitters" });
  const list = splitterList(deck.splitters, units, (i, steps) => {
    const { splittersMm, ...rest } = draft.marks();
    const { minMm, maxMm, stepMm } = deck.splitters[i]!;
    const at = (mm: number) => Math.max(minMm, Math.min(maxMm, mm + steps * stepMm));
    draft.setMarks({ ...rest, splittersMm: splittersMm.map((mm, k) => (k === i ? at(mm) : mm)) });
    stage.refresh();
  });
  const panels: Readonly<Record<DeskTool, HTMLElement>> = {
    look: el("p", {}, say("desk.look")),
    edges: el(
      "div",
      {},
      el("p", {}, say("desk.edges")),
      edges,
      el(
        "div",
        { class: "desk-tools" },
        ...Product.options.map((kind) =>
          button(say("desk.addBand", { band: say(`class.${kind}`) }), () => addBand(kind), { class: "quiet" }),
        ),
      ),
    ),
    paint: el(
      "div",
      {},
      el("p", {}, say("desk.paint")),
      el("div", { class: "desk-tools" }, ...paints.map(({ element }) => element)),
      el("div", { class: "lesson-slider" }, el("label", { for: "desk-size" }, say("desk.size")), size, sizeSaid),
    ),
    dry: el("div", {}, el("p", {}, say("desk.dry")), patches),
    splitters: el("div", {}, el("p", {}, say("desk.splitters")), list.element),
  };
  function addBand(kind: Product) {
    const { edges: all, ...rest } = draft.marks();
    const middle = outletMm / 2;
    const added: MarkedEdge[] = [
      { kind, edge: "from", atMm: Math.round(middle - 100) },
      { kind, edge: "to", atMm: Math.round(middle + 100) },
    ];
    draft.setMarks({ ...rest, edges: [...all, ...added] });
    stage.relay();
    changed();
  }
  const drop = (words: string, act: () => void) =>
    button(say("desk.remove"), act, { class: "quiet", "aria-label": words });
  function listEdges() {
    const { edges: all, ...rest } = draft.marks();
    fill(
      edges,
      ...all.map(({ kind, edge, atMm }, i) => {
        const name = say(edge === "from" ? "lesson.from" : "lesson.to", { band: say(`class.${kind}`) });
        const remove = () => {
          draft.setMarks({ ...rest, edges: all.filter((_, k) => k !== i) });
          stage.relay();
          changed();
        };
        return el(
          "li",
          {},
          el("span", { class: "flat-name" }, el("b", {}, name), el("output", {}, units.say(atMm))),
          drop(say("desk.removeEdge", { edge: name }), remove),
        );
      }),
    );
  }
  function listPatches() {
    const { patches: all, ...rest } = draft.marks();
    fill(
      patches,
      ...all.map(({ outline }, i) => {
        const mean = (k: 0 | 1) => outline.reduce((sum, point) => sum + point[k], 0) / outline.length;
        const place = say("numbers.patchMm", { x: number(mean(0)), y: number(mean(1)) });
        const remove = () => {
          draft.setMarks({ ...rest, patches: all.filter((_, k) => k !== i) });
          stage.refresh();
        };
        return el(
          "li",
          {},
          el("span", { class: "flat-name" }, el("b", {}, say("class.dry")), el("output", {}, place)),
          drop(say("desk.removePatch", { place }), remove),
        );
      }),
    );
  }

  // what follows from a step

  const panel = el("div", { class: "desk-panel" });
  function changed() {
    update();
    needs.stepped();
    needs.splitters(draft.marks().splittersMm);
  }
  function update() {
    const can = draft.can();
    undo.disabled = !can.undo;
    redo.disabled = !can.redo;
    for (const { tool, element } of tools) element.setAttribute("aria-pressed", String(tool === hand.tool));
    for (const { paint, element } of paints) element.setAttribute("aria-pressed", String(paint === hand.paint));
    sizeSaid.textContent = `${number(2 * hand.radiusMm)}\u00a0mm`;
    if (panel.firstChild !== panels[hand.tool]) fill(panel, panels[hand.tool]);
    if (hand.tool === "edges") listEdges();
    if (hand.tool === "dry") listPatches();
    list.update(draft.marks().splittersMm.map((mm) => say("flat.at", { place: units.say(mm) })));
  }
  /** Keys that work everywhere on the desk but where something is typed. */
  function key(event: KeyboardEvent) {
    if (event.target instanceof HTMLTextAreaElement) return;
    const name = event.key.toLowerCase();
    if (event.ctrlKey || event.metaKey) {
      if (name !== "z" && name !== "y") return;
      go(name === "y" || event.shiftKey ? "redo" : "undo");
    } else if (event.altKey) return;
    else if (TOOL_KEYS[name] && tools.some(({ tool }) => tool === TOOL_KEYS[name])) take(TOOL_KEYS[name]);
    else if (name === "+" || name === "-") stage.zoomBy(name === "+" ? 1 : -1);
    else if (hand.tool === "paint" && (name === "[" || name === "]")) {
      setRadius(RADII_MM.indexOf(hand.radiusMm) + (name === "]" ? 1 : -1));
    } else if (hand.tool === "paint" && /^[1-7]$/.test(name)) choosePaint(paints[Number(name) - 1]!.paint);
    else return;
    event.preventDefault();
  }

  const note = el("textarea", { id: "desk-note", rows: 2, maxlength: 4000 });
  const save = button(
    say("review.saveEdges"),
    async () => {
      save.disabled = true;
      told.textContent = await needs.save(note.value.trim() || null);
      save.disabled = false;
    },
    { class: "main-button", id: "desk-save" },
  );
  void needs
    .photo(false)
    .then((flat) => flat && stage.showPhoto(flat))
    .catch((error: unknown) => console.info(error)); // areas and edges stand without it
  update();
  return el(
    "div",
    { class: "desk", onkeydown: key },
    el("div", { class: "desk-tools" }, ...tools.map(({ element }) => element)),
    el(
      "div",
      { class: "desk-tools" },
      undo,
      redo,
      zooming("−", say("desk.smaller"), -1),
      zooming("+", say("desk.larger"), 1),
      sharper,
      el("label", { class: "gallery-pick" }, shown, say("desk.areas")),
    ),
    stage.element,
    panel,
    el("details", {}, el("summary", {}, say("desk.keysTitle")), el("p", {}, say("desk.keys"))),
    labelled(say("review.note"), note),
    told,
    el("div", { class: "choices" }, save, button(say("desk.asItWasRead"), needs.asRead, { class: "quiet" })),
  );
}
