import { mkdir, readdir, readFile, rename, rm, stat, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { PhotoReceipt, Reading } from "../vision/contract/index.ts";
import type { Outcome, Received } from "./reader.ts";

export type PictureName = "overlay.jpg" | "classes.png" | "confidence.png";

/** How many are kept; when more come, the oldest go. */
export interface Keep {
  readonly photos: number;
  readonly readings: number;
}

/**
 * Photos and readings as files, named by content. Ids are checked by the routes: 64 characters 0-9 a-f.
 *
 *   photos/ID.json receipt, ID.photo bytes as sent, ID.preview.jpg
 *   readings/ID.json reading, ID.overlay.jpg, ID.classes.png, ID.confidence.png
 *
 * The JSON is written last: what has one is whole.
 */
export class Store {
  readonly #photos: string;
  readonly #readings: string;
  readonly #keep: Keep;

  private constructor(folder: string, keep: Keep) {
    this.#photos = join(folder, "photos");
    this.#readings = join(folder, "readings");
    this.#keep = keep;
  }

  static async open(folder: string, keep: Keep = { photos: 60, readings: 200 }): Promise<Store> {
    const store = new Store(folder, keep);
    await mkdir(store.#photos, { recursive: true });
    await mkdir(store.#readings, { recursive: true });
    return store;
  }

  async addPhoto(id: string, name: string, bytes: Uint8Array, received: Received): Promise<PhotoReceipt> {
    const { widthPx, heightPx, takenAt, jpeg } = received;
    const receipt: PhotoReceipt = { id, name, widthPx, heightPx, takenAt };
    await put(join(this.#photos, `${id}.photo`), bytes);
    await put(join(this.#photos, `${id}.preview.jpg`), jpeg);
    await put(join(this.#photos, `${id}.json`), JSON.stringify(receipt));
    await thin(this.#photos, this.#keep.photos);
    return receipt;
  }

  /** @returns null where the photo is not, or no longer, kept. */
  async photo(id: string): Promise<{ receipt: PhotoReceipt; bytes: Uint8Array } | null> {
    const receipt = await get(join(this.#photos, `${id}.json`));
    const bytes = receipt && (await get(join(this.#photos, `${id}.photo`)));
    return receipt && bytes ? { receipt: PhotoReceipt.parse(JSON.parse(receipt.toString())), bytes } : null;
  }

  preview(id: string): Promise<Buffer | null> {
    return get(join(this.#photos, `${id}.preview.jpg`));
  }

  async addReading(id: string, { reading, pictures }: Outcome): Promise<void> {
    if (pictures) {
      await put(join(this.#readings, `${id}.overlay.jpg`), pictures.overlay);
      await put(join(this.#readings, `${id}.classes.png`), pictures.classes);
      await put(join(this.#readings, `${id}.confidence.png`), pictures.confidence);
    }
    await put(join(this.#readings, `${id}.json`), JSON.stringify(reading));
    await thin(this.#readings, this.#keep.readings);
  }

  async reading(id: string): Promise<Reading | null> {
    const json = await get(join(this.#readings, `${id}.json`));
    return json && Reading.parse(JSON.parse(json.toString()));
  }

  picture(id: string, name: PictureName): Promise<Buffer | null> {
    return get(join(this.#readings, `${id}.${name}`));
  }
}

async function get(path: string): Promise<Buffer | null> {
  try {
    return await readFile(path);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === "ENOENT") return null;
    throw error;
  }
}

/** Write beside and rename: whoever reads meanwhile sees the old file or the new one, never half of one. */
async function put(path: string, content: string | Uint8Array): Promise<void> {
  const half = `${path}.${process.pid}-${Math.random().toString(36).slice(2)}.part`;
  await writeFile(half, content);
  await rename(half, path);
}

/** Delete the files of the oldest ids until at most `most` are left. */
async function thin(folder: string, most: number): Promise<void> {
  const names = await readdir(folder);
  const receipts = names.filter((name) => /^[0-9a-f]{64}\.json$/.test(name));
  if (receipts.length <= most) return;
  const aged = await Promise.all(
    receipts.map(async (name) => ({ id: name.slice(0, 64), at: (await stat(join(folder, name))).mtimeMs })),
  );
  const old = aged.sort((a, b) => a.at - b.at).slice(0, receipts.length - most);
  const gone = new Set(old.map(({ id }) => id));
  for (const name of names) if (gone.has(name.slice(0, 64))) await rm(join(folder, name), { force: true });
}
