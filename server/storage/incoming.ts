import { createHash, randomUUID } from "node:crypto";
import { type FileHandle, mkdir, open, readdir, rm, stat, statfs } from "node:fs/promises";
import { join } from "node:path";

/** A finished file on this machine that is not kept yet. */
export interface Incoming {
  readonly path: string;
  readonly sha256: string;
  readonly bytes: number;
}

/** The bytes are more than was allowed. */
export class TooLarge extends Error {}

/** What is coming in lies in `incoming/` of a data folder until it is kept. */
export class IncomingFolder {
  readonly #incoming: string;

  constructor(folder: string) {
    this.#incoming = join(folder, "incoming");
  }

  /** Make the folder. */
  async begin(): Promise<void> {
    await mkdir(this.#incoming, { recursive: true });
  }

  /** Take bytes in as they come, never holding them all. @throws {TooLarge} past `most` bytes; nothing is left then. */
  async receive(source: AsyncIterable<Uint8Array>, most: number): Promise<Incoming> {
    const path = join(this.#incoming, randomUUID());
    const file = await open(path, "wx");
    const hash = createHash("sha256");
    let bytes = 0;
    try {
      for await (const part of source) {
        bytes += part.length;
        if (bytes > most) throw new TooLarge(`more than ${most} bytes`);
        hash.update(part);
        await writeAll(file, part);
      }
      await file.sync();
      await file.close();
    } catch (error) {
      await file.close().catch(() => {});
      await rm(path, { force: true });
      throw error;
    }
    return { path, sha256: hash.digest("hex"), bytes };
  }

  /** Throw away what was being written when a program stopped. @param olderThanMs  Younger files may be another process's. */
  async clearIncoming(olderThanMs = 0): Promise<void> {
    for (const name of await readdir(this.#incoming)) {
      const path = join(this.#incoming, name);
      const since = (await stat(path).catch(() => null))?.mtimeMs ?? 0;
      if (Date.now() - since >= olderThanMs) await rm(path, { force: true });
    }
  }

  /** Bytes that the disk still takes. */
  async free(): Promise<number> {
    const { bavail, bsize } = await statfs(this.#incoming);
    return bavail * bsize;
  }
}

async function writeAll(file: FileHandle, bytes: Uint8Array): Promise<void> {
  for (let at = 0; at < bytes.length; ) at += (await file.write(bytes, at)).bytesWritten;
}
