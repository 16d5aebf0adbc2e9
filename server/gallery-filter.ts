import { z } from "zod";
import { DeckFault, type ShownReference } from "../vision/contract/index.ts";

/** Which references of a gallery are wanted. */
export const GalleryFilter = z.object({
  /** Words that title, materials, deck and note must hold, in any order. */
  words: z.string().max(200).optional(),
  fault: DeckFault.optional(),
  material: z.string().max(200).optional(),
});

export function fits(
  { title, material, deck, note, fault }: ShownReference,
  asked: z.output<typeof GalleryFilter>,
): boolean {
  const materials = [material.dense, material.middling, material.light].filter((name) => name !== null);
  const text = [title, ...materials, deck.name, note].join(" ").toLowerCase();
  const words = (asked.words ?? "").toLowerCase().split(/\s+/);
  if (asked.fault !== undefined && asked.fault !== fault) return false;
  if (asked.material !== undefined && !materials.includes(asked.material)) return false;
  return words.every((word) => text.includes(word));
}
