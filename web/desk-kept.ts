import { z } from "zod";
import { DeckPair, MarkedEdge } from "../vision/contract/index.ts";
import { fromBase64, toBase64 } from "./base64.ts";
import { cellsOf, classesPng } from "./desk-classes.ts";
import type { DeskDraft, DeskGrid, DeskMarks } from "./desk-draft.ts";

/** A correction that was begun on this device and not sent: neither a closed page nor a broken line loses it. */

const NAME = "deckbands desk of ";
const Kept = z.object({
  edges: z.array(MarkedEdge),
  patches: z.array(z.object({ outline: z.array(DeckPair) })),
  splittersMm: z.array(z.number()),
  cells: z.string(),
});

export function keepDesk(
  reading: string,
  { grid, cells, marks }: Pick<DeskDraft, "grid" | "cells" | "marks">,
): boolean {
  try {
    localStorage.setItem(NAME + reading, JSON.stringify({ ...marks(), cells: toBase64(classesPng(grid, cells)) }));
    return true;
  } catch {
    return false; // a browser that keeps nothing, or is full
  }
}
export function keptDesk(reading: string, grid: DeskGrid): { marks: DeskMarks; cells: Uint8Array } | null {
  try {
    const kept = Kept.safeParse(JSON.parse(localStorage.getItem(NAME + reading) ?? "null"));
    if (!kept.success) return null;
    const { cells, ...marks } = kept.data;
    const found = cellsOf(fromBase64(cells), grid);
    return found && { marks, cells: found };
  } catch {
    return null;
  }
}
export function forgetDesk(reading: string): void {
  try {
    localStorage.removeItem(NAME + reading);
  } catch {
    // nothing was kept
  }
}
