import { createReadStream } from "node:fs";
import { mkdir, open, readdir, readFile, rename, rm, writeFile } from "node:fs/promises";
import { join, resolve } from "node:path";
import { z } from "zod";
import { readConfig } from "../config.ts";
import { readJson } from "../json-file.ts";
import { sha256Of } from "../sha256.ts";
import { BlobFolder, type Blobs } from "../storage/blobs.ts";
import { check, type Db, openDatabase } from "../storage/database.ts";
import { blobsNamed } from "../storage/references.ts";
import { DATABASE_FILE, snapshot } from "../storage/sqlite.ts";
import { UsageError } from "../usage.ts";
import { VERSION } from "../version.ts";

/** What a backup says of itself; written last, so that what has one is whole. */
const LABEL_FILE = "backup.json";
const Label = z.object({
  schemaVersion: z.literal(1),
  version: z.string(),
  madeAt: z.string(),
  photos: z.number(),
  readings: z.number(),
  blobs: z.number(),
  databaseSha256: z.string(),
});
type Label = z.infer<typeof Label>;

/** A blob that went between looking at the rows and copying it: look again. */
class Moved extends Error {}

/**
 * Copy the data folder of DECKBANDS_DATA into a new folder, also while a server works on it. The copy is what the rows said
 * at one moment, with every blob they name, each checked against its name.
 *
 * @throws {UsageError} for a folder that is not empty, or when a blob is damaged or missing.
 */
export async function backup(folder: string): Promise<number> {
  const from = dataFolder();
  await emptyFolder(folder);
  const db = await openDatabase(from);
  try {
    const source = BlobFolder.toRead(from);
    const target = await BlobFolder.open(folder);
    for await (const id of source.list()) await copyBlob(source, target, id).catch(ignoreMoved); // most of the work
    const label = await copyRows(db, source, target, folder);
    await rm(join(folder, "incoming"), { recursive: true });
    await writeFile(join(folder, LABEL_FILE), `${JSON.stringify(label, null, 2)}\n`, { flush: true });
    process.stdout.write(
      `Backed up ${label.photos} photos and ${label.readings} readings (${label.blobs} files) to ${folder}.\n`,
    );
    return 0;
  } finally {
    await db.destroy();
  }
}

/** The rows at one moment, and every blob they name. Should one be deleted meanwhile, a later moment is taken. */
async function copyRows(db: Db, source: Blobs, target: BlobFolder, folder: string): Promise<Label> {
  const file = join(folder, DATABASE_FILE);
  for (let tries = 0; ; tries++) {
    await snapshot(db, file);
    const copy = await openDatabase(folder);
    try {
      const named = await blobsNamed(copy);
      for (const id of named) await copyBlob(source, target, id);
      for await (const id of target.list()) if (!named.has(id)) await target.remove(id); // deleted stays deleted
      const [photos, readings] = [await count(copy, "photos"), await count(copy, "readings")];
      await copy.destroy();
      const written = await open(file, "r+");
      await written.sync().finally(() => written.close());
      const databaseSha256 = await sha256Of(createReadStream(file));
      const about = { schemaVersion: 1 as const, version: VERSION, madeAt: new Date().toISOString() };
      return { ...about, photos, readings, blobs: named.size, databaseSha256 };
    } catch (error) {
      await copy.destroy();
      if (!(error instanceof Moved)) throw error;
      if (tries === 5) throw new UsageError(`${error.message} Restore an older backup beside this one and compare.`);
      await removeDatabase(folder);
    }
  }
}

/**
 * Lay a backup into the folder that DECKBANDS_DATA names, which must not hold anything yet.
 *
 * @throws {UsageError} when the backup is not whole, a blob or the database is damaged, or the folder is in use.
 */
export async function restore(folder: string): Promise<number> {
  const to = dataFolder();
  const label = await readJson(join(folder, LABEL_FILE), Label, "description of the backup");
  await emptyFolder(to);
  const beside = `${resolve(to)}.restoring`;
  await rm(beside, { recursive: true, force: true });
  try {
    const [source, target] = [BlobFolder.toRead(folder), await BlobFolder.open(beside)];
    const bytes = await readFile(join(folder, DATABASE_FILE));
    await writeFile(join(beside, DATABASE_FILE), bytes, { flush: true });
    const found = await sha256Of(createReadStream(join(beside, DATABASE_FILE)));
    if (found !== label.databaseSha256) throw new UsageError("The backup's database is damaged. Take another backup.");
    const db = await openDatabase(beside);
    try {
      await check(db);
      for (const id of await blobsNamed(db)) await copyBlob(source, target, id);
    } finally {
      await db.destroy();
    }
    await rm(to, { recursive: true, force: true });
    await rename(beside, to);
  } catch (error) {
    await rm(beside, { recursive: true, force: true });
    throw error instanceof Moved ? new UsageError(`${error.message} Take another backup.`) : error;
  }
  process.stdout.write(`Restored ${label.photos} photos and ${label.readings} readings of ${label.madeAt} to ${to}.\n`);
  return 0;
}

/** @throws {Moved} when it is not there. @throws {UsageError} when its bytes are not what its name says. */
async function copyBlob(source: Blobs, target: BlobFolder, id: string): Promise<void> {
  const size = await source.size(id);
  if (size === null) throw new Moved(`The file ${id} is missing.`);
  if ((await target.size(id)) === size) return;
  const bytes = await source.read(id);
  if (!bytes) throw new Moved(`The file ${id} is missing.`);
  if ((await target.keep(bytes)) === id) return;
  throw new UsageError(`The file ${id} is damaged: its bytes are not those that were kept.`);
}

function ignoreMoved(error: unknown): void {
  if (!(error instanceof Moved)) throw error;
}

async function count(db: Db, table: "photos" | "readings"): Promise<number> {
  const query = db.selectFrom(table).select(({ fn }) => fn.countAll<number>().as("count"));
  return Number((await query.executeTakeFirstOrThrow()).count);
}

async function removeDatabase(folder: string): Promise<void> {
  for (const end of ["", "-wal", "-shm"]) await rm(join(folder, DATABASE_FILE + end), { force: true });
}

function dataFolder(): string {
  const { dataFolder: folder, elsewhere } = readConfig(process.env);
  if (elsewhere.database !== null) {
    throw new UsageError("What PostgreSQL keeps is backed up by its own means, such as pg_dump; see README.md.");
  }
  if (folder === null) throw new UsageError("Name the data folder in DECKBANDS_DATA.");
  return folder;
}

async function emptyFolder(folder: string): Promise<void> {
  await mkdir(folder, { recursive: true });
  if ((await readdir(folder)).length > 0) throw new UsageError(`${folder} is not empty. Name a new folder.`);
}
