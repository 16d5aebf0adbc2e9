import type { ShownReference } from "../contract/index.ts";
import type { Speech } from "./speech.ts";

/** What photos that came with the program, or were made by it, are called in whatever language; people's own words stay as they are. */

/** A text, and whether it is in the language asked for. */
export interface Named {
  readonly words: string;
  readonly known: boolean;
}
const named = (speech: Speech, key: string, own: string): Named =>
  speech.knows(key) ? { words: speech.say(key), known: true } : { words: own, known: false };

type Called = Pick<ShownReference, "id" | "title"> & Partial<Pick<ShownReference, "seed" | "material">>;
/** What a photo shows. */
export function titleOf(speech: Speech, { id, title, seed, material }: Called): Named {
  if (seed === undefined || !material) return named(speech, `sample.${id}`, title);
  const words = speech.say("gallery.over", {
    dense: stuffOf(speech, material.dense).words,
    light: stuffOf(speech, material.light).words,
  });
  return { words: words.charAt(0).toLocaleUpperCase() + words.slice(1), known: true };
}

/** What is told of a photo. */
export const noteOf = (speech: Speech, { id, note }: Pick<ShownReference, "id" | "note">): Named =>
  named(speech, `note.${id}`, note);

/** A material. */
export function stuffOf(speech: Speech, name: string): Named {
  const [, within] = /^locked (.+)$/.exec(name) ?? [];
  const told = named(speech, `stuff.${(within ?? name).replace(/[^a-z]+/g, "-")}`, within ?? name);
  return within ? { words: speech.say("gallery.locked", { name: told.words }), known: true } : told;
}

/** All that a reference is found by, in this language and as it was written. */
export function referenceText(speech: Speech, reference: ShownReference): string {
  const { title, material, deck, fault, note } = reference;
  const materials = [material.dense, material.middling, material.light].filter((name) => name !== null);
  return [
    title,
    titleOf(speech, reference).words,
    ...materials.flatMap((name) => [name, stuffOf(speech, name).words]),
    deck.name,
    speech.say(`fault.${fault}`),
    note,
    noteOf(speech, reference).words,
  ].join(" ");
}
