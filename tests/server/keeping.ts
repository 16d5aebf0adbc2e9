import { inject } from "vitest";
import { sha256 } from "../../server/sha256.ts";
import { BlobFolder, type BlobStore } from "../../server/storage/blobs.ts";
import { type Data, type Elsewhere, NOTHING_ELSEWHERE, openData } from "../../server/storage/data.ts";
import { TEMPLATE } from "./kept-elsewhere.ts";
import { command } from "./postgres.ts";

/** Where these tests keep things: the same tests run on a data folder, and on PostgreSQL with a bucket. */
export const isElsewhere = inject("postgres") !== undefined;
const known = new Map<string, Promise<Elsewhere>>();

/** What a test with this data folder keeps elsewhere: its own, and the same as long as the folder is. */
export async function elsewhereOf(folder: string): Promise<Elsewhere> {
  if (!isElsewhere) return NOTHING_ELSEWHERE;
  const made = known.get(folder) ?? make(`test_${sha256(folder).slice(0, 24)}`);
  known.set(folder, made);
  return made;
}

async function make(name: string): Promise<Elsewhere> {
  await command(at("postgres"), `create database ${name} template ${TEMPLATE}`);
  return { database: at(name), objects: `${inject("objects")}/${name}` };
}

const at = (database: string) => inject("postgres").replace(TEMPLATE, database);

/** Whatever is kept of this data folder. */
export const openKept = async (folder: string): Promise<Data> => openData(folder, await elsewhereOf(folder));

/** Blobs alone. */
export async function openBlobs(folder: string): Promise<BlobStore> {
  const { objects } = await elsewhereOf(folder);
  if (objects === null) return BlobFolder.open(folder);
  const { BlobBucket } = await import("../../server/storage/blob-bucket.ts");
  return BlobBucket.open(folder, objects);
}

/** Nobody needs it any more. */
export async function forget(folder: string): Promise<void> {
  const { database } = (await known.get(folder)) ?? NOTHING_ELSEWHERE;
  known.delete(folder);
  if (database === null) return;
  const name = new URL(database).pathname.slice(1);
  await command(at("postgres"), `drop database if exists ${name} with (force)`);
}
