import type { DeckFile, MarkUp } from "../vision/contract/index.ts";
import { bandEdges, describeDeck, type Marked, type MarkedEdge, stretchesOf } from "../vision/index.ts";
import { readMarkedPng } from "./marked-png.ts";
import type { Caller } from "./storage/caller.ts";
import type { Data } from "./storage/data.ts";

/** What readings and mark-ups say of cells and edges, fetched from where it is kept. */

type Kept = Pick<Data, "readings" | "blobs" | "said">;

/** Null where the photo was unusable. */
export async function marksOfReading({ readings, blobs }: Kept, caller: Caller, id: string): Promise<Marked | null> {
  const grid = (await readings.reading(caller, id))?.grid ?? null;
  const blob = await readings.picture(caller, id, "classes");
  const bytes = blob && (await blobs.read(blob));
  return bytes && grid ? readMarkedPng(bytes, grid) : null;
}

/** Null where the mark-up says nothing of cells. */
export async function marksOfMarkUp(
  { readings, blobs }: Kept,
  caller: Caller,
  markUp: { readonly reading: string; readonly blob: string | null },
): Promise<Marked | null> {
  const grid = (await readings.reading(caller, markUp.reading))?.grid ?? null;
  const bytes = markUp.blob && (await blobs.read(markUp.blob));
  return bytes && grid ? readMarkedPng(bytes, grid) : null;
}

/** Edges that the reading measured; ends of the outlet path are none. */
export async function edgesOfReading({ readings }: Kept, caller: Caller, id: string): Promise<MarkedEdge[]> {
  const bands = (await readings.reading(caller, id))?.bands ?? [];
  return bands.flatMap(({ kind, outlet }) =>
    outlet.flatMap(({ fromMm, toMm, fromErrorMm, toErrorMm }) => [
      ...(fromErrorMm === null ? [] : [{ kind, edge: "from" as const, atMm: fromMm }]),
      ...(toErrorMm === null ? [] : [{ kind, edge: "to" as const, atMm: toMm }]),
    ]),
  );
}

/** Edges that the person set; without any, those of the areas painted. */
export async function edgesOfMarkUp(
  data: Kept,
  caller: Caller,
  markUp: MarkUp & { readonly blob: string | null },
): Promise<readonly MarkedEdge[]> {
  if (markUp.markUp.edges.length > 0) return markUp.markUp.edges;
  const marked = await marksOfMarkUp(data, caller, markUp);
  if (!marked) return [];
  const { outletPath } = describeDeck(await deckFileOf(data, caller, markUp.reading, marked.grid));
  return bandEdges(
    stretchesOf(
      marked.labels,
      marked.grid,
      outletPath.map(({ x, y }) => [x, y] as const),
    ),
  );
}

/** The deck file that a reading was asked with; without one, a rectangle of its grid's size. */
export async function deckFileOf(
  { readings }: Pick<Data, "readings">,
  caller: Caller,
  reading: string,
  { columns, rows, mmPerCell }: Marked["grid"],
): Promise<DeckFile> {
  const asked = await readings.asked(caller, reading);
  const size = { lengthMm: columns * mmPerCell, widthMm: rows * mmPerCell };
  return asked?.asked.deck ?? ({ schemaVersion: 1, ...size } as DeckFile);
}
