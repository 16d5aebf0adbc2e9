import type { MarkedEdge, MarkUp } from "../vision/contract/index.ts";
import { bandEdges, type Deck, describeDeck, type Marked, stretchesOf } from "../vision/index.ts";
import { readMarkedPng } from "./marked-png.ts";
import type { Caller } from "./storage/caller.ts";
import type { Data } from "./storage/data.ts";

/** What readings and mark-ups say of cells and edges, fetched from where it is kept. */

type Kept = Pick<Data, "readings" | "blobs">;

/** Null where the photo was unusable. */
export async function marksOfReading(kept: Kept, caller: Caller, id: string): Promise<Marked | null> {
  return cellsOf(kept, caller, id, await kept.readings.picture(caller, id, "classes"));
}

/** Null where the mark-up says nothing of cells. */
export const marksOfMarkUp = (
  kept: Kept,
  caller: Caller,
  { reading, blob }: { readonly reading: string; readonly blob: string | null },
): Promise<Marked | null> => cellsOf(kept, caller, reading, blob);

async function cellsOf({ readings, blobs }: Kept, caller: Caller, id: string, blob: string | null) {
  const bytes = blob && (await blobs.read(blob));
  if (!bytes) return null;
  const { grid } = await readings.one(caller, id);
  return grid && readMarkedPng(bytes, grid);
}

/** Edges that the reading measured; ends of the outlet path are none. */
export async function edgesOfReading({ readings }: Kept, caller: Caller, id: string): Promise<MarkedEdge[]> {
  const { bands } = await readings.one(caller, id);
  return bands.flatMap(({ kind, outlet }) =>
    outlet.flatMap(({ fromMm, toMm, fromErrorMm, toErrorMm }) => [
      ...(fromErrorMm === null ? [] : [{ kind, edge: "from" as const, atMm: fromMm }]),
      ...(toErrorMm === null ? [] : [{ kind, edge: "to" as const, atMm: toMm }]),
    ]),
  );
}

/** Edges that the person set; without any, those of the areas painted. */
export async function edgesOfMarkUp(
  kept: Kept,
  caller: Caller,
  markUp: MarkUp & { readonly blob: string | null },
): Promise<readonly MarkedEdge[]> {
  if (markUp.markUp.edges.length > 0) return markUp.markUp.edges;
  const marked = await marksOfMarkUp(kept, caller, markUp);
  if (!marked) return [];
  const deck = await deckOf(kept, caller, markUp.reading, marked.grid);
  return bandEdges(stretchesOf(marked.labels, marked.grid, outletPairs(deck)));
}

/** The deck that a reading was asked with; without one, a rectangle of its grid's size. */
export async function deckOf(
  { readings }: Pick<Data, "readings">,
  caller: Caller,
  reading: string,
  { columns, rows, mmPerCell }: Marked["grid"],
): Promise<Deck> {
  const { asked } = await readings.asked(caller, reading);
  return describeDeck(asked.deck ?? { schemaVersion: 1, lengthMm: columns * mmPerCell, widthMm: rows * mmPerCell });
}

/** A deck's outlet path, mm. */
export const outletPairs = ({ outletPath }: Deck) => outletPath.map(({ x, y }) => [x, y] as const);
