import type { DeckFile } from "../../vision/contract/index.ts";
import type { DeckEntry, Hand } from "../deck.ts";
import { button, el, fileButton, fill } from "../element.ts";
import type { State } from "../state.ts";
import { typedNumber } from "../typed-number.ts";
import { given, typedUnit } from "../units.ts";
import { say } from "../words.ts";

export interface DeckActions {
  readonly deck: (entry: DeckEntry) => void;
  readonly deckFile: (file: File) => void;
  /** The deck file is to be drawn and typed. */
  readonly edit: () => void;
  /** Deck files that were written here. */
  readonly kept: () => readonly DeckFile[];
}

const [LENGTHS_MM, WIDTHS_MM] = [
  [200, 6000],
  [100, 3000],
] as const;

/** What the deck is: hand, and its size entered or from a deck file. */
export function deckForm(actions: DeckActions) {
  let entry: DeckEntry | null = null;
  let shownNames = "";
  const change = (part: Partial<DeckEntry>) => entry && actions.deck({ ...entry, ...part });

  /** The file's hand stays, since the corners lie by it; its size is offered, not taken for known. */
  const takeAway = () => {
    const { hand, lengthMm, widthMm } = entry?.file ?? {};
    if (hand && lengthMm && widthMm) change({ file: null, hand, lengthMm, widthMm, sizeKnown: false });
  };

  const known = el("input", {
    type: "checkbox",
    id: "size-known",
    onchange: () => change({ sizeKnown: known.checked }),
  });
  const size = (id: string, limits: readonly [number, number], put: (mm: number) => void) => {
    const heard = () => {
      const mm = typed.value();
      if (mm !== null) put(mm);
    };
    const typed = typedNumber(id, "mm", limits, heard, { required: true });
    return typed;
  };
  const length = size("length-mm", LENGTHS_MM, (lengthMm) => change({ lengthMm }));
  const width = size("width-mm", WIDTHS_MM, (widthMm) => change({ widthMm }));
  const { unit } = typedUnit("mm");
  const sizes = el(
    "div",
    { class: "fields" },
    el("label", { for: "length-mm" }, say("deck.length", { unit })),
    length.field,
    el("label", { for: "width-mm" }, say("deck.width", { unit })),
    width.field,
  );
  const hands = el(
    "div",
    { class: "hands" },
    ...(["right", "left"] as const).map((hand) => handChoice(hand, () => change({ hand }))),
  );
  const byHand = el(
    "div",
    {},
    el("fieldset", {}, el("legend", {}, say("deck.hand")), hands),
    el("div", { class: "check" }, known, el("label", { for: "size-known" }, say("deck.sizeKnown"))),
    el("p", { class: "hint-line" }, say("deck.sizeUnknown")),
    sizes,
  );
  const loaded = el("p", { class: "loaded" });
  const drop = button(say("deck.drop"), () => takeAway(), { class: "quiet" });
  const fromFile = el("div", { class: "from-file" }, loaded, drop);
  const load = fileButton(
    say("deck.load"),
    { id: "deck-file", accept: ".json,application/json", quiet: true },
    actions.deckFile,
  );
  const edit = button(say("editor.open"), actions.edit, { class: "quiet", id: "open-editor" });
  const kept = el("div", { class: "choices" });
  const element = el(
    "section",
    { class: "card" },
    el("h2", {}, say("deck.title")),
    byHand,
    fromFile,
    el("div", { class: "choices" }, load, edit, kept),
  );

  const update = (state: State) => {
    entry = state.deck;
    byHand.hidden = entry.file !== null;
    fromFile.hidden = entry.file === null;
    if (entry.file) {
      const { name, lengthMm, widthMm, hand } = entry.file;
      loaded.textContent = say(`deck.file.${hand}`, {
        name,
        length: given(lengthMm, "mm"),
        width: given(widthMm, "mm"),
      });
    }
    const others = actions.kept().filter(({ name }) => name !== entry?.file?.name);
    const names = others.map(({ name }) => name).join("\n");
    if (names !== shownNames) {
      shownNames = names;
      fill(
        kept,
        ...others.map((file) =>
          button(say("editor.use", { name: file.name }), () => change({ file }), { class: "quiet" }),
        ),
      );
    }
    known.checked = entry.sizeKnown;
    sizes.hidden = !entry.sizeKnown;
    if (document.activeElement !== length.field) length.put(entry.lengthMm);
    if (document.activeElement !== width.field) width.put(entry.widthMm);
    for (const radio of hands.querySelectorAll("input")) radio.checked = radio.value === entry.hand;
  };
  /** Words for what is wrong with the entries, or null. */
  const fault = () => {
    if (!entry || entry.file || !entry.sizeKnown) return null;
    const wrong = [length, width].find(({ value }) => value() === null);
    if (!wrong) return null;
    wrong.field.focus();
    const [lengthLeast, lengthMost, widthLeast, widthMost] = [...LENGTHS_MM, ...WIDTHS_MM].map((mm) => given(mm, "mm"));
    return say("deck.sizeFault", { lengthLeast, lengthMost, widthLeast, widthMost } as Record<string, string>);
  };
  return { element, update, fault };
}

function handChoice(hand: Hand, choose: () => void) {
  const radio = el("input", { type: "radio", name: "hand", id: `hand-${hand}`, value: hand, onchange: choose });
  return el("div", { class: "check" }, radio, el("label", { for: `hand-${hand}` }, say(`deck.${hand}`)));
}
