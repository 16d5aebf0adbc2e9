import type { SettingsFile, ShownReference } from "../../vision/contract/index.ts";
import { el } from "../element.ts";
import { faultName, faultRemedy } from "../review-words.ts";
import { sourceWords } from "../said.ts";
import { knownSettings, withUnit } from "../settings-words.ts";
import { given } from "../units.ts";
import { photoNote, photoTitle, say, stuff } from "../words.ts";

/** One reference: photo, bands as they are, what is wrong, what to do, where that is from. @param more  What stands below. */
export function galleryCard(
  reference: ShownReference,
  heading: "h2" | "h3",
  ...more: (HTMLElement | null)[]
): HTMLElement {
  const { photoUrl, classesUrl, fault, basis, licence, authors, material, deck, settings, seed } = reference;
  const names = [material.dense, material.middling, material.light]
    .filter((name) => name !== null)
    .map((name) => stuff(name).words)
    .join(", ");
  const [length, width] = [given(deck.lengthMm, "mm"), given(deck.widthMm, "mm")];
  const [title, note] = [photoTitle(reference), photoNote(reference)];
  const words = { title: title.words };
  return el(
    "article",
    { class: "gallery-card" },
    el("img", { src: photoUrl, alt: say("gallery.photo", words), loading: "lazy" }),
    el(heading, title.attributes, title.words),
    el("p", {}, el("b", {}, faultName(fault))),
    seed !== undefined && el("p", { class: "hint-line" }, say("gallery.madePicture", { seed: String(seed) })),
    ...more,
    el(
      "details",
      {},
      el("summary", {}, say("gallery.more")),
      el("p", {}, faultRemedy(fault)),
      el("p", {}, say("gallery.materialIs", { names })),
      el(
        "p",
        {},
        say("history.deckName", { name: seed === undefined ? deck.name : say("gallery.madeDeck"), length, width }),
      ),
      settings && el("p", {}, say("gallery.settingsAre", { settings: settingsSaid(settings) })),
      classesUrl &&
        el(
          "figure",
          {},
          el("img", { src: classesUrl, alt: say("gallery.bands", words), loading: "lazy", class: "gallery-bands" }),
          el("figcaption", {}, say("gallery.colours")),
        ),
      note.words !== "" && el("p", note.attributes, note.words),
      el("ul", {}, ...basis.map(sourceWords).map(({ words, attributes }) => el("li", attributes, words))),
      el("p", { class: "hint-line" }, say("gallery.licence", { licence, authors })),
    ),
  );
}

const settingsSaid = (settings: SettingsFile) =>
  knownSettings(settings)
    .map(({ name, value, unit }) => `${name} ${withUnit(value, unit)}`)
    .join(", ");
