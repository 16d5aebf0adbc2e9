import { createReadStream } from "node:fs";
import { mkdir, open, readdir, readFile, rename, rm, stat } from "node:fs/promises";
import { dirname, join } from "node:path";
import type { Readable } from "node:stream";
import { sha256 } from "../sha256.ts";
import { type Incoming, IncomingFolder } from "./incoming.ts";

/** Bytes named by their SHA-256, each kept once. The one door to photos and pictures, wherever they lie. */
export interface Blobs {
  /** Keep these bytes; when this resolves they survive a power cut. @returns their SHA-256. */
  keep(bytes: Uint8Array): Promise<string>;
  /** Keep what was taken in, as `keep`; its file is gone afterwards. */
  adopt(incoming: Incoming): Promise<void>;
  read(id: string): Promise<Buffer | null>;
  /** The bytes `from` to `to`, both counted in. */
  stream(id: string, from: number, to: number): Readable;
  /** Bytes; null where there is no such blob. */
  size(id: string): Promise<number | null>;
  remove(id: string): Promise<void>;
  list(): AsyncIterable<string>;
  /** When it was kept, ms; null where there is no such blob. */
  keptAt(id: string): Promise<number | null>;
  /** Let go of whatever leads there. */
  close(): void;
}

/** Blobs, and what is on its way to them. */
export type BlobStore = Blobs & IncomingFolder;

/** What a blob's name looks like. */
export const BLOB = /^[0-9a-f]{64}$/;

/** @throws {TypeError} for what names no blob: never a path of somebody's making. */
export function checked(id: string): string {
  if (!BLOB.test(id)) throw new TypeError(`${id} names no blob`);
  return id;
}

/** Blobs as files: `blobs/ab/ab…`; what is being written lies in `incoming/`, on the same disk. */
export class BlobFolder extends IncomingFolder implements Blobs {
  readonly #blobs: string;

  private constructor(folder: string) {
    super(folder);
    this.#blobs = join(folder, "blobs");
  }

  /** Blobs that are only read: nothing is made in `folder`. */
  static toRead(folder: string): Blobs {
    return new BlobFolder(folder);
  }

  static async open(folder: string): Promise<BlobFolder> {
    const blobs = new BlobFolder(folder);
    await mkdir(blobs.#blobs, { recursive: true });
    await blobs.begin();
    return blobs;
  }

  async keep(bytes: Uint8Array): Promise<string> {
    const id = sha256(bytes);
    if ((await this.size(id)) === bytes.length) return id;
    const incoming = await this.receive(
      (async function* () {
        yield bytes;
      })(),
      bytes.length,
    );
    await this.adopt(incoming);
    return id;
  }

  async adopt({ path, sha256: id, bytes }: Incoming): Promise<void> {
    if ((await this.size(id)) === bytes) return rm(path, { force: true });
    const to = this.#path(id);
    const made = await mkdir(dirname(to), { recursive: true });
    await rename(path, to);
    await syncFolder(dirname(to));
    if (made) await syncFolder(this.#blobs);
  }

  async read(id: string): Promise<Buffer | null> {
    return unlessMissing(readFile(this.#path(id)));
  }

  stream(id: string, from: number, to: number): Readable {
    return createReadStream(this.#path(id), { start: from, end: to });
  }

  async size(id: string): Promise<number | null> {
    return (await unlessMissing(stat(this.#path(id))))?.size ?? null;
  }

  async keptAt(id: string): Promise<number | null> {
    return (await unlessMissing(stat(this.#path(id))))?.mtimeMs ?? null;
  }

  close(): void {} // files need nothing

  async remove(id: string): Promise<void> {
    await rm(this.#path(id), { force: true });
  }

  async *list(): AsyncIterable<string> {
    for (const shelf of await readdir(this.#blobs)) yield* await readdir(join(this.#blobs, shelf));
  }

  #path(id: string): string {
    return join(this.#blobs, id.slice(0, 2), checked(id));
  }
}

/** A new name survives a power cut only once its folder is on the disk. */
async function syncFolder(path: string): Promise<void> {
  if (process.platform === "win32") return; // a folder cannot be opened there
  const folder = await open(path, "r");
  try {
    await folder.sync();
  } finally {
    await folder.close();
  }
}

async function unlessMissing<T>(work: Promise<T>): Promise<T | null> {
  try {
    return await work;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === "ENOENT") return null;
    throw error;
  }
}
