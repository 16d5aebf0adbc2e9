import type { Data } from "./data.ts";
import { unneeded } from "./photos.ts";

/** A younger blob may belong to a row that is being written. */
const YOUNG_MS = 10 * 60 * 1000;
/** So many blobs are looked at in one go; in between, others get their turn. */
const BATCH = 50;

/**
 * Remove blobs that no row names: left by a server that was killed after it kept a photo's bytes and before it wrote the row,
 * or after it deleted a row and before it removed the bytes.
 *
 * @returns how many.
 */
export async function sweep({ db, blobs, gate }: Data, signal: AbortSignal, now = Date.now()): Promise<number> {
  let gone = 0;
  let batch: string[] = [];
  const look = async () => {
    await gate.whileRemoving(async () => {
      for (const id of await unneeded(db, batch)) {
        const keptAt = await blobs.keptAt(id);
        if (keptAt === null || keptAt > now - YOUNG_MS) continue;
        await blobs.remove(id);
        gone++;
      }
    });
    batch = [];
  };
  for await (const id of blobs.list()) {
    if (signal.aborted) return gone;
    batch.push(id);
    if (batch.length === BATCH) await look();
  }
  await look();
  return gone;
}
