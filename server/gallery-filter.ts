import { z } from "zod";
import {
  DeckFault,
  DeckShape,
  type GalleryChoices,
  type Reference,
  type ShownReference,
} from "../vision/contract/index.ts";
import { referenceText } from "../vision/telling/index.ts";
import { LanguageQuery, speechIn } from "./speech.ts";

/** Which references of a gallery are wanted. */
export const GalleryFilter = z.object({
  /** Words that title, materials, deck, fault and note must hold, in any order, as they were written or in the language named. */
  words: z.string().max(200).optional(),
  ...LanguageQuery.shape,
  fault: DeckFault.optional(),
  material: z.string().max(200).optional(),
  /** The deck's name, whole. */
  deck: z.string().max(200).optional(),
  shape: DeckShape.optional(),
});

export function fits(reference: ShownReference, asked: z.output<typeof GalleryFilter>): boolean {
  const { material, deck, fault } = reference;
  const materials = [material.dense, material.middling, material.light];
  if (asked.fault !== undefined && asked.fault !== fault) return false;
  if (asked.material !== undefined && !materials.includes(asked.material)) return false;
  if (asked.deck !== undefined && asked.deck !== deck.name) return false;
  if (asked.shape !== undefined && asked.shape !== shapeOf(deck.outline)) return false;
  if (!asked.words?.trim()) return true;
  const text = plain(referenceText(speechIn(asked.language ?? "en"), reference));
  return plain(asked.words)
    .split(/\s+/)
    .every((word) => text.includes(word));
}
/** Small letters without their marks: few type those on a phone. */
const plain = (text: string) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();

/** How far a corner may lie from where the shape has it, as a share of the deck's length: as near as decks are measured. */
const SLACK = 0.01;
/** How a deck is cut, by its outline, mm. */
export function shapeOf(outline: Reference["deck"]["outline"]): DeckShape {
  const [a, b, c, d] = outline;
  if (outline.length !== 4 || !a || !b || !c || !d) return "other";
  const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
  if (Math.hypot(a[0] + c[0] - b[0] - d[0], a[1] + c[1] - b[1] - d[1]) > SLACK * length) return "other";
  const along = ((d[0] - a[0]) * (b[0] - a[0]) + (d[1] - a[1]) * (b[1] - a[1])) / length; // the second side laid on the first, mm
  return Math.abs(along) > SLACK * length ? "slanted" : "rectangle";
}

/** @param stock  What came with the program: each of its decks is shown once, so their names are nothing to choose by. */
export function choicesOf(all: readonly ShownReference[], stock: readonly ShownReference[]): GalleryChoices {
  const came = new Set(stock.map(({ id }) => id));
  const sorted = (names: readonly string[]) => [...new Set(names)].sort((a, b) => a.localeCompare(b));
  return {
    materials: sorted(all.flatMap(({ material }) => [material.dense, material.light])),
    decks: sorted(all.filter(({ id }) => !came.has(id)).map(({ deck }) => deck.name)),
  };
}
