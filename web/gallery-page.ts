import { DECK_FAULTS, DECK_SHAPES, type ShownReference } from "../vision/contract/index.ts";
import { button, el, fill, labelled, plainFolded } from "./element.ts";
import { freshDeck } from "./parts/fresh-deck.ts";
import { galleryCard } from "./parts/gallery-card.ts";
import { packTaking } from "./parts/pack-taking.ts";
import { galleryChoices, lookAtPack, makeDeck, makeLesson, packOf, references, takePack } from "./review-api.ts";
import { faultName, whyNot } from "./review-words.ts";
import { saveFile } from "./save-file.ts";
import { currentLanguage, say, stuff } from "./words.ts";

/** Reference photos, found by words, fault, material and deck; some of them make a lesson. Loaded when it is first opened. */
export function galleryScreen(close: () => void): HTMLElement {
  const words = el("input", { id: "gallery-words", type: "search", maxlength: 200, autocomplete: "off" });
  const fault = el(
    "select",
    { id: "gallery-fault" },
    el("option", { value: "" }, say("gallery.any")),
    ...DECK_FAULTS.map((name) => el("option", { value: name }, faultName(name))),
  );
  const material = el("select", { id: "gallery-material" }, el("option", { value: "" }, say("gallery.anyMaterial")));
  // a deck is asked for by its shape or, if it is the site's own, by its name: as the query says it
  const deck = el(
    "select",
    { id: "gallery-deck" },
    el("option", { value: "" }, say("gallery.anyDeck")),
    ...DECK_SHAPES.map((shape) => el("option", { value: `shape=${shape}` }, say(`gallery.shape.${shape}`))),
  );
  const told = el("p", { role: "status", class: "gallery-found" });
  const list = el("div", { class: "gallery-list" });
  /** Decks that were made while this is open, the newest first. */
  const fresh = new Map<string, HTMLElement>();
  const freshList = el("div", { class: "gallery-list" });
  const more = button(say("gallery.next"), () => void show(next), { class: "quiet" });
  const picked = new Set<string>();
  const name = el("input", { id: "lesson-name", type: "text", maxlength: 200, autocomplete: "off" });
  const made = el("p", { role: "status" });
  const make = button("", () => void lesson());
  const making = el("section", { class: "card", hidden: true }, labelled(say("gallery.lessonName"), name), made, make);
  let next: string | null = null;
  let asked = 0;

  const countPicked = () => {
    making.hidden = picked.size === 0 && made.textContent === "";
    make.textContent = say("gallery.makeLesson", { count: picked.size });
    make.disabled = picked.size === 0;
  };
  const pick = ({ id }: ShownReference) => {
    const box = el("input", {
      type: "checkbox",
      checked: picked.has(id),
      onchange: () => {
        if (box.checked) picked.add(id);
        else picked.delete(id);
        made.textContent = "";
        countPicked();
      },
    });
    return el("label", { class: "gallery-pick" }, box, say("gallery.pick"));
  };
  const wanted = () => ({
    ...(words.value.trim() && { words: words.value.trim(), language: currentLanguage() }),
    ...(fault.value && { fault: fault.value }),
    ...(material.value && { material: material.value }),
    ...Object.fromEntries(new URLSearchParams(deck.value)),
  });
  async function offerNames() {
    const { materials, decks } = await galleryChoices();
    const byName = materials.map((name) => ({ name, ...stuff(name) }));
    byName.sort((a, b) => a.words.localeCompare(b.words, currentLanguage()));
    material.append(
      ...byName.map(({ name, words, attributes }) => el("option", { value: name, ...attributes }, words)),
    );
    deck.append(...decks.map((name) => el("option", { value: String(new URLSearchParams({ deck: name })) }, name)));
  }
  async function show(cursor: string | null) {
    const mine = ++asked;
    try {
      const part = await references(wanted(), cursor);
      if (mine !== asked) return; // another search was begun meanwhile
      const cards = part.items
        .filter(({ id }) => !fresh.has(id))
        .map((reference) => galleryCard(reference, "h2", pick(reference)));
      if (cursor === null) fill(list, ...cards);
      else list.append(...cards);
      next = part.next;
      more.hidden = next === null;
      told.textContent = say("gallery.found", { count: part.all });
    } catch (error) {
      told.textContent = whyNot(error);
    }
  }
  /** A deck just made stands first and in sight, and is picked for a lesson. */
  function takeFresh(reference: ShownReference) {
    picked.add(reference.id);
    fresh.get(reference.id)?.remove();
    const card = galleryCard(reference, "h2", pick(reference));
    fresh.set(reference.id, card);
    freshList.prepend(card);
    card.scrollIntoView({ block: "center" });
    made.textContent = "";
    countPicked();
    void show(null);
  }
  async function lesson() {
    if (name.value.trim() === "") {
      made.textContent = say("gallery.needName");
      return name.focus();
    }
    try {
      await makeLesson({ name: name.value.trim(), references: [...picked] });
      made.textContent = say("gallery.lessonMade", { name: name.value.trim() });
      picked.clear();
      for (const shelf of [freshList, list])
        for (const box of shelf.querySelectorAll<HTMLInputElement>(".gallery-pick input")) box.checked = false;
      name.value = "";
    } catch (error) {
      made.textContent = whyNot(error);
    }
    countPicked();
  }
  const packed = el("p", { role: "status" });
  const pack = button(say("pack.saveGallery"), () => void savePack(), { class: "quiet", id: "pack-gallery" });
  async function savePack() {
    pack.disabled = true;
    packed.textContent = say("desk.loading");
    try {
      saveFile(await packOf({ filter: wanted() }), "gallery.pack.zip");
      packed.textContent = say("pack.saved");
    } catch (error) {
      packed.textContent = whyNot(error);
    }
    pack.disabled = false;
  }
  words.addEventListener("input", () => void show(null));
  for (const choice of [fault, material, deck]) choice.addEventListener("change", () => void show(null));
  more.hidden = true;
  void show(null);
  void offerNames().catch(() => undefined); // `show` tells why the server does not answer
  return el(
    "div",
    { class: "step gallery" },
    el(
      "section",
      { class: "card" },
      el("h1", { tabindex: -1 }, say("gallery.title")),
      el("p", {}, say("gallery.what")),
      labelled(say("gallery.fault"), fault),
      plainFolded(
        say("gallery.narrow"),
        labelled(say("gallery.words"), words),
        labelled(say("material.name"), material),
        labelled(say("gallery.deck"), deck),
      ),
      told,
    ),
    freshList,
    list,
    more,
    making,
    freshDeck({ make: makeDeck, made: takeFresh, whyNot }),
    el(
      "section",
      { class: "card" },
      el("h2", {}, say("pack.saveTitle")),
      el("p", {}, say("pack.saveWhat")),
      pack,
      packed,
    ),
    packTaking({ look: lookAtPack, take: takePack, taken: () => void show(null), whyNot }),
    el("div", { class: "choices" }, button(say("far.back"), close, { class: "quiet" })),
  );
}
