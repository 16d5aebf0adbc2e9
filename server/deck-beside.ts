import { basename, dirname, join } from "node:path";
import { DeckFile, type DeckFileInput, type Reading } from "../vision/contract/index.ts";
import { readJson, readJsonIfThere } from "./json-file.ts";

/** The deck named, else the one beside a kept reading, else what the reading itself tells of it. */
export async function deckFileFor(
  path: string,
  reading: Reading,
  named: string | undefined,
): Promise<DeckFileInput | null> {
  if (named !== undefined) return readJson(named, DeckFile, "deck file");
  if (reading.scale === "assumed") return null;
  const stem = basename(path).replace(/(\.reading)?\.json$/, "");
  const beside = await readJsonIfThere(join(dirname(path), `${stem}.deck.json`), DeckFile, "deck file");
  return beside ?? deckOf(reading);
}

/** Size, splitters and launders as a reading tells them; which controls there are is then the usual. */
function deckOf({ grid, splitters, launders }: Reading): DeckFileInput | null {
  if (!grid) return null;
  const between = (atMm: number) => {
    const before = launders.findLast(({ toMm }) => toMm <= atMm + 1)?.product ?? "dense";
    const after = launders.find(({ fromMm }) => fromMm >= atMm - 1)?.product ?? "light";
    return [before, after] as [typeof before, typeof after];
  };
  return {
    schemaVersion: 1,
    lengthMm: grid.columns * grid.mmPerCell,
    widthMm: grid.rows * grid.mmPerCell,
    splitters: splitters.map(({ name, atMm }) => ({ name, atMm, between: between(atMm) })),
    launders: launders.map(({ name, product, fromMm, toMm }) => ({ name, product, fromMm, toMm })),
  };
}
