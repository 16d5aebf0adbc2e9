import * as z from "zod";
import {
  AimFile,
  DeckFile,
  type DeckFileInput,
  MaterialProfile,
  Product,
  SettingsFile,
  TwinBelief,
} from "../vision/contract/index.ts";

/** What this device keeps of each deck beside its photos: what the person said of it, and what changes taught of it. */

const Said = z.object({
  settings: SettingsFile.default({}),
  profile: MaterialProfile.default({}),
  aim: AimFile.default({}),
  splittersMm: z.record(z.string(), z.number()).default({}),
  /** The transport model after the last pair of looks; of this material only. One kept by an older page is let go. */
  twin: TwinBelief.optional().catch(undefined),
});
export type DeckSaid = z.infer<typeof Said>;

/** Which deck: by its name and size; null where nothing is known of it. */
const keyOf = (deck: DeckFileInput | null) =>
  deck && `deckbands said of ${deck.name ?? ""} ${deck.lengthMm} × ${deck.widthMm}`;

export function saidOf(deck: DeckFileInput | null): DeckSaid | null {
  const key = keyOf(deck);
  if (!key) return null;
  try {
    return Said.parse(JSON.parse(localStorage.getItem(key) ?? ""));
  } catch {
    return null; // nothing kept, by an older page, or by a browser that keeps nothing
  }
}
export function keepSaid(deck: DeckFileInput | null, said: DeckSaid): void {
  const key = keyOf(deck);
  try {
    if (key) localStorage.setItem(key, JSON.stringify(said));
  } catch {
    // a browser that keeps nothing: it is then said anew
  }
}

/** Another material: what was learned of the last one does not hold. */
export const isOtherMaterial = (a: MaterialProfile, b: MaterialProfile) =>
  Product.options.some((kind) => a[kind]?.densityKgPerM3 !== b[kind]?.densityKgPerM3);

const FILES = "deckbands deck files";
/** Deck files beyond these newest are dropped. */
const MOST_FILES = 8;
/** Deck files that were written on this device, the newest first. */
export function keptDeckFiles(): DeckFile[] {
  try {
    return z.array(DeckFile).parse(JSON.parse(localStorage.getItem(FILES) ?? ""));
  } catch {
    return []; // nothing kept, by an older page, or by a browser that keeps nothing
  }
}
/** Goes before an earlier one of its name. */
export function keepDeckFile(file: DeckFile): void {
  const others = keptDeckFiles().filter(({ name }) => name !== file.name);
  try {
    localStorage.setItem(FILES, JSON.stringify([file, ...others].slice(0, MOST_FILES)));
  } catch {
    // a browser that keeps nothing: it is used now, and can be saved as a file
  }
}
